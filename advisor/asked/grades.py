"""What a drawing writes for a material -> a row of materials.toml: grade and family in any order, with conditions.

Grades, conditions and words stand in rules/grades.toml; the names and aliases of the rows of materials.toml count too.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from advisor.asked import trade_words
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.folders import rule_tables
from advisor.ground.units import shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from advisor.ground.errors import InputError


LONGEST_RUN = 5  # words of one name
MOST_TO_LIST = 6  # materials that an error names one by one
_LONGEST = 120  # characters that are looked at


class Grade(NamedTuple):
    """A name of a material. kind: a sort of its own within the material, None for most; hardness: as written in
    rules/grades.toml, of what is sold under this name where that is not what is usual for the material."""

    name: str
    material: str
    kind: str | None = None
    hardness: str | None = None
    source: str = ""
    from_memory: bool = False

    @property
    def generic(self) -> bool:
        """Whether the name is that of a family: it has no number in it."""
        return not re.search("[0-9]", self.name)


class ReadMaterial(NamedTuple):
    """What was read. material: name of the row; grade: Grade; condition: words behind it, "" where there are none;
    hardness: text of the hardness that grade or condition tells, None where they tell nothing."""

    material: str
    grade: Grade
    condition: str
    hardness: str | None


def solid(name: str) -> str:
    """A material's name in small letters and in one piece: capitals, spaces and hyphens do not tell materials apart."""
    return re.sub(r"[\s\-_–—−‐‑]", "", shown(name, longest=_LONGEST)).casefold()


def _data() -> dict[str, Any]:
    return rule_tables("grades.toml")


