"""What the columns of a customer's list mean: the heading row found among title rows, and each heading's name.

Names are those of a case file, and those of FURTHER, which a case file does not have. Which words mean what stands in
rules/headings.toml; a user's own word goes before all of them (see `read_columns`).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from advisor.asked import materials, trade_words
from advisor.asked.callout import KEYS, REQUIRED, WORDS
from advisor.asked.grades import read_material
from advisor.ground import strangers
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.folders import toml
from advisor.ground.units import shown

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    # A cell as a file has it.
    Cell = str | float | datetime.date | datetime.time | datetime.timedelta | None

FURTHER = (
    "item",
    "tolerance",
    "upper_deviation",
    "lower_deviation",
    "radius_least",
    "radius_largest",
    "diameter_least",
    "diameter_largest",
)
LOOKED_AT = 60  # rows from the top of a list in which its heading is looked for
SAMPLE = 40  # rows below it that are looked at where a heading may mean two things
UNREAD = ""  # what a column means that the user wants left alone
_TOLERANCES = ("tolerance", "upper_deviation", "lower_deviation")


class Column(NamedTuple):
    """One column. heading: as written; name: of KEYS or FURTHER, None where it is not read; unit: in the heading, ""
    where there is none; by: "name" of a case file, "meaning" or "told" by the user; why: why a column that has a meaning
    is not read, or "".
    """

    heading: str
    name: str | None
    unit: str
    by: str
    why: str = ""


class Found(NamedTuple):
    """Where a heading is: its first row among those looked at, how many rows it takes, and its cells as texts."""

    row: int
    depth: int
    header: tuple[str, ...]


def key_of(name: str) -> str:
    """The name of a case file that a heading means: capitals, spaces and hyphens do not count.

    >>> key_of(" From-End ")
    'from_end'
    """
    return "_".join(str(name).strip().lower().replace("-", " ").replace("_", " ").split())


# ---- what the user says himself


class Told(NamedTuple):
    """What a user says of a customer's lists. columns: bare heading -> name, UNREAD to leave it alone; sheet: name of a
    sheet or None; every_line: name of a case file -> text.
    """

    columns: Mapping[str, str] = {}
    sheet: str | None = None
    every_line: Mapping[str, str] = {}


def read_columns(text: str | None) -> Told:
    """Columns as a user gives them, `Dia=diameter, Remarks=`, or the path of a file that keeps them -> Told.

    >>> read_columns("Dia.=diameter, Rad = radius, Remarks=").columns
    {'dia': 'diameter', 'rad': 'radius', 'remarks': ''}
    """
    if text is None:
        return Told()
    if text.strip().lower().endswith(".toml"):
        return _kept(text.strip())
    columns = {}
    for part in re.split(r"[,;](?=[^,;=]*=)", text.strip().rstrip(",;")):
        heading, equal, name = part.rpartition("=")
        if not equal or not trade_words.bare(heading):
            fix = 'Give them like this: --columns "Dia=diameter, Rad=radius", or the path of a .toml file.'
            raise CalloutError("--columns", shown(part), "does not say what a column means", fix)
        columns[trade_words.bare(heading)] = _name(name, "--columns")
    return Told(columns)


def _name(name: str, where: str) -> str:
    key = key_of(name)
    if key and key not in (*KEYS, *FURTHER):
        known = ", ".join((*KEYS, *FURTHER))
        fix = did_you_mean(key, (*KEYS, *FURTHER)) or f"Known are {known}. "
        raise CalloutError(
            where, shown(name), "is no name that a column can have", fix + "Leave it empty to skip a column."
        )
    return key


def _kept(path: str) -> Told:
    """What a file keeps of a customer's lists."""
    name, fix = shown(path, longest=300), "Give a file that --keep wrote."
    try:
        tables = toml(strangers.text(path))
    except strangers.Unreadable as problem:
        raise CalloutError(name, "", str(problem), fix) from None
    except (ValueError, RecursionError):
        raise CalloutError(name, "", "is not valid TOML", fix) from None
    for key in tables:
        if key not in ("sheet", "columns", "every_line"):
            raise CalloutError(name, shown(key), "is not known here", "Known are sheet, [columns] and [every_line].")
    columns, every_line, sheet = tables.get("columns", {}), tables.get("every_line", {}), tables.get("sheet")
    texts = [*(columns.values() if isinstance(columns, dict) else [None]), *([] if sheet is None else [sheet])]
    if not isinstance(every_line, dict) or not all(isinstance(text, str) for text in texts):
        raise CalloutError(name, "", "has something that is no text", 'Write each like this: "Dia" = "diameter".')
    for key in every_line:
        if key not in KEYS:
            fix = did_you_mean(key, KEYS) or f"Known are {', '.join(KEYS)}."
            raise CalloutError(f"{name}: [every_line]", shown(key), "is not known here", fix)
    columns = {trade_words.bare(heading): _name(text, f"{name}: [columns]") for heading, text in columns.items()}
    return Told(columns, sheet, {key: str(value) for key, value in every_line.items()})


