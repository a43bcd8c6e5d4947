"""Where the data folders are, in a checkout and in an installed copy."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent


def data_folder(name):
    """Folder of rules ("rules") or worked cases and shops ("cases"), as a path.

    An installed copy carries them inside the package, a checkout beside it.

    >>> data_folder("rules").name
    'rules'
    """
    installed = PACKAGE / "_data" / name
    return installed if installed.is_dir() else PACKAGE.parent / name