@lru_cache(maxsize=1)
def _conditions() -> dict[str, list[dict[str, Any]]]:
    """Each word of a condition -> the rows in which it stands."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in _data()["condition"]:
        for word in row["written"]:
            found.setdefault(solid(word), []).append(row)
    return found


@lru_cache(maxsize=1)
def _words() -> dict[str, frozenset[str]]:
    return {key: frozenset(map(solid, _data()[key])) for key in ("systems", "products")}


@lru_cache(maxsize=1)
def _english() -> dict[str, str]:
    """Words of other languages -> the English ones."""
    return {trade_words.bare(word): own for own, words in _data()["english"].items() for word in words}


def _in_english(text: str) -> str:
    """A material with the words of other languages put into English.

    >>> _in_english("Acier doux"), _in_english("latón CuZn39Pb3"), _in_english("1.4301 rostfreier Stahl")
    ('mild steel', 'brass CuZn39Pb3', '1.4301 stainless steel')
    """
    words, found, at = text.split(), [], 0
    while at < len(words):
        for end in range(min(len(words), at + LONGEST_RUN), at, -1):
            own = _english().get(trade_words.bare(" ".join(words[at:end]).strip(",;()")))
            if own:
                found.append(own)
                at = end
                break
        else:
            found.append(words[at])
            at += 1
    return " ".join(found)


_INDEXES: dict = {}  # identity of a table -> (the table, which keeps the identity its own, names)


def names(table: Mapping[str, dict[str, Any]]) -> dict[str, Grade]:
    """Every name of every material: its solid form -> Grade. table: as `materials.materials()`."""
    kept = _INDEXES.get(id(table))
    if kept is not None and kept[0] is table:
        return kept[1]
    found = {}
    for row in _data()["grade"]:
        if row["material"] in table:
            told = {key: row[key] for key in ("kind", "hardness", "source", "from_memory") if key in row}
            for name in row["names"]:
                found[solid(name)] = Grade(name, row["material"], **told)
    for material, row in table.items():
        for name in (material, *row.get("aliases", ())):
            found.setdefault(solid(name), Grade(name, material))
    if len(_INDEXES) > 8:
        _INDEXES.clear()
    _INDEXES[id(table)] = table, found
    return found


def read_material(
    text: str, table: Mapping[str, dict[str, Any]], *, hardness_stated: bool = False, field: str = "material"
) -> ReadMaterial:
    """The material that a drawing names -> ReadMaterial. table: as `materials.materials()`; hardness_stated: whether the
    hardness stands beside it, so that a condition such as hardened need not tell it. Raises CalloutError.

    >>> from advisor.asked.materials import materials
    >>> read_material("4140 PH", materials())[0], read_material("bronze, C932", materials())[0]
    ('alloy steel', 'tin bronze')
    """
    index = names(table)
    spoken = _in_english(shown(text, longest=_LONGEST))
    whole = index.get(solid(spoken))
    if whole is not None:
        return ReadMaterial(whole.material, whole, "", whole.hardness)
    words = [word for word in re.split(r"[\s,;()\[\]]+", spoken) if word.strip("-./")]
    grades, families, conditions, strange = _sorted_out(words, index)
    specific = [grade for grade in grades if not grade.generic]
    chosen = specific or grades
    if not chosen and len(families) == 1 and (alone := index.get(families[0])):
        chosen = [alone]  # such as brass bar
    if strange and specific:
        problem = f'has "{shown(strange[0], longest=20)}" in it, which is not known here'
        near = did_you_mean(strange[0], [word for row in _data()["condition"] for word in row["written"]])
        raise CalloutError(field, shown(text), problem, f"{near}Give the grade alone, such as {chosen[0].name}.")
    if not chosen or strange:
        raise _unknown(text, table, index, field)
    asked = [table[grade.material].get("group") for grade in grades if grade.generic and specific]
    chosen = [grade for grade in chosen if _agrees(table[grade.material].get("group"), families, asked)]
    found = {grade.material for grade in chosen}
    if len(found) != 1:
        named = " and ".join(dict.fromkeys(grade.name for grade in (specific or grades)))
        problem = "names materials that are not the same" if len(grades) > 1 else "does not go together"
        raise CalloutError(field, shown(text), f"{problem}: {named} and the words beside it", "Give one of them.")
    grade = max(chosen, key=lambda grade: grade.hardness is not None)
    condition, hardness = _condition(conditions, grade, table[grade.material].get("group"))
    if hardness == "ask" and hardness_stated:
        hardness = None
    if hardness == "ask":
        problem = f"says {condition}, which does not tell how hard it is"
        raise CalloutError("hardness", "", f"is missing: {shown(text)} {problem}", "Give it, such as 30 HRC.")
    return ReadMaterial(grade.material, grade, condition, hardness or grade.hardness)


def _sorted_out(
    words: Sequence[str], index: Mapping[str, Grade]
) -> tuple[list[Grade], list[Any], list[str], list[str]]:
    """The grades, families, conditions and strange words among some words."""
    grades, families, conditions, strange = [], [], [], []
    at = 0
    while at < len(words):
        for end in range(min(len(words), at + LONGEST_RUN), at, -1):
            run = solid("".join(words[at:end]))
            if run in _data()["families"] and end == at + 1:
                families.append(run)
            elif run in _conditions():
                conditions.append(run)
            elif run in index:
                grades.append(index[run])
            elif _says_nothing(run):
                pass
            elif end == at + 1 and (parts := _taken_apart(run, index)):
                grades.append(parts[0])
                conditions += parts[1]
                families += parts[2]
            else:
                continue
            at = end
            break
        else:
            strange.append(words[at])
            at += 1
    return grades, families, conditions, strange


def _says_nothing(word: str) -> bool:
    letters = re.sub("[^a-z]", "", word)
    return word in _words()["products"] or (letters in _words()["systems"] and not re.search("[0-9]", word))


def _taken_apart(word: str, index: Mapping[str, Grade]) -> tuple[Grade, list[str], list[str]] | None:
    """A grade with its system before it or its condition behind it, written as one: (Grade, conditions, families)."""
    if british := re.fullmatch(r"(en[0-9]{1,2}[a-z]?|[0-9]{3}[amh][0-9]{2})([p-z])", word):
        if british[1] in index and british[2].upper() in _data()["bs_970"]:
            return index[british[1]], [f"bs {british[2]}"], []
    for before in _prefixes(word):
        rest = word[len(before) :]
        family = [before] if before in _data()["families"] else []
        if rest in index:
            return index[rest], [], family
        for cut in range(len(rest) - 1, 1, -1):
            if rest[:cut] in index and (rest[cut:] in _conditions() or rest[cut:] in _data()["families"]):
                of_family = rest[cut:] in _data()["families"]
                return (
                    index[rest[:cut]],
                    [] if of_family else [rest[cut:]],
                    family + ([rest[cut:]] if of_family else []),
                )
    return None


def _prefixes(word: str) -> list[str]:
    """What may stand in front of a grade in one piece with it: "" first."""
    known = sorted((*_words()["systems"], *_data()["families"]), key=len, reverse=True)
    found = [start for start in known if len(start) < len(word) and word.startswith(start)]
    old = ["c"] if re.match("c1[0-5][0-9]{2}", word) else []  # the old prefix of open-hearth carbon steel
    return ["", *old, *found, *(["t"] if re.match("t[34][0-9]{2}", word) else [])]


def _agrees(group: str | None, families: Iterable[str], groups: Iterable[str | None]) -> bool:
    """Whether a material of this group is of all these families, and like the groups of the other names beside it."""
    if group is None:
        return True
    kin = [set(members) for members in _data()["families"].values()]
    return all(group in _data()["families"][family] for family in families) and all(
        other is None or other == group or any({group, other} <= members for members in kin) for other in groups
    )


def _condition(words: Sequence[str], grade: Grade, group: str | None) -> tuple[str, Any]:
    """The conditions in words, and the hardness that they tell: text, "ask", or None."""
    told: list[str] = []
    hardness = None
    for word in words:
        if word.startswith("bs "):
            low, high = _data()["bs_970"][word[3:].upper()]
            told.append(f"condition {word[3:].upper()}")
            hardness = f"{low}-{high} HB" if low < high else f"{low} HB"
            continue
        rows = _conditions()[word]
        row = next((row for row in rows if "of" not in row or {group, grade.kind} & set(row["of"])), None)
        told.append(word)
        hardness = (row or {}).get("hardness") or hardness
    return ", ".join(told), hardness


def _unknown(text: str, table: Mapping[str, dict[str, Any]], index: Mapping[str, Grade], field: str) -> InputError:
    hint = did_you_mean(shown(text), [*table, *(grade.name for grade in index.values())])
    known = list(table)
    if len(known) <= MOST_TO_LIST:
        listed = f"{', '.join(known[:-1])} or {known[-1]}" if len(known) > 1 else "".join(known)
        fix = f"{hint}Give {listed}."
    else:
        fix = f"{hint}turn-radius materials lists what is known."
    return CalloutError(field, shown(text), "is not a material in the table", fix)