def kept_text(
    columns: Iterable[Column],
    *,
    sheet: str | None = None,
    every_line: Mapping[str, str] | Iterable[tuple[str, str]] = (),
) -> str:
    """What --keep writes: TOML that says of each column what it means, as `read_columns` reads it."""
    import json

    lines = ["# What the columns of this customer's lists mean. An empty name leaves a column alone."]
    if sheet is not None:
        lines.append(f"sheet = {json.dumps(sheet, ensure_ascii=False)}")
    lines += ["", "[columns]"]
    seen = set()
    for column in columns:
        bare = trade_words.bare(column.heading)
        if bare and bare not in seen:
            seen.add(bare)
            lines.append(f"{json.dumps(column.heading, ensure_ascii=False)} = {json.dumps(column.name or UNREAD)}")
    if every_line:
        lines += ["", "[every_line]"]
        lines += [f"{key} = {json.dumps(str(text), ensure_ascii=False)}" for key, text in dict(every_line).items()]
    return "\n".join(lines) + "\n"


# ---- where the heading is


def find(rows: Sequence[Sequence[Cell]], told: Told = Told()) -> Found | None:
    """Where the heading of a list stands -> Found; None where nothing at all is written.

    rows: from the top, lists of cells. It is the row with the most names, the radius among them, or that row together
    with the one below it; or else the first in which anything is written.
    """
    texts = [[_text(cell) for cell in row] for row in rows[:LOOKED_AT]]
    written = [place for place, row in enumerate(texts) if any(row)]
    if not written:
        return None
    first = texts[written[0]]
    below = _joined(texts, written[0])
    whole = set(REQUIRED) <= {key_of(cell) for cell in first}
    if whole and (below is None or len(names_in(below, told)) <= len(names_in(first, told))):
        return Found(written[0], 1, tuple(first))
    best, most = Found(written[0], 1, tuple(first)), 1
    for place in written:
        for depth, header in ((1, texts[place]), (2, _joined(texts, place) or [])):
            names = names_in(header, told)
            if names & {"radius", "radius_least", "radius_largest"} and len(names) > most:
                best, most = Found(place, depth, tuple(header)), len(names)
    return best


def _text(cell: Cell) -> str:
    return "" if cell is None else " ".join(str(cell).split())


def names_in(header: Iterable[str], told: Told = Told()) -> set[str]:
    """The different names that a heading has."""
    names = set()
    for cell in dict.fromkeys(header):
        if len(cell) <= 60:
            names |= set(_candidates(cell, told)[0][:1])
    return names - {UNREAD}


def _joined(texts: Sequence[Sequence[str]], place: int) -> list[str] | None:
    """A heading of two rows as one: the upper cells stand over the lower ones at their right too. None where the row
    below is none of it."""
    if place + 1 >= len(texts) or not any(texts[place + 1]) or re.search(r"[0-9]", "".join(texts[place + 1])):
        return None
    upper, lower = texts[place], texts[place + 1]
    header, over = [], ""
    for column in range(max(len(upper), len(lower))):
        above = upper[column] if column < len(upper) else ""
        below = lower[column] if column < len(lower) else ""
        over = above or (over if below else "")
        header.append(f"{over} {below}".strip())
    return header


def _candidates(heading: str, told: Told) -> tuple[Sequence[str], str, str]:
    """Names that a heading may have, its unit, and by what."""
    bare = trade_words.bare(heading)
    if bare in told.columns:
        return [told.columns[bare]], trade_words.meaning(heading)[1], "told"
    if key_of(heading) in KEYS:
        return [key_of(heading)], "", "name"
    names, unit = trade_words.meaning(heading) if bare else ([], "")
    return names, unit, "meaning"


def titles(texts: Sequence[str]) -> dict[str, str]:
    """What the rows above a heading say for every line: name of a case file -> text, where they say it once and plainly.

    >>> titles(["Enquiry 7", "Tolerances: ISO 2768-fH where none are given. All dimensions in inches"])
    {'general_tolerance': 'ISO 2768-f', 'units': 'inch'}
    """
    text, found = " ".join(texts), {}
    classes = set(re.findall(r"2768(?: ?- ?1)?[ -]*([fmcv])(?:[hkl])?(?![a-z])", text, re.IGNORECASE))
    if len({letter.lower() for letter in classes}) == 1:
        found["general_tolerance"] = f"ISO 2768-{classes.pop().lower()}"
    words = re.findall(r"\b(?:in|en) ([^\W\d]+)", trade_words.bare(text))
    units = {trade_words.units().get(word, "") for word in words} & {"mm", "inch"}
    if len(units) == 1:
        found["units"] = units.pop()
    named = {shown(material, 60): None for written in texts for material in _materials_in(written)}
    if len(named) == 1:
        found["material"] = next(iter(named))
    return found


