"""The command line: runs one command, words whatever goes wrong, and is the only part that prints or exits."""

from __future__ import annotations

import os
import signal
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, BinaryIO

from advisor.commands.door import DONE, FAULT, REFUSED, STOPPED
from advisor.ground.errors import CalloutError, InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console, ConsoleOptions, RenderableType
    from rich.segment import Segment


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit status: 0 done, 1 no method stands, 2 bad input, 3 a fault of this program, 130
    stopped with Ctrl-C, 128 and the number of another signal that ended it."""
    arguments = sys.argv[1:] if arguments is None else list(arguments)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # closed by whoever started the program
            setattr(sys, name, open(os.devnull, "w"))
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    status = REFUSED
    ended: list[int] = []
    try:
        with _told_of_signals(ended):
            status = _run(arguments, Terminal())
            sys.stdout.flush()
    except OSError as problem:
        status = _output_failed(problem, status)
    except KeyboardInterrupt:
        status = STOPPED
    return 128 + ended[0] if ended else status


@contextmanager
def _told_of_signals(ended: list[int]) -> Iterator[None]:
    """Have a signal that ends the program stop the work as Ctrl-C does, in a `with`: what is half done is then taken back.

    ended: list to which the number of that signal is added.
    """

    def stop(number: int, _: object) -> None:
        ended.append(number)
        raise KeyboardInterrupt

    numbers = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    if threading.current_thread() is not threading.main_thread():
        numbers = []
    usual = [number for number in numbers if signal.getsignal(number) == signal.SIG_DFL]  # nohup has HUP ignored
    try:
        for number in usual:
            signal.signal(number, stop)
        yield
    finally:
        for number in usual:
            signal.signal(number, signal.SIG_DFL)


def _run(arguments: Sequence[str], terminal: Terminal) -> int:
    """Run one command, and word whatever goes wrong. Returns the exit status."""
    try:
        if arguments[:1] == ["--version"]:
            from advisor.ground.version import version

            terminal.say(f"turn-radius {version()}")
            return DONE
        from advisor.commands import into_a_file, register

        try:
            options = register.read(arguments)
        except register.Help as asked:
            terminal.say(asked, exactly=True)
            return DONE
        into_a_file.never_onto_an_input(options)
        return register.command(options.command).run(options, terminal)
    except InputError as problem:
        return _refuse(problem, terminal, as_json="--json" in arguments)
    except KeyboardInterrupt:
        terminal.complain("\nStopped.")
        return STOPPED
    except OSError as problem:
        if problem.filename is None and problem.errno is not None:
            return _output_failed(problem, DONE)
        from advisor.ground.units import shown

        where = shown(problem.filename or "file", longest=300)
        terminal.complain(CalloutError(where, "", f"fails ({problem.strerror})", "Check the disk and who may use it."))
        return REFUSED
    except Exception as problem:  # a mistake of ours, which must not look like an answer
        terminal.complain(_fault(problem))
        return FAULT


def _refuse(problem: InputError, terminal: Terminal, *, as_json: bool) -> int:
    if as_json:
        import json

        from advisor.show.as_json import error

        terminal.say(json.dumps(error(problem), ensure_ascii=terminal.ascii_only()) + "\n", exactly=True)
    else:
        terminal.complain(problem)
    return REFUSED


def _output_failed(problem: OSError, status: int) -> int:
    """What is to be done when the output takes no more: nothing, where whoever reads it has read enough."""
    _drop_output()
    if isinstance(problem, BrokenPipeError):
        return status
    Terminal().complain(CalloutError("output", "", f"fails ({problem.strerror})", "Check the disk and who may use it."))
    return REFUSED


def _drop_output() -> None:
    """Let nothing more be written to the output, not at the end of the program either."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        pass


def _fault(problem: Exception) -> str:
    """One line about a mistake in this program: what, and where in it."""
    import traceback

    last = traceback.extract_tb(problem.__traceback__)[-1]
    what = f"{type(problem).__name__} in {os.path.basename(last.filename)}, line {last.lineno}"
    return (
        f"turn-radius: a fault in the program itself ({what}). Nothing that it said can be relied on. Please report it."
    )


