"""Checks files before anybody relies on them: rule folders, shops, cases and lists, told apart by what is in them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.answer import advice
from advisor.asked import callout as callouts
from advisor.asked import materials, new_shop
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground import strangers, toml_text
from advisor.ground.errors import CalloutError, InputError, RuleError, did_you_mean
from advisor.ground.folders import data_folder, toml
from advisor.ground.units import shown
from advisor.rulebase import loading
from advisor.rulebase.reading import OTHER_FILES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from typing import Any

    from advisor.answer.advice import Advice
    from advisor.asked.shop import Shop
    from advisor.rulebase.rulebook import Rulebook

LISTS = (".csv", ".tsv", ".xlsx", ".parquet")
SHOP_KEYS = ("lathe", "like", "without", "form_tools", "gauges", "pivot_attachment")
RULE_KEYS = ("rule", "step", "caution")
NO_SUCH_FILE = "Give the paths of rule folders, shop, case or list files."


class _Wrong(Exception):
    """What is wrong, told in full already."""


@dataclass(frozen=True)
class Checked:
    """One file or folder. what: rules, materials, shop, case or list; holds: what is in it; problem: the first, "" if
    it is fine."""

    path: str
    what: str
    holds: str
    problem: str

    @property
    def fine(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problem


def check(paths: Sequence[str | Path] = (), *, shop: str) -> list[Checked]:
    """Check files and folders; the program's own rules, shops and cases if none are named -> list of Checked.

    shop: name of the shop for cases and lines that name none. Raises CalloutError for a path at which there is nothing.
    """
    return [_checked(path, what, shop) for path, what in _found(paths)]


def to_prove(checked: Sequence[Checked]) -> tuple[Rulebook, list[Shop]]:
    """Rule base and shops to prove, of what was checked: the program's own where no rules or no shops are among it."""
    rules = [one.path for one in checked if one.what == "rules"]
    found = [one.path for one in checked if one.what == "shop"] or [
        str(path) for path in sorted(data_folder("cases").glob("shops/*.toml"))
    ]
    folder = Path(rules[0]) if rules else data_folder("rules")
    return loading.load(folder if folder.is_dir() else folder.parent), [_read_shop(Path(path)) for path in found]


def _read_shop(path: Path) -> Shop:
    return shops.read_shop(path.stem if path.resolve().parent == shops.SHOPS.resolve() else str(path))


def _found(paths: Sequence[str | Path]) -> Iterator[tuple[Path, str]]:
    """Every path to check with what it is; "" where that has to be seen from what is in it."""
    if not paths:
        rules, cases = data_folder("rules"), data_folder("cases")
        yield rules, "rules"
        for folder, what in ((cases / "shops", "shop"), (cases, "case")):
            yield from ((path, what) for path in sorted(folder.glob("*.toml")))
        return
    for path in map(Path, paths):
        if "\0" in str(path) or not path.exists():
            raise CalloutError("file", shown(str(path)), "is not there", NO_SUCH_FILE)
        if path.is_file():
            yield path, ""
        elif not path.is_dir():
            raise CalloutError("file", shown(str(path), 300), "is neither a file nor a folder", NO_SUCH_FILE)
        elif (path / "vocabulary.toml").is_file():
            yield path, "rules"
        else:
            inside = [p for p in sorted(path.rglob("*")) if p.suffix in (".toml", *LISTS) and p.is_file()]
            if not inside:
                raise CalloutError("file", shown(str(path)), "is a folder without a file to check", NO_SUCH_FILE)
            folders = {p.parent for p in inside if (p.parent / "vocabulary.toml").is_file()}
            yield from ((folder, "rules") for folder in sorted(folders))
            yield from ((p, "") for p in inside if p.parent not in folders)


def _checked(path: Path, what: str, shop: str) -> Checked:
    holds, problem = "", ""
    try:
        what = what or _kind(path)
        holds = _CHECKS[what](path, shop)
    except (InputError, _Wrong) as wrong:
        problem = str(wrong)
    except OSError as wrong:
        problem = f"{shown(str(path), 300)}: cannot be read ({wrong.strerror or 'it is damaged'}). Look at the file."
    return Checked(str(path), what or "unknown", holds, problem)


def _kind(path: Path) -> str:
    if path.suffix in LISTS:
        return "list"
    if path.suffix == ".toml":
        with_it = (path.parent / "vocabulary.toml").is_file()
        if with_it and path.name in OTHER_FILES:
            return "materials" if path.name == "materials.toml" else "rules"
        try:
            text = strangers.text(path)
            tables = toml_text.read(text).tables  # what can be read of it tells what it was meant to be
            if not tables and text.strip():
                toml(text)
        except (OSError, ValueError, RecursionError, strangers.Unreadable):
            return "rules" if with_it else "case"  # whose reader says in good words what is wrong
        for what, keys in (
            ("case", callouts.TABLES),
            ("shop", SHOP_KEYS),
            ("rules", RULE_KEYS),
            ("materials", ("material",)),
        ):
            if any(key in tables for key in keys):
                return what
    fix = (
        "A case has [callout], a shop [[lathe]] or like, a rule file [[rule]]; a list ends in .csv, .xlsx or .parquet."
    )
    raise CalloutError(shown(str(path), longest=300), "", "is neither a rule file, a shop, a case nor a list", fix)


# ---- one kind each: what is in it, or an InputError


