"""Options as they are written on the command line: whole names, each given once, and complaints in our own words."""

import argparse
import re

from advisor.ground.errors import CalloutError, did_you_mean

_DASHES = ("-", "–", "—")


class Parser(argparse.ArgumentParser):
    """An argument parser that raises our one kind of error. `read` takes the place of `parse_args`."""

    def __init__(self, **options):
        super().__init__(allow_abbrev=False, exit_on_error=False, **options)
        self.commands = None
        self.register("action", None, _Once)
        self.register("action", "store", _Once)

    def add_subparsers(self, **options):
        """As argparse's; a command that is missing or unknown is told in our words, so it is not required here."""
        self.commands = super().add_subparsers(dest="command", **options)
        return self.commands

    def read(self, arguments):
        """The options that these arguments state. Raises CalloutError."""
        first = arguments[0].partition("=")[0] if arguments else ""
        if first.startswith("-") and first not in self._option_string_actions:
            raise self._stray(first, None)
        try:
            options, extra = self.parse_known_args(self._joined(arguments))
        except argparse.ArgumentError as wrong:
            raise self._refusal(wrong) from None
        if len(extra) == 1 and getattr(options, "shape_word", "") is None and not extra[0].startswith(_DASHES):
            options.shape_word = extra.pop()  # a word behind the options: argparse looks for it in front of them alone
        if (getattr(options, "shape_word", None) or "").startswith(_DASHES):
            extra.insert(0, options.shape_word)
        if extra:
            raise self._stray(extra[0], options.command)
        if options.command is None:
            raise CalloutError("command", "", "is missing", self._known_commands())
        return options

    def _joined(self, arguments):
        """The arguments with a value that begins with a minus joined to its option: argparse takes it for an option."""
        actions = {name: action for parser in self._parsers() for name, action in parser._option_string_actions.items()}
        joined = []
        for word in arguments:
            takes_value = bool(joined) and joined[-1].startswith("--") and isinstance(actions.get(joined[-1]), _Once)
            if takes_value and re.match("-[^-]", word) and word not in actions:
                joined[-1] = f"{joined[-1]}={word}"
            else:
                joined.append(word)
        return joined

    def _parsers(self):
        return (self, *self.commands.choices.values())

    def error(self, message):
        """What argparse has no exception for: an argument that is missing."""
        names = message.rpartition(": ")[2]
        raise CalloutError(names, "", "is missing", f"See {self.prog} --help.")

    def options(self):
        """Every option of this parser with its action: name -> action."""
        return {name: action for name, action in self._option_string_actions.items() if name.startswith("--")}

    def _known_commands(self):
        return f"Give one of {', '.join(self.commands.choices)}. {self.prog} --help tells what they do."

    def _refusal(self, wrong):
        """Our error for one of argparse's."""
        name, message = (wrong.argument_name or "command line").rpartition("/")[2], wrong.message
        written = re.search(r"'(.*)'", message.partition(" (choose")[0])
        value = written[1] if written else ""
        action = self._action(name)
        if message.startswith("invalid choice"):
            known = list(map(str, action.choices))
            if action is self.commands:
                fix = did_you_mean(value, known) + self._known_commands()
                return CalloutError("command", value, "is not a command", fix)
            return CalloutError(
                name, value, "is not known", f"{did_you_mean(value, known)}Give one of {', '.join(known)}."
            )
        if message.startswith("expected"):
            meaning = f": {action.help}" if action and action.help else ""
            return CalloutError(name, "", "has no value", f"Write one after it{meaning}.")
        if message.startswith("ignored explicit"):
            return CalloutError(name, value, "is more than this option takes", f"Write {name} alone.")
        if re.match("invalid (int|float) value", message):
            kind = "a whole number" if "int" in message else "a number"
            return CalloutError(name, value, f"is not {kind}", f"Give {kind}.")
        return CalloutError(name, "", message, f"See {self.prog} --help.")

    def _action(self, name):
        for parser in self._parsers():
            for action in parser._actions:
                if name in action.option_strings or name in (action.dest, action.metavar):
                    return action
        return None

    def _stray(self, word, command):
        """Our error for a word that no parser takes."""
        if not word.startswith(_DASHES):
            fix = 'Put quotes round what has spaces in it, such as "R6 ±0.1".'
            return CalloutError("command line", word, "is one word too many", fix)
        if re.match(r"-[^-]*[0-9]", word):
            return CalloutError(
                "command line", word, "begins with a minus", "Write the radius as on the drawing, such as R6."
            )
        name = word.partition("=")[0]
        if command is None or name in self.commands.choices[command].options():
            fix = f"Write the command first, such as {self.prog} {next(iter(self.commands.choices))}."
            return CalloutError(name, "", "stands before the command", fix)
        parser = self.commands.choices[command]
        hint = did_you_mean(f"--{name.lstrip('-–—')}", parser.options())
        return CalloutError(name, "", f"is not an option of {command}", f"{hint}See {parser.prog} --help.")


class _Once(argparse.Action):
    """Keeps a value; an option that is given a second time is an error."""

    def __call__(self, parser, namespace, values, option_string=None):
        before = getattr(namespace, self.dest, self.default)
        if before is not self.default and option_string:
            problem = f"is given a second time, after {before}"
            raise CalloutError(option_string, values, problem, "Give it once.")
        setattr(namespace, self.dest, values)
