"""Files that a command writes: looked at before the work begins, and there as a whole or not at all."""

import os
from pathlib import Path

from advisor.errors import CalloutError
from advisor.units import shown


def check(path, endings, *, replace):
    """The Path that is to be written; CalloutError where its ending is none of these, or it cannot be written to.

    endings: such as ("pdf", "svg"); replace: whether a file that is there may be written over.
    """
    path = Path(path)
    ending = path.suffix.lower().removeprefix(".")
    if ending not in endings:
        known = ", ".join(f".{e}" for e in endings)
        what = f"ends in .{ending}, which is no kind of file made here" if ending else "has no ending"
        raise CalloutError("output", shown(str(path)), what, f"Give a name that ends in {known}.")
    if path.is_dir():
        raise CalloutError("output", shown(str(path)), "is a folder", "Give the name of a file in it.")
    if not path.parent.is_dir():
        raise CalloutError(
            "output",
            shown(str(path)),
            "lies in a folder that is not there",
            "Make the folder first, or give another one.",
        )
    if not os.access(path.parent, os.W_OK):
        raise CalloutError(
            "output", shown(str(path)), "lies in a folder that cannot be written to", "Give another folder."
        )
    if path.exists() and not replace:
        raise CalloutError("output", shown(str(path)), "is there already", "Give another name, or --replace.")
    return path


def write(path, pages, *, replace):
    """Write pages of bytes: one to the path, more to its name with -2, -3 … -> list of Paths. All or none."""
    path = Path(path)
    targets = [path if n == 1 else path.with_name(f"{path.stem}-{n}{path.suffix}") for n in range(1, len(pages) + 1)]
    for target in targets[1:]:
        check(target, (path.suffix.lower().removeprefix("."),), replace=replace)
    beside = [target.with_name(f".{target.name}.{os.getpid()}") for target in targets]
    try:
        for place, page in zip(beside, pages, strict=True):
            place.write_bytes(page)
        for place, target in zip(beside, targets, strict=True):
            os.replace(place, target)
    except OSError as problem:
        fix = "Look at the folder and the disk."
        raise CalloutError("output", shown(str(path)), f"cannot be written ({problem.strerror})", fix) from None
    finally:
        for place in beside:
            place.unlink(missing_ok=True)
    return targets
