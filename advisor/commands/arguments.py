"""Options as they are written on the command line: whole names, each given once, and complaints in our own words."""

from __future__ import annotations

import argparse
import re
from typing import Any, NoReturn

from advisor.ground.errors import CalloutError, did_you_mean

_DASHES = ("-", "–", "—")


class Help(Exception):
    """Somebody asks for help, which is the text of this."""


class Parser(argparse.ArgumentParser):
    """An argument parser that raises our one kind of error, and Help. `read` takes the place of `parse_args`."""

    def __init__(self, **options: Any) -> None:
        super().__init__(allow_abbrev=False, exit_on_error=False, add_help=False, **options)
        self.register("action", None, _Once)
        self.register("action", "store", _Once)
        self.add_argument("-h", "--help", action=_Help, nargs=0, help="show this help message and exit")

    def read(self, arguments: list[str]) -> argparse.Namespace:
        """The options that these arguments state. Raises CalloutError."""
        try:
            options, extra = self.parse_known_args(self._joined(arguments))
        except argparse.ArgumentError as wrong:
            raise self._refusal(wrong) from None
        if len(extra) == 1 and getattr(options, "shape_word", "") is None and not extra[0].startswith(_DASHES):
            options.shape_word = extra.pop()  # a word behind the options: argparse looks for it in front of them alone
        if (getattr(options, "shape_word", None) or "").startswith(_DASHES):
            extra.insert(0, options.shape_word)
        if extra:
            raise self._stray(extra[0])
        return options

    def _joined(self, arguments: list[str]) -> list[str]:
        """The arguments with a value that begins with a minus joined to its option: argparse takes it for an option."""
        actions = self._option_string_actions
        joined: list[str] = []
        for word in arguments:
            takes_value = bool(joined) and joined[-1].startswith("--") and isinstance(actions.get(joined[-1]), _Once)
            if takes_value and re.match("-[^-]", word) and word not in actions:
                joined[-1] = f"{joined[-1]}={word}"
            else:
                joined.append(word)
        return joined

    def error(self, message: str) -> NoReturn:
        """What argparse has no exception for: an argument that is missing."""
        names = message.rpartition(": ")[2]
        raise CalloutError(names, "", "is missing", f"See {self.prog} --help.")

    def options(self) -> dict[str, argparse.Action]:
        """Every option of this parser with its action: name -> action."""
        return {name: action for name, action in self._option_string_actions.items() if name.startswith("--")}

    def _refusal(self, wrong: argparse.ArgumentError) -> CalloutError:
        """Our error for one of argparse's."""
        name, message = (wrong.argument_name or "command line").rpartition("/")[2], wrong.message
        written = re.search(r"'(.*)'", message)
        value = written[1] if written else ""
        if message.startswith("expected"):
            action = self._option_string_actions.get(name)
            meaning = f": {action.help}" if action and action.help else ""
            return CalloutError(name, "", "has no value", f"Write one after it{meaning}.")
        if message.startswith("ignored explicit"):
            return CalloutError(name, value, "is more than this option takes", f"Write {name} alone.")
        if re.match("invalid (int|float) value", message):
            kind = "a whole number" if "int" in message else "a number"
            return CalloutError(name, value, f"is not {kind}", f"Give {kind}.")
        return CalloutError(name, "", message, f"See {self.prog} --help.")

    def _stray(self, word: str) -> CalloutError:
        """Our error for a word that this parser does not take."""
        if not word.startswith(_DASHES):
            fix = 'Put quotes round what has spaces in it, such as "R6 ±0.1".'
            return CalloutError("command line", word, "is one word too many", fix)
        if re.match(r"-[^-]*[0-9]", word):
            return CalloutError(
                "command line", word, "begins with a minus", "Write the radius as on the drawing, such as R6."
            )
        name = word.partition("=")[0]
        program, _, command = self.prog.partition(" ")
        if not command:
            fix = f"Write the command first, such as {program} advise."
            return CalloutError(name, "", "stands before the command", fix)
        if name in self.options():
            return CalloutError(name, "", "stands behind --", "Write it in front of that, or leave -- out.")
        hint = did_you_mean(f"--{name.lstrip('-–—')}", self.options())
        return CalloutError(name, "", f"is not an option of {command}", f"{hint}See {self.prog} --help.")


class _Once(argparse.Action):
    """Keeps a value; an option that is given a second time is an error."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: Any,
        option_string: str | None = None,
    ) -> None:
        before = getattr(namespace, self.dest, self.default)
        if before is not self.default and option_string:
            problem = f"is given a second time, after {before}"
            raise CalloutError(option_string, values, problem, "Give it once.")
        setattr(namespace, self.dest, values)


class _Help(argparse.Action):
    """Asks for the help of a parser."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: Any,
        option_string: str | None = None,
    ) -> None:
        raise Help(parser.format_help())
