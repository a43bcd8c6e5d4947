"""Work done in a process of its own: for libraries that read other people's files, so that one that falls, hangs or eats
memory ends that process and not the program.

The process is a fork, so it costs some hundredths of a second; where there is no fork, the work is done here.
"""

from __future__ import annotations

import faulthandler
import json
import os
import signal
import struct
import warnings
from typing import TYPE_CHECKING

from advisor.ground import errors

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from typing import Any


MOST_MEMORY = 4 << 30  # bytes beside those that the program has already
MOST_SECONDS = 600  # of processor; a million rows of an XLSX file take some sixty
_HEAD = struct.Struct("<cQ")
_DONE, _ITEM, _WRONG, _SYSTEM, _MEMORY, _FAULT = (bytes([letter]) for letter in b".iwsmf")
_CLASSES = {
    kind.__name__: kind for kind in (errors.InputError, errors.CalloutError, errors.ShopError, errors.RuleError)
}


class Lost(Exception):
    """The process that did the work ended before it was done. Its text: how, as the rest of a sentence."""


def items(work: Callable[[], Iterable[bytes]]) -> Iterator[bytes]:
    """What a function yields, bytes each, made apart from this process.

    work: function without arguments -> iterator of bytes. What it raises is raised here: an InputError or an OSError as
    itself, MemoryError as Lost, anything else as RuntimeError. Raises Lost where the process ended.
    """
    if not hasattr(os, "fork"):
        yield from work()
        return
    child = _Child(work)
    try:
        while True:
            kind, content = child.message()
            if kind == _DONE:
                return
            if kind != _ITEM:
                raise _raised(kind, content)
            yield content
    finally:
        child.end()


class _Child:
    """The process that does the work, and the pipe on which it tells of it."""

    def __init__(self, work: Callable[[], Iterable[bytes]]) -> None:
        here, there = os.pipe()
        with warnings.catch_warnings():  # the child calls nothing that another thread of this process may hold
            warnings.simplefilter("ignore", DeprecationWarning)
            self.number = os.fork()
        if not self.number:
            os.close(here)
            _do(work, there)
        os.close(there)
        self.stream = open(here, "rb")

    def message(self) -> tuple[Any, bytes]:
        """The next that it tells: what kind, and bytes. Raises Lost."""
        head = self.stream.read(_HEAD.size)
        if len(head) == _HEAD.size:
            kind, length = _HEAD.unpack(head)
            content = self.stream.read(length)
            if len(content) == length:
                return kind, content
        raise Lost(self._how())

    def _how(self) -> str:
        """How it ended, having told nothing of it."""
        _, status = os.waitpid(self.number, 0)
        self.number = 0
        killed = os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0
        if killed == getattr(signal, "SIGXCPU", -1):
            return f"takes more than {MOST_SECONDS} s to read"
        if killed == signal.SIGKILL:
            return "takes more memory than there is"
        return "makes the library that reads it fall"

    def end(self) -> None:
        """Let it end, whatever it is about."""
        self.stream.close()
        if self.number:
            os.kill(self.number, signal.SIGKILL)
            os.waitpid(self.number, 0)


def _raised(kind: Any, content: bytes) -> Exception:
    if kind == _MEMORY:
        return Lost("takes more memory than a list may")
    if kind == _FAULT:
        return RuntimeError(content.decode())
    told = json.loads(content)
    if kind == _SYSTEM:
        return OSError(*told)
    return errors.together([_CLASSES[name](*parts) for name, *parts in told])


# ---- in the process apart


def _do(work: Callable[[], Iterable[bytes]], there: Any) -> None:
    """Do the work, tell what comes of it, and end this process."""
    status = 1
    try:
        _alone()
        with open(there, "wb") as stream:
            try:
                for item in work():
                    _tell(stream, _ITEM, item)
                _tell(stream, _DONE, b"")
            except errors.InputError as problem:
                parts = [
                    (type(one).__name__, *map(str, (one.field, one.value, one.problem, one.fix)))
                    for one in problem.each
                ]
                _tell(stream, _WRONG, json.dumps(parts).encode())
            except MemoryError:
                _tell(stream, _MEMORY, b"")
            except OSError as problem:
                _tell(stream, _SYSTEM, json.dumps([problem.errno, problem.strerror, _text(problem.filename)]).encode())
            except Exception as problem:
                _tell(stream, _FAULT, f"{type(problem).__name__}: {problem}".encode(errors="replace"))
        status = 0
    finally:
        os._exit(status)


def _tell(stream: Any, kind: Any, content: bytes) -> None:
    stream.write(_HEAD.pack(kind, len(content)))
    stream.write(content)
    stream.flush()


def _text(filename: Any) -> str | None:
    return None if filename is None else os.fsdecode(filename)


def _alone() -> None:
    """Let go of the terminal, take the usual way with signals, and set the limits."""
    faulthandler.disable()
    for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGPIPE"):
        signal.signal(getattr(signal, name), signal.SIG_DFL)
    nothing = os.open(os.devnull, os.O_RDWR)
    for standard in (0, 1, 2):
        os.dup2(nothing, standard)
    import resource

    for kind, most in (
        (resource.RLIMIT_AS, _taken() + MOST_MEMORY),
        (resource.RLIMIT_CPU, MOST_SECONDS),
        (resource.RLIMIT_CORE, 0),
    ):
        _, hard = resource.getrlimit(kind)
        resource.setrlimit(kind, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))


def _taken() -> int:
    """Addresses that this process has already [bytes]; a guess where the system does not say."""
    try:
        with open("/proc/self/statm") as file:
            return int(file.read().split()[0]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError):
        return 1 << 30
