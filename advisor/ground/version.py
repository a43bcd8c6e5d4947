"""Which version of the program this is."""


def version() -> str:
    """The version of an installed copy, or "checkout"."""
    from importlib import metadata

    try:
        return metadata.version("turn-radius")
    except metadata.PackageNotFoundError:
        return "checkout"
