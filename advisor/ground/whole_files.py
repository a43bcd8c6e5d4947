"""Files that a command writes: looked at before the work begins, and there as a whole or not at all."""

from __future__ import annotations

import os
import stat
import tempfile
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.ground.errors import CalloutError
from advisor.ground.units import shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from typing import BinaryIO

    from advisor.ground.errors import InputError


def check(
    path: Path | str,
    endings: Sequence[str] | None = None,
    *,
    replace: bool,
    field: str = "output",
    error: type[InputError] = CalloutError,
) -> Path:
    """The Path that is to be written; an InputError where its ending is none of these, or it cannot be written to.

    endings: such as ("pdf", "svg"), None for any; replace: whether a file that is there may be written over; field,
    error: of the message.
    """

    def refuse(problem: str, fix: str) -> InputError:
        return error(field, shown(str(path), 300), problem, fix)

    if not str(path).strip() or "\0" in str(path):
        raise refuse("is no name of a file", "Give the name of a file to write.")
    path = Path(path)
    ending = path.suffix.lower().removeprefix(".")
    if endings and ending not in endings:
        known = ", ".join(f".{e}" for e in endings)
        what = f"ends in .{ending}, which is no kind of file made here" if ending else "has no ending"
        raise refuse(what, f"Give a name that ends in {known}.")
    try:
        if path.is_dir() or not path.name:
            raise refuse("is a folder", "Give the name of a file in it.")
        if not path.parent.is_dir():
            raise refuse("lies in a folder that is not there", "Make the folder first, or give another one.")
        if not os.access(path.parent, os.W_OK):
            raise refuse("lies in a folder that cannot be written to", "Give another folder.")
        if os.path.lexists(path):
            if not stat.S_ISREG(path.lstat().st_mode) and not _leads_to_a_file(path):
                raise refuse("is not a file that can be replaced", "Give another name.")
            if not replace:
                raise refuse("is there already", "Give another name, or --replace.")
    except OSError:
        raise refuse("cannot be looked up", "Give a shorter or a plainer path.") from None
    return path


def _leads_to_a_file(path: Path) -> bool:
    """Whether a link leads to a plain file, which is then what is replaced."""
    return path.is_symlink() and path.is_file()


@contextmanager
def whole(path: Path | str, *, replace: bool) -> Iterator[BinaryIO]:
    """A binary file to write, in a `with`: it takes its place when all is written, and where that fails the old file is
    left. A file that has come to be there in the meantime is left too, unless `replace`.
    """
    with place_for(path, replace=replace) as place, place.open("wb") as file:
        yield file


@contextmanager
def place_for(path: Path | str, *, replace: bool) -> Iterator[Path]:
    """The Path of a new file beside the one that is to be made, for whoever writes to a name; as `whole` else."""
    place = _beside(Path(path))
    try:
        yield place
        _to_disk(place)
        _take_place(place, Path(os.path.realpath(path)), path, replace)
    finally:
        place.unlink(missing_ok=True)


def write(path: Path, pages: Sequence[bytes], *, replace: bool) -> list[Path]:
    """Write pages of bytes: one to the path, more to its name with -2, -3 … -> list of Paths. All or none."""
    path = Path(path)
    targets = [path if n == 1 else path.with_name(f"{path.stem}-{n}{path.suffix}") for n in range(1, len(pages) + 1)]
    for target in targets[1:]:
        check(target, replace=replace)
    try:
        _write_all(targets, pages, replace)
    except OSError as problem:
        fix = "Look at the folder and the disk."
        raise CalloutError("output", shown(str(path)), f"cannot be written ({problem.strerror})", fix) from None
    return targets


def _write_all(targets: Sequence[Path], pages: Sequence[bytes], replace: bool) -> None:
    """Every page beside its target, then each into its place; what went into place is taken back if a later one
    fails."""
    beside, undo = [], []
    try:
        for target, page in zip(targets, pages, strict=True):
            beside.append(_beside(target))
            beside[-1].write_bytes(page)
            _to_disk(beside[-1])
        for place, target in zip(beside, targets, strict=True):
            where = Path(os.path.realpath(target))
            kept = _kept(where) if replace and len(targets) > 1 and where.exists() else None
            undo.append((where, kept))
            try:
                _take_place(place, where, target, replace)
            except BaseException:
                undo.pop()
                if kept:
                    kept.unlink(missing_ok=True)
                raise
    except BaseException:
        for where, kept in reversed(undo):
            if kept:
                os.replace(kept, where)
            else:
                where.unlink(missing_ok=True)
        raise
    else:
        for _, kept in undo:
            if kept:
                kept.unlink(missing_ok=True)
    finally:
        for place in beside:
            place.unlink(missing_ok=True)


def _beside(path: Path) -> Path:
    """A new file of our own in the folder of another, named by nobody else, with the rights that the other will have."""
    where = Path(os.path.realpath(path))
    handle, name = tempfile.mkstemp(prefix=".turn-radius-", suffix=".part", dir=where.parent)
    os.close(handle)
    with suppress(OSError):
        os.chmod(name, stat.S_IMODE(where.stat().st_mode) if where.exists() else 0o666 & ~_mask())
    return Path(name)


def _to_disk(path: Path) -> None:
    """Have the disk hold what was written: of a file, or the names in a folder, where the system can say so."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:  # a folder on a system that opens none
        return
    try:
        os.fsync(handle)
    except OSError:
        if not Path(path).is_dir():
            raise
    finally:
        os.close(handle)


def _mask() -> int:
    """The rights that this process withholds from new files."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _kept(where: Path) -> Path:
    """A second name of a file that is about to be replaced."""
    kept = _beside(where)
    kept.unlink()
    os.link(where, kept)
    return kept


def _take_place(place: Path, where: Path, path: Path | str, replace: bool) -> None:
    """Give a finished file its name."""
    if replace:
        os.replace(place, where)
    else:
        try:
            os.link(place, where)  # unlike a move, this never takes the place of another file
        except FileExistsError:
            raise CalloutError(
                "output", shown(str(path), 300), "is there already", "Give another name, or --replace."
            ) from None
        except OSError:  # a disk without links
            check(path, replace=replace)
            os.replace(place, where)
    _to_disk(where.parent)  # a name that a power cut takes away is a lost file
