"""TOML as people write it: the tables of a text, the line of every key, and all mistakes at once with what would be
right.

The parser of the standard library stops at the first mistake and keeps no lines. So the text is cut into statements,
each is parsed by that parser alone, and one that it refuses is mended in the usual ways until it takes it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.ground.folders import toml
from advisor.ground.units import shown

if TYPE_CHECKING:
    Place = tuple[str | int, ...]  # keys and numbers of rows that lead to a value
    from collections.abc import Iterator
    from typing import Any


_NAME = r"[A-Za-z0-9_-]+"
_NEW_LINE = re.compile(
    rf"\s*(?:{_NAME}(?:\.{_NAME})*\s*=|\[\[?\s*(?!(?:true|false|inf|nan)\b)[A-Za-z_][\w.-]*\s*\]\]?\s*(?:#.*)?$)"
)
_HOW = 'Write key = value, text in "double quotes", and tables as [name].'
_QUOTES = str.maketrans({"“": '"', "”": '"', "„": '"', "‟": '"', "«": '"', "»": '"'})
LONGEST = 100  # letters of a mended line that are shown
MOST = 40  # mistakes that are told; what has more is no TOML at all


@dataclass(frozen=True)
class Mistake:
    """One thing that is not TOML. line: its number; written: that line; problem, fix: as of an InputError; again: path of
    a key that is given a second time, () where it is something else."""

    line: int
    written: str
    problem: str
    fix: str
    again: tuple = ()


@dataclass
class Written:
    """What a text holds. tables: as of tomllib, of all that can be read, mended where it can be; lines: path -> number of
    its line, a path holding the places in lists; mistakes: list of Mistake; holes: paths of the tables in which
    something cannot be read."""

    tables: dict = field(default_factory=dict)
    lines: dict = field(default_factory=dict)
    mistakes: list = field(default_factory=list)
    holes: set = field(default_factory=set)


def read(text: str) -> Written:
    """The Written of a text. Raises RecursionError where it is nested too deeply.

    >>> read('a = 1\\n[b]\\nc = .5').mistakes[0].fix
    'Write c = 0.5.'
    >>> read('[[b]]\\nc = 1').lines
    {('b',): 1, ('b', 0): 1, ('b', 0, 'c'): 2}
    """
    reader = _Reader()
    for number, statement in statements(text):
        reader.take(number, statement)
        if len(reader.written.mistakes) >= MOST:
            break
    written = reader.written
    try:
        written.tables = toml(text)
    except ValueError as problem:
        if not written.mistakes:
            lines = text.splitlines() or [""]
            found = re.search(r"at line (\d+)", str(problem))
            number = min(int(found[1]), len(lines)) if found else len(lines)
            written.mistakes.append(Mistake(number, lines[number - 1], "is not TOML", _HOW))
    written.mistakes = sorted(written.mistakes, key=lambda mistake: mistake.line)[:MOST]
    return written


def quoted(text: str) -> str:
    """A text as TOML has it, in double quotes.

    >>> print(quoted('the "old" one'))
    "the \\"old\\" one"
    """
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def statements(text: str) -> Iterator[tuple[int, str]]:
    """The statements of a text with the number of the line on which each begins: keys with their values, and headings.

    >>> list(statements('a = [1,\\n 2]\\n# b\\n[c]'))
    [(1, 'a = [1,\\n 2]'), (4, '[c]')]
    """
    held: list[str] = []
    quote: str | None = None
    first = depth = 0
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        if held and quote is None and _NEW_LINE.match(line):  # a list that was never closed
            yield first, "\n".join(held)
            held, depth = [], 0
        if not held:
            if not line.strip() or line.lstrip().startswith("#"):
                continue
            if line.lstrip().startswith("["):
                yield number, line
                continue
            first = number
        held.append(line)
        depth, quote = _scan(line, depth, quote)
        if quote is None and depth <= 0:
            yield first, "\n".join(held)
            held, depth = [], 0
    if held:
        yield first, "\n".join(held)


def _scan(line: str, depth: int, quote: str | None) -> tuple[int, str | None]:
    """How deep in brackets, and in which quotes of several lines, the end of a line lies."""
    place = 0
    while place < len(line):
        rest = line[place:]
        if quote:
            end = re.search(r'(?<!\\)(?:\\\\)*"""' if quote == '"""' else "'''", rest)
            if not end:
                return depth, quote
            place, quote = place + end.end(), None
        elif rest[:3] in ('"""', "'''"):
            place, quote = place + 3, rest[:3]
        elif rest[0] in "\"'":
            end = re.match(r'"(?:[^"\\]|\\.)*"' if rest[0] == '"' else r"'[^']*'", rest)
            if not end:
                return depth, None  # quotes that are never closed end with their line
            place += end.end()
        elif rest[0] == "#":
            break
        else:
            depth += (rest[0] == "[") - (rest[0] == "]")
            place += 1
    return depth, quote