def _materials_in(text: str) -> Iterator[str]:
    """Materials that a row above the heading names for every line: behind the word for material, up to "unless stated" or
    the end of its clause. What is not known is taken where "unless stated" stands behind it, and asked about by the line.

    >>> list(_materials_in("ISO 2768-m, Werkstoff C45 wenn nicht anders angegeben")), list(_materials_in("Material certificates please"))
    (['C45'], [])
    """
    heads = sorted((word for words in trade_words.tables()["names"]["material"].values() for word in words), key=len)
    head = "|".join(map(re.escape, dict.fromkeys([*reversed(heads)])))
    unless = "|".join(map(re.escape, trade_words.tables()["unless"]["words"]))
    for found in re.finditer(rf"(?i)(?<!\w)(?:{head})(?: is)?\s*[:=]?\s+([^,;]+)", text):
        before, *behind = re.split(rf"(?i)[\s(]*(?:{unless})", found[1], maxsplit=1)
        material = re.split(r"\.\s", before)[0].strip(" .:")
        if material and (behind or _is_material(material)):
            yield material


def _is_material(text: str) -> bool:
    try:
        read_material(text, materials.materials())
    except CalloutError:
        return False
    return True


# ---- what the columns mean


def columns_of(
    header: Iterable[str], *, label: str, told: Told = Told(), sample: Sequence[Sequence[Cell]] = ()
) -> list[Column]:
    """What each column of a heading means: list of Column.

    header: texts; sample: some rows below it, for headings that may mean two things. Raises CalloutError where two
    columns mean the same.
    """
    found = []
    for place, heading in enumerate(header):
        names, unit, by = _candidates(str(heading), told)
        name = _likeliest(names, [row[place] for row in sample if place < len(row)]) if names else None
        found.append(Column(str(heading).strip(), name or None, unit, by, "as you say" if name == UNREAD else ""))
    missing = set(told.columns) - {trade_words.bare(column.heading) for column in found}
    if missing and not any(column.by == "told" for column in found):
        hint = ", ".join(f'"{column.heading}"' for column in found if column.heading)
        raise CalloutError(
            f"{label}, heading", "", "has none of the columns that --columns names", f"Its columns are {hint}."
        )
    return _each_once(found, label)


def _likeliest(names: Sequence[str], cells: Iterable[Cell]) -> str:
    """Of several names the one whose words stand in the cells: location and item, say, for "position"."""
    if len(names) == 1:
        return names[0]
    texts = [trade_words.bare(str(cell)) for cell in cells if cell not in (None, "")]
    for name in names:
        words = trade_words.cells(name)
        known = words.keys() | _own(name) if words else ()
        if words and texts and sum(text in known for text in texts) * 2 >= len(texts):
            return name
    return next((name for name in names if not trade_words.cells(name)), names[0])


def _own(key: str) -> set[str]:
    """The words that a case file itself takes for a key, bare."""
    return {trade_words.bare(word) for pair in WORDS.get(key, {}).items() for word in (pair[0], *pair[1])}


def _each_once(found: list[Column], label: str) -> list[Column]:
    """The columns with each name given to one of them, but for quantities, each of which is priced."""
    places: dict[str, list[int]] = {}
    for place, column in enumerate(found):
        if column.name:
            places.setdefault(column.name, []).append(place)
    radius = (places.get("radius") or places.get("radius_least") or [0])[0]
    for name, many in places.items():
        for rank in ("told", "name"):
            sure = [place for place in many if found[place].by == rank]
            if sure:
                break
        else:
            sure = many
        if name in _TOLERANCES and len(sure) > 1:  # the one beside the radius is the radius's
            behind = [place for place in sure if place > radius]
            kept = [min(behind or sure)]
            why = "the tolerance of another size"
        elif name == "item":
            kept, why = sure[:1], "the line has a number already"
        elif name == "quantity" or len(sure) == 1:
            kept, why = sure, f'"{found[sure[0]].heading}" is taken'
        else:
            one, two = (found[place].heading for place in sure[:2])
            what = "stands twice" if one == two else f'means the same as "{one}"'
            fix = (
                "Rename or remove one of the two columns."
                if one == two
                else (
                    f'Rename or remove one of the two columns, or say which counts: --columns "{one}={name}, {two}=".'
                )
            )
            raise CalloutError(f"{label}, heading", f'"{two}"', what, fix)
        for place in many:
            if place not in kept:
                found[place] = found[place]._replace(name=None, why=why)
    return found