def _rules(path: Path, _: str = "") -> str:
    """A rule folder, or the folder that a rule file lies in: it loads, and every example comes out as it says."""
    folder = path if path.is_dir() else path.parent
    if not (folder / "vocabulary.toml").is_file():
        fix = "Check it in the folder of its rule base."
        raise RuleError(shown(str(path), longest=300), "", "lies in a folder without vocabulary.toml", fix)
    rules = loading.load(folder, cache=False)
    examples = 0
    for rule in rules.rules:
        for number, example in enumerate(rules.examples(rule.id), start=1):
            examples += 1
            if rules.example_fires(rule.id, example) is not example["fires"]:
                denied = (
                    "does not fire and says that it does" if example["fires"] else "fires and says that it does not"
                )
                problem = f"example {number} {denied}"
                raise RuleError(
                    f"{rules.label}/{rule.file}: {rule.id}", "", problem, "Correct the example or the rule."
                )
    if (folder / "materials.toml").is_file():
        _materials(folder / "materials.toml")
    return f"{len(rules.rules)} rules, {examples} examples, {len(rules.names)} names"


def _materials(path: Path, _: str = "") -> str:
    return f"{len(materials.read_materials(path))} materials"


def _shop(path: Path, _: str = "") -> str:
    """A shop file, its own limits, minutes and spreads held against the names of the rule base."""
    shop = _read_shop(path)
    advice.rule_base().revalued(advice.overrides(shop), where=str(path))
    lathes = "1 lathe" if len(shop.lathes) == 1 else f"{len(shop.lathes)} lathes"
    own = len(advice.overrides(shop))
    invented = new_shop.still_invented(shops.written_tables(str(path)), shop.units)
    return "".join(
        [
            lathes,
            f", {own} figures of its own" if own else "",
            ", most sizes still the invented lathe's" if invented else "",
        ]
    )


def _case(path: Path, usual: str) -> str:
    """A case, its shop, and what it expects."""
    case = callouts.open_case(str(path))
    shop = _shop_of(case.fields.get("shop") or usual, path.parent)
    known = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
    callout = callouts.read_case(str(path), shop_units=shops.drawing_units(shop), **known)
    given = advice.advise(callout, shop, executor=generated.run)
    for name, stated, found in unmet(given, callout.expect):
        problem = f"is not what comes out: {found}"
        raise CalloutError(
            f"{path}: [expect] {name}", shown(stated), problem, "Correct the case, or the rules if they are wrong."
        )
    return f"{given.recommended or 'no method'}" + (", as expected" if callout.expect else "")


# What a case may expect, and how it is written.
EXPECTED = {
    "method": ("text", lambda value: isinstance(value, str)),
    "stands": ("true or false", lambda value: isinstance(value, bool)),
    "close_call": ("true or false", lambda value: isinstance(value, bool)),
    "ruled_out": ("a list of texts", lambda value: _texts(value)),
    "rules": ("a list of texts", lambda value: _texts(value)),
}


def _texts(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(one, str) for one in value)


def unmet(given: Advice, expect: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """What a case expects and advice does not give: list of (name, what was stated, what came out).

    method: the recommended one; stands: false where no method does; close_call; ruled_out: all methods that are;
    rules: ids that fire, among others. What a case does not state is not looked at. Raises CalloutError for another
    name.
    """
    for name in expect:
        if name not in EXPECTED:
            fix = did_you_mean(name, EXPECTED) + f"A case may expect {', '.join(EXPECTED)}."
            raise CalloutError(f"[expect] {shown(name)}", "", "this name is not known", fix)
        kind, is_one = EXPECTED[name]
        if not is_one(expect[name]):
            raise CalloutError(f"[expect] {name}", shown(expect[name]), f"is not {kind}", f"Give {kind}.")
    rules = {rule.id for rule in given.outcome.fired}
    found = {
        "method": given.recommended or "none",
        "stands": given.recommended is not None,
        "close_call": given.close_call,
        "ruled_out": sorted(name for name, method in given.methods.items() if method.rank is None),
    }
    missed = []
    for name, stated in expect.items():
        if name == "rules":
            missed += [(name, rule_id, "it does not fire") for rule_id in stated if rule_id not in rules]
        elif (sorted(stated) if name == "ruled_out" else stated) != found[name]:
            missed.append((name, _listed(stated), f"it is {_listed(found[name])}"))
    return missed


def _listed(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return ", ".join(value) or "none" if isinstance(value, list) else value


def _shop_of(name: str, folder: Path) -> Shop:
    """The shop that a case names: beside the case, or in the house."""
    beside = folder / name
    return shops.read_shop(str(beside.resolve()) if name.endswith(".toml") and beside.is_file() else name)


class _FirstError:
    """A target for a priced list that keeps nothing but what is wrong with the first row that cannot be read."""

    def __init__(self) -> None:
        self.kind = type(self)
        self.told = ""

    @staticmethod
    def encoded(*given: Any) -> str:
        """What is written: the first error in the results, which come last but for the order."""
        return next(filter(None, given[-2]["error"]), "")

    def write(self, told: str) -> None:
        self.told = self.told or told


def _list(path: Path, usual: str) -> str:
    """Every row of a list, read and priced as `turn-radius batch` does it."""
    from advisor.lists import files, pricing

    source, found = files.open_source(str(path)), _FirstError()
    tally = pricing.price_list(source, found, pricing.order_for(source, shop=usual))
    if found.told:
        raise _Wrong(found.told)
    count = tally.lines - tally.blank
    return f"{count} {source.row}{'s' * (count != 1)}"


_CHECKS: dict[str, Callable[[Path, str], str]] = {
    "rules": _rules,
    "materials": _materials,
    "shop": _shop,
    "case": _case,
    "list": _list,
}