class _Reader:
    def __init__(self) -> None:
        self.written = Written()
        self.here = self.written.tables
        self.path: Place = ()
        self.headings: dict[Place, int] = {}
        self.lost = False  # under a heading that nobody can read

    def take(self, number: int, statement: str) -> None:
        table = statement.lstrip().startswith("[")
        try:
            parsed = toml(statement)
        except ValueError:
            problem, mended = _mended(statement)
            try:
                parsed = toml(mended) if mended else None
            except ValueError:  # pragma: no cover (it was tried)
                parsed = None
            fix = f"Write {shown(mended, LONGEST)}." if mended else _HOW
            line = statement.split("\n")[0].strip()
            self.written.mistakes.append(Mistake(number, line, problem, fix))
            if not parsed:
                self.lost = self.lost or table
                self.written.holes |= {()} if table else {self.path}
                return
        if table:
            self.lost = False
            self._heading(number, statement, parsed)
        elif not self.lost:
            self._keys(number, statement, parsed, self.here, self.path)

    def _heading(self, number: int, statement: str, parsed: dict[str, Any]) -> None:
        names, many = _heading_path(parsed)
        self.here, self.path = self.written.tables, ()
        for name in names[:-1]:
            self._into(name, {})
        last = names[-1]
        if many:
            rows = self.here.setdefault(last, [])
            if not isinstance(rows, list):
                self._again_table(number, statement, (*self.path, last))
                return
            self.written.lines.setdefault((*self.path, last), number)
            rows.append({})
            self._into(last, [])
        elif isinstance(self.here.get(last, {}), dict):
            self._into(last, {})
            if self.path in self.headings:
                self._again_table(number, statement, self.path)
                return
        else:
            self._again_table(number, statement, (*self.path, last))
            return
        self.headings[self.path] = number
        self.written.lines.setdefault(self.path, number)

    def _into(self, name: str, empty: list[Any] | dict[str, Any]) -> None:
        inside = self.here.setdefault(name, empty)
        self.path = (*self.path, name)
        if isinstance(inside, list) and inside and isinstance(inside[-1], dict):
            self.path, inside = (*self.path, len(inside) - 1), inside[-1]
        self.here = inside if isinstance(inside, dict) else {}

    def _keys(self, number: int, statement: str, parsed: dict[str, Any], into: dict[str, Any], path: Place) -> None:
        for name, value in parsed.items():
            inner = (*path, name)
            if name not in into:
                into[name] = value
                self._record(number, inner, value)
            elif isinstance(value, dict) and isinstance(into[name], dict):
                self._keys(number, statement, value, into[name], inner)
            else:
                self._again(number, statement, inner)

    def _record(self, number: int, path: Place, value: Any) -> None:
        self.written.lines[path] = number
        inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for name, inner in inside:
            if isinstance(value, dict) or isinstance(inner, dict):
                self._record(number, (*path, name), inner)

    def _again_table(self, number: int, statement: str, path: Place) -> None:
        self.lost = True
        self._again(number, statement, path)

    def _again(self, number: int, statement: str, path: Place) -> None:
        first = self.written.lines.get(path)
        problem = f"gives again what stands on line {first}" if first else "gives again what stands above"
        line = statement.split("\n")[0].strip()
        self.written.mistakes.append(Mistake(number, line, problem, "Keep one of the two.", path))