class Terminal:
    """The door of the commands to whoever started the program: commands/door.py says what each part of it is for."""

    def say(self, text: object, *, exactly: bool = False) -> None:
        """Print to standard output. Whoever reads it may have read enough; then the rest of the work goes on in
        silence."""
        try:
            print(_as_taken(str(text), sys.stdout, exactly=exactly), end="" if exactly else "\n")
        except BrokenPipeError:
            _drop_output()

    def complain(self, problem: object) -> None:
        """Print to standard error, which may be gone."""
        try:
            print(_as_taken(str(problem), sys.stderr), file=sys.stderr)
            sys.stderr.flush()
        except OSError:
            pass

    def confirm(self, text: str) -> None:
        """Say what was stored for good. An output that takes nothing does not make it undone: then it is said
        elsewhere."""
        try:
            self.say(text)
            sys.stdout.flush()
        except OSError:
            _drop_output()
            self.complain(text)

    def data(self, found: object) -> None:
        """Print plain data as JSON."""
        import json

        self.say(json.dumps(found, ensure_ascii=self.ascii_only(), indent=1) + "\n", exactly=True)

    def show(self, renderable: RenderableType, *, aside: bool = False) -> None:
        """Print something to a terminal as wide as it is, or as plain lines of 80 columns (or $COLUMNS) to a file or
        pipe."""
        from rich.console import Console

        to = sys.stderr if aside else sys.stdout
        if _ascii_only(to):
            from advisor.ground.units import in_ascii
            from advisor.show.blocks import put

            renderable = put(renderable, in_ascii)
        if to.isatty():
            try:
                Console(file=to, **AS_WRITTEN).print(_Shown(renderable))
            except BrokenPipeError:
                _drop_output()
            return
        console = Console(width=_plain_width(), color_system=None, **AS_WRITTEN)
        with console.capture() as captured:
            console.print(renderable)
        lines = "\n".join(line.rstrip() for line in captured.get().splitlines())
        if aside:
            self.complain(lines)
        else:
            self.say(lines)

    def beside(self) -> Console:
        """Standard error, for a bar that moves."""
        from rich.console import Console

        return Console(stderr=True, **AS_WRITTEN)

    def typed(self) -> str | None:
        """A line that somebody types, without blanks round it, or None at the end of the input. What comes from a file
        or a pipe is shown as it would stand if it had been typed."""
        try:
            if sys.stdin.isatty():
                return input("> ").strip()
            line = sys.stdin.readline()
        except EOFError:
            self.say("")
            return None
        except (AttributeError, OSError, ValueError):  # closed by whoever started the program, or not text
            return None
        self.say(f"> {line.strip()}")
        return line.strip() if line else None

    def agreed(self, question: str) -> bool | None:
        """Whether somebody says yes to a question; None where nobody is there to answer."""
        if sys.stdin is None or not sys.stdin.isatty():
            return None
        self.say(question, exactly=True)
        sys.stdout.flush()
        return sys.stdin.readline().strip().lower().startswith("y")

    def listed(self) -> BinaryIO | None:
        """Standard input as bytes, or None where it is closed."""
        return sys.stdin.buffer if sys.stdin else None

    def written(self) -> BinaryIO:
        """Standard output as bytes."""
        return sys.stdout.buffer

    def columns(self) -> int:
        """How wide the terminal is, or a page of plain lines."""
        import shutil

        return shutil.get_terminal_size().columns if sys.stdout.isatty() else _plain_width()

    def ascii_only(self) -> bool:
        """Whether the output takes nothing but the plainest characters for sure."""
        return _ascii_only(sys.stdout)


AS_WRITTEN: dict[str, Any] = {"highlight": False, "markup": False, "emoji": False}  # no words of others are markup


class _Shown:
    """Something for a terminal, on which no words in it act."""

    def __init__(self, renderable: RenderableType) -> None:
        self.renderable = renderable

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Segment]:
        from rich.segment import Segment

        for segment in console.render(self.renderable, options):
            yield segment if segment.control else Segment(_as_taken(segment.text, console.file), segment.style)


def _plain_width() -> int:
    asked = os.environ.get("COLUMNS", "")
    return int(asked) if asked.isdecimal() and 40 <= int(asked) <= 400 else 80


def _ascii_only(stream: Any) -> bool:
    """Whether a stream takes nothing but the plainest characters for sure: it is not UTF-8, or all is asked for in the
    locale that has no others."""
    encoding = (getattr(stream, "encoding", None) or "utf").lower()
    asked = os.environ.get("LC_ALL") in ("C", "POSIX") and not os.environ.get("PYTHONIOENCODING")
    return asked or not encoding.startswith("utf")


def _as_taken(text: str, stream: Any, *, exactly: bool = False) -> str:
    """A text as a stream takes it, and without what a terminal would act on unless it is data for a program."""
    harmless = exactly or text.replace("\n", "").isprintable()
    if harmless and (text.isascii() or not _ascii_only(stream)):
        return text
    from advisor.ground.units import in_ascii, printable

    text = text if harmless else printable(text)
    return in_ascii(text) if _ascii_only(stream) else text


if __name__ == "__main__":
    sys.exit(main())