def _heading_path(parsed: Any) -> tuple[list[str], bool]:
    names = []
    while isinstance(parsed, dict) and parsed:
        name = next(iter(parsed))
        names.append(name)
        parsed = parsed[name]
    return names, isinstance(parsed, list)


# ---- what somebody may have meant


def _mended(statement: str) -> tuple[str, str | None]:
    """What is wrong with a statement that is not TOML, and the statement put right or None."""
    text = _without_comment(statement).strip()
    ways = _heading_ways if text.startswith("[") else _key_ways
    told = "has no value" if re.fullmatch(rf"{_NAME}\s*=?", text) else "is not TOML"
    for problem, mended in ways(text):
        if mended != text and _takes(mended):
            return problem, mended
        told = problem if mended == text else told
    return told, None


def _takes(text: str) -> bool:
    try:
        return bool(toml(text))
    except (ValueError, RecursionError):
        return False


def _without_comment(text: str) -> str:
    """A statement without the comment at its end, as far as its quotes can be told."""
    quote = ""
    for place, letter in enumerate(text):
        if letter in "\"'" and quote in ("", letter):
            quote = "" if quote else letter
        elif letter == "\n":
            quote = ""
        elif letter == "#" and not quote:
            return text[:place]
    return text


def _heading_ways(text: str) -> Iterator[tuple[str, str]]:
    name = text.strip("[] \t").translate(_QUOTES).strip('"')
    joined = re.sub(r"[ -]+", "_", name)
    many = text.startswith("[[") or text.endswith("]]")
    for one in (name, joined):
        yield "has brackets that do not match", f"[[{one}]]" if many else f"[{one}]"


def _key_ways(text: str) -> Iterator[tuple[str, str]]:
    straight = text.translate(_QUOTES)
    if straight != text:
        yield "has curly quotes", straight
    key, sign, value = straight.partition("=")
    if not sign:
        found = re.match(rf"({_NAME})\s*(?::\s*|\s+)(\S.*)$", straight, re.S)
        if not found:
            return
        problem, mended = _value(found[2].strip())
        yield f'has no "=" behind {found[1]}', f"{found[1]} = {mended}"
        return
    key, value = key.strip(), value.strip()
    whole = re.sub(r"\s+", "_", key.strip("\"'"))
    problem, mended = _value(value)
    if not re.fullmatch(rf"{_NAME}(\s*\.\s*{_NAME})*", key):
        yield "has a key that is not one word", f"{whole} = {value}"
        yield "has a key that is not one word", f"{whole} = {mended}"
    yield problem, f"{key} = {mended}"


_NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_SIZE = rf"(?:[0-9]+[- ])?[0-9]+\s*/\s*[0-9]+|{_NUMBER}"
_WORDS = {"yes": "true", "no": "false", "on": "true", "off": "false", "true": "true", "false": "false"}


def _value(text: str) -> tuple[str, str]:
    """What is wrong with a value that is not TOML, and the value as it is meant."""
    if text.startswith("[") and not text.startswith("[["):
        return _list(text)
    if _takes(f"a = {text}"):
        return "", text
    marked = re.fullmatch(rf"\"?\s*({_SIZE})\s*(\"{{1,2}}|''|″|')(\")?", text)
    if marked and text.count('"') % 2 == 1 or marked and marked[2] in ("''", "″"):
        return "has an inch mark", f'"{_tidy(marked[1])} in"'
    if marked and text.startswith('"') and text.endswith('""'):
        return "has an inch mark inside its quotes", f'"{_tidy(marked[1])} in"'
    behind = re.fullmatch(rf"\"\s*({_SIZE})\s*\"\s*([A-Za-z°]+)", text)
    if behind:
        return "has its unit outside the quotes", f'"{_tidy(behind[1])} {behind[2]}"'
    with_unit = re.fullmatch(rf"({_SIZE})\s*([A-Za-z°]+)", text)
    if with_unit:
        return "has a unit without quotes", f'"{_tidy(with_unit[1])} {with_unit[2]}"'
    if re.fullmatch(r"(?:[0-9]+[- ])?[0-9]+\s*/\s*[0-9]+", text):
        return "is a fraction without quotes", f'"{_tidy(text)}"'
    if re.fullmatch(r"[+-]?[.,][0-9]+", text):
        return "has no figure before the point", _tidy(text)
    if re.fullmatch(r"[+-]?[0-9]+\.", text):
        return "has no figure behind the point", f"{text}0"
    if re.fullmatch(r"[+-]?[0-9]+,[0-9]+", text):
        return "has a comma for its point", text.replace(",", ".")
    if re.fullmatch(r"[+-]?0[0-9]+(\.[0-9]+)?", text):
        return "begins with a nought", re.sub(r"^([+-]?)0+(?=[0-9])", r"\1", text)
    if text.lower() in _WORDS:
        return "is not written as TOML has it", _WORDS[text.lower()]
    if text.startswith(('"', "'")) and "\\" in text:
        inside = text.strip("\"'")
        return "has a backslash, which means something else in double quotes", f"'{inside}'"
    inside = text.strip("\"'").strip()
    if re.fullmatch(_NUMBER, text):
        return "is no number that can be read", text
    if inside and not re.search(r'["\n]', inside):
        one = text[0] in "\"'" or text[-1] in "\"'"
        return "has a quote missing" if one else "is text without quotes", f'"{inside}"'
    return "is not TOML", text


def _tidy(number: str) -> str:
    number = re.sub(r"\s*/\s*", "/", number.strip())
    number = re.sub(r"^([+-]?)[.,]", r"\g<1>0.", number)
    return re.sub(r"^([+-]?[0-9]+),([0-9]+)$", r"\1.\2", number).removesuffix(".")


def _list(text: str) -> tuple[str, str]:
    """A list of which entries, commas or the bracket at its end are wrong."""
    inside = re.sub(r"^\[|\]$", "", text.strip()).strip()
    marked = re.sub(rf"(?<![\"\w/.-])({_SIZE})\"(?=\s*(?:[,;]|$))", lambda found: f'"{_tidy(found[1])} in"', inside)
    if marked != inside and _takes(f"a = [{marked}]"):
        return "has inch marks", f"[{marked}]"
    parts = [part.strip() for part in _parts(inside) if part.strip()]
    problems, mended = [], []
    for part in parts:
        problem, value = _value(part)
        problems.append(problem)
        mended.append(value)
    told = next(filter(None, problems), "")
    if not text.rstrip().endswith("]"):
        return "has a list without its closing bracket", f"[{', '.join(mended)}]"
    if told:
        return f"has an entry that {told}", f"[{', '.join(mended)}]"
    return "has a list without commas between its entries", f"[{', '.join(mended)}]"


def _parts(text: str) -> list[str]:
    """The entries of a list, cut at commas and semicolons, and where there are none at blanks."""
    quoted = r'"(?:[^"\\\n]|\\.)*"' + r"|'[^'\n]*'"
    cut = [part for part in re.split(rf"({quoted})|[,;\n]", text) if part and part.strip()]
    if len(cut) == 1 and not re.match(quoted, cut[0].strip()) and not re.search(r"[A-Za-z\"'/]", cut[0]):
        return cut[0].split()
    return cut
