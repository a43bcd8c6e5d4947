"""The files of the rule base, read and checked: TOML in, a Rulebook or one clear error out.

vocabulary.toml declares names, limits.toml and practice.toml constants, methods.toml the methods that entries with
`each = "method"` are written out for, sources.toml the sources, contradictions.toml what no answer may tell together,
bounds.toml what none may pass.
Every other file holds rules, steps and cautions.
"""

from __future__ import annotations

import graphlib
import inspect
import keyword
import math
import re
import tomllib
from typing import TYPE_CHECKING

from advisor.ground.errors import RuleError, did_you_mean
from advisor.ground.folders import toml
from advisor.language import expression
from advisor.language.expression import ExpressionError
from advisor.rulebase import method_table
from advisor.rulebase.rulebook import (
    COMBINATIONS,
    KINDS,
    MOMENTS,
    TRIPLE,
    VIEWS,
    Bound,
    Contradiction,
    Effect,
    Name,
    Rule,
    Rulebook,
    Tell,
    find_function,
    value_in_unit,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence, Set
    from typing import Any, NoReturn

    from pint import Unit

    from advisor.language.expression import Tree, Type


CONSTANT_FILES = ("limits.toml", "practice.toml")
OTHER_FILES = (
    "vocabulary.toml",
    *CONSTANT_FILES,
    "methods.toml",
    "options.toml",
    "sources.toml",
    "materials.toml",
    "tolerances.toml",
    "callouts.toml",
    "grades.toml",
    "hardness.toml",
    "alternatives.toml",
    "headings.toml",
    "customer_questions.toml",
    "worth.toml",
    "fits.toml",
    "questions.toml",
    "terms.toml",
    "contradictions.toml",
    "bounds.toml",
    "shop_keys.toml",
)
EVERY_METHOD = "every method"
ORIGINS = ("callout", "work", "job", "material", "shop", "lathe")
_KINDS = {
    "from": "given",
    "formula": "formula",
    "expression": "expression",
    "concluded": "conclusion",
    "combine": "tally",
}
_NAME_KEYS = {
    "unit",
    "values",
    "meaning",
    "each",
    "from",
    "formula",
    "with",
    "of_every",
    "expression",
    "concluded",
    "combine",
    "default",
    "told",
}
_TOLD = ("at least", "about", "as marked", "roughly")
_RULE_KEYS = {
    "rule": {
        "id",
        "when",
        "then",
        "because",
        "needs",
        "could_be_tried",
        "source",
        "examples",
        "for",
        "each",
        "tells",
        "at",
    },
    "step": {
        "id",
        "when",
        "says",
        "because",
        "source",
        "examples",
        "for",
        "each",
        "order",
        "tells",
        "at",
        "view",
        "arc",
        "table",
    },  # fmt: skip
    "caution": {"id", "when", "says", "brief", "because", "source", "examples", "for", "each", "tells", "at"},
}
_OF_METHOD = ("name", "prefix", "does")  # what entries with each = "method" may mention
_THEN = tuple(kind for kind in KINDS if kind != "says")
_UNSOURCED = ("common practice", "estimate")


def read(files: Mapping[str, bytes], *, label: str, package: str) -> Rulebook:
    """The Rulebook that the files hold.

    files: name -> bytes; label: what messages call the folder; package: where formulas are. Raises RuleError.
    """
    return _Files(files, label, package).rulebook()


def _wrong(where: str, problem: str, fix: str) -> NoReturn:
    raise RuleError(where, "", problem, fix)


def _named(where: str, name: Any, before: Collection[str], *, like: str) -> None:
    """Refuse what is no name in plain words, and one that stands there already."""
    if not isinstance(name, str) or not re.fullmatch(r"[a-z][a-z -]*[a-z]", name):
        _wrong(where, "has no name in plain words", f'Write name = "{like}".')
    if name in before:
        _wrong(where, "is declared twice", "Declare each once.")


class _Files:
    def __init__(self, files: Mapping[str, bytes], label: str, package: str) -> None:
        self.label = label
        self.package = package
        self.tables = {name: self.toml(name, content) for name, content in files.items()}
        self.names: dict[str, Name] = {}
        self.types: dict[str, Type] = {}
        self.rules: list[Rule] = []
        self.ids: dict[str, str] = {}
        self.examples: dict[str, list[dict[str, Any]]] = {}
        self.tells: dict[str, Tell] = {}

    def toml(self, name: str, content: bytes) -> dict[str, Any]:
        where = f"{self.label}/{name}"
        try:
            return toml(content.decode())
        except RecursionError:
            _wrong(where, "is nested too deeply", "Two levels of tables are enough.")
        except UnicodeDecodeError:
            _wrong(where, "is not text in UTF-8", "Save it as UTF-8.")
        except tomllib.TOMLDecodeError as problem:
            place = re.search(r"at (line \d+, column \d+|end of document)", str(problem))
            _wrong(
                where,
                f"is not TOML at {place[1] if place else 'some place'}",
                "Look there for a missing quote, bracket or equals sign.",
            )

    def rulebook(self) -> Rulebook:
        if "vocabulary.toml" not in self.tables:
            _wrong(f"{self.label}/vocabulary.toml", "is missing", "It declares every name that the rules use.")
        self.methods = self.read_methods()
        self.sources = set(self.tables.get("sources.toml", {}))
        for file in CONSTANT_FILES:
            for name, entry in self.written_out(file, self.tables.get(file, {})):
                self.read_constant(file, name, entry)
        vocabulary = list(self.written_out("vocabulary.toml", self.tables["vocabulary.toml"]))
        for name, entry in vocabulary:
            self.read_name("vocabulary.toml", name, entry)
        method_table.check(self.tables.get("methods.toml", {}), self.names, f"{self.label}/methods.toml")
        for name, entry in vocabulary:
            self.settle("vocabulary.toml", self.names[name], entry)
        contradictions = self.read_contradictions("contradictions.toml")
        bounds = self.read_bounds("bounds.toml")
        for file in sorted(self.tables):
            if file not in OTHER_FILES:
                self.read_rules(file, self.tables[file])
        order = self.sorted()
        self.set_stages(order)
        rulebook = Rulebook(
            self.names, self.rules, order, self.methods, self.package, self.label, self.examples,
            self.tells.values(), contradictions, bounds,
        )  # fmt: skip
        self.check_examples(rulebook)
        return rulebook

    # ------------------------------------------------------------------------------------ methods, templates

    def read_methods(self) -> list[dict[str, Any]]:
        where = f"{self.label}/methods.toml"
        methods = self.tables.get("methods.toml", {}).get("method", [])
        for method in methods:
            for key in ("name", "prefix"):
                if not isinstance(method.get(key), str) or not method[key]:
                    _wrong(where, f'a method has no "{key}"', 'Write name = "form tool" and prefix = "form_tool".')
            if not expression.NAME.fullmatch(method["prefix"]):
                _wrong(
                    where,
                    f'"{method["prefix"]}" is not a prefix of names',
                    "Write lower-case words joined by underscores.",
                )
        return [{key: value for key, value in method.items() if key in _OF_METHOD} for method in methods]

    def method_names(self, where: str, wanted: Any) -> list[str]:
        known = [method["name"] for method in self.methods]
        if wanted == EVERY_METHOD and known:
            return known
        wanted = [wanted] if isinstance(wanted, str) else wanted
        if not isinstance(wanted, list) or not wanted:
            fix = f'Write one of {", ".join(known)}, a list of them, or "{EVERY_METHOD}".'
            _wrong(where, "does not say which method", fix)
        for name in wanted:
            if name not in known:
                _wrong(where, f'unknown method "{name}"', f"{did_you_mean(name, known)}Methods are {', '.join(known)}.")
        return wanted

    def prefix(self, method: str) -> str:
        return next(m["prefix"] for m in self.methods if m["name"] == method)

    def method_of(self, name: str) -> list[str]:
        """The method that a name belongs to by its prefix, as a list of none or one."""
        found = [m for m in self.methods if name.startswith(m["prefix"] + "_")]
        return [max(found, key=lambda m: len(m["prefix"]))["name"]] if found else []

    def methods_of_topic(self, file: str) -> list[str]:
        """Texts in a file that is named after a method speak for that method, unless they say otherwise."""
        topic = file.removesuffix(".toml").replace("_", " ")
        return [method["name"] for method in self.methods if method["name"] == topic]

    def written_out(self, file: str, tables: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
        """Entries by name, those with `each = "method"` once for every method."""
        for name, entry in tables.items():
            where = f"{self.label}/{file}: {name}"
            if not isinstance(entry, dict):
                _wrong(where, "is not a table", f"Write [{name}] and its keys below it.")
            for copy, replace in self.copies(where, entry):
                yield replace(name), copy

    def copies(self, where: str, entry: Mapping[str, Any]) -> Iterator[tuple[Mapping[str, Any], Callable[..., Any]]]:
        each = entry.get("each")
        if each is None:
            yield entry, lambda text: text
            return
        if each != "method" or not self.methods:
            _wrong(
                where,
                f'unknown each = "{each}"',
                f'Only each = "method" is known; methods are listed in {self.label}/methods.toml.',
            )
        for method in self.methods:
            words = {"{method}": method["prefix"]} | {f"{{method_{key}}}": str(text) for key, text in method.items()}

            def replace(part: Any, words: Mapping[str, str] = words) -> Any:
                if isinstance(part, str):
                    for word, text in words.items():
                        part = part.replace(word, text)
                elif isinstance(part, list):
                    part = [replace(p) for p in part]
                elif isinstance(part, dict):
                    part = {replace(k): replace(p) for k, p in part.items()}
                return part

            yield replace(entry), replace

    # ------------------------------------------------------------------------------------ names

    def keys(self, where: str, entry: Mapping[str, Any], allowed: Set[str]) -> None:
        for key in entry:
            if key not in allowed:
                _wrong(
                    where, f'unknown key "{key}"', f"{did_you_mean(key, allowed)}Keys are {', '.join(sorted(allowed))}."
                )

    def declare(self, file: str, name: str, entry: Mapping[str, Any], **fields: Any) -> None:
        where = f"{self.label}/{file}: {name}"
        if not expression.NAME.fullmatch(name) or len(name) > 60:
            _wrong(where, "is not a name", "Names are lower-case words joined by single underscores.")
        if keyword.iskeyword(name) or name in ("true", "false") or name in expression.UNITS:
            _wrong(where, "is a word of the language of rules or a unit", "Choose another name.")
        if name in self.names:
            _wrong(where, f"is declared already in {self.label}/{self.names[name].file}", "Declare each name once.")
        if not isinstance(entry.get("meaning"), str) or not entry["meaning"].strip():
            _wrong(where, "has no meaning", 'Write meaning = "..." in words that a reader of the answer understands.')
        if "told" in entry and (entry["told"] not in _TOLD or fields.get("unit") != "mm"):
            words = ", ".join(f'"{word}"' for word in _TOLD)
            _wrong(where, f"has told = {entry['told']!r}", f"A length may be told {words}.")
        record = (
            dict.fromkeys(Name.__slots__)
            | {"name": name, "file": file, "meaning": entry["meaning"], "stage": 0, "told": entry.get("told")}
            | fields
        )
        self.names[name] = Name(*record.values())

    def unit_of(self, where: str, text: Any) -> Unit:
        if not isinstance(text, str):
            _wrong(where, "has a unit that is not text", 'Write unit = "mm".')
        try:
            if text and expression.kept_unit(text) != text:
                _wrong(
                    where,
                    f'is declared in "{text}", which is not kept inside the program',
                    f'Write "{expression.kept_unit(text)}".',
                )
            return expression.unit_of(text)
        except ExpressionError as problem:
            _wrong(where, problem.problem, problem.fix)

    def read_constant(self, file: str, name: str, entry: Mapping[str, Any]) -> None:
        where = f"{self.label}/{file}: {name}"
        self.keys(where, entry, {"value", "unit", "meaning", "between", "source", "each", "told"})
        self.check_source(where, entry)
        if "value" not in entry:
            _wrong(where, "has no value", 'Write value = "6 mm".')
        value = entry["value"]
        if isinstance(value, bool):
            return self.declare(file, name, entry, kind="constant", holds="truth", value=value, source=entry["source"])
        parts = value if isinstance(value, list) else [value]
        if len(parts) not in (1, 3):
            _wrong(where, f"has {len(parts)} values", "Write one, or three: low, likely, high.")
        unit = self.constant_unit(where, parts, entry)
        for suffix, part in zip(TRIPLE if isinstance(value, list) else ("",), parts):
            self.declare(file, name + suffix, entry, kind="constant", holds="number", unit=unit, source=entry["source"])
            number = float(value_in_unit(part, self.names[name + suffix], where))
            if not math.isfinite(number):
                _wrong(where, f"{part} is not a number that can be used", "Write a finite number.")
            self.names[name + suffix].value = number
        if "between" in entry:
            self.read_between(where, name, entry)
        numbers = [self.names[name + suffix].value for suffix in TRIPLE] if isinstance(value, list) else []
        if numbers != sorted(numbers):
            _wrong(where, "has values that do not ascend", "Write low, likely, high in this order.")

    def read_between(self, where: str, name: str, entry: Mapping[str, Any]) -> None:
        """How low and how high an estimate could well be."""
        ends = entry["between"]
        if isinstance(entry["value"], list) or not isinstance(ends, list) or len(ends) != 2:
            _wrong(where, "has a between that is not a low and a high", 'Write between = ["0.3 min", "0.6 min"].')
        declared = self.names[name]
        declared.low, declared.high = (float(value_in_unit(end, declared, where)) for end in ends)
        if not declared.low <= declared.value <= declared.high:
            _wrong(where, "has a value outside its between", "Write the low before the high, and the value within.")

    def constant_unit(self, where: str, parts: Sequence[Any], entry: Mapping[str, Any]) -> str:
        if "unit" in entry:
            self.unit_of(where, entry["unit"])
            return entry["unit"]
        found = expression.quantity(parts[0]) if isinstance(parts[0], str) else (parts[0], "")
        if found is None:
            _wrong(where, f'"{parts[0]}" is not a number with a unit', 'Write one such as "6 mm".')
        try:
            return expression.kept_unit(found[1])
        except ExpressionError as problem:
            _wrong(where, problem.problem, problem.fix)

    def read_name(self, file: str, name: str, entry: Mapping[str, Any]) -> None:
        """Declare a name with its type; what it is made of follows when all names are known."""
        where = f"{self.label}/{file}: {name}"
        self.keys(where, entry, _NAME_KEYS)
        kinds = [kind for key, kind in _KINDS.items() if key in entry]
        if len(kinds) != 1:
            _wrong(
                where,
                "does not say where it comes from, or says so twice",
                "Write one of from, formula, expression, concluded = true or combine.",
            )
        if ("unit" in entry) == ("values" in entry):
            _wrong(
                where,
                "has neither unit nor values, or both",
                'Write unit = "mm", unit = "truth" or values = ["one", "other"].',
            )
        unit, values, holds = entry.get("unit"), entry.get("values"), "words"
        if values is not None:
            if (
                not isinstance(values, list)
                or len(values) < 2
                or len(values) > 120
                or not all(isinstance(v, str) and v for v in values)
            ):
                _wrong(where, "has values that are not a list of words", 'Write values = ["one", "other"].')
            if len(set(values)) != len(values):
                _wrong(where, "lists a word twice", "List each word once.")
        elif unit == "truth":
            holds = "truth"
        elif isinstance(unit, str) and unit.startswith("list of "):
            holds, unit = "list", unit.removeprefix("list of ")
            self.unit_of(where, unit)
        else:
            holds = "number"
            self.unit_of(where, unit)
        self.declare(
            file,
            name,
            entry,
            kind=kinds[0],
            holds=holds,
            unit=None if holds in ("truth", "words") else unit,
            values=values,
        )

    def type_of(self, name: str) -> Type:
        if name not in self.types:
            declared = self.names.get(name)
            if declared is None:
                raise ExpressionError(
                    f'unknown name "{name}"',
                    did_you_mean(name, [*self.names, *expression.UNITS])
                    + f"Names are declared in {self.label}/vocabulary.toml.",
                )
            if declared.holds == "number":
                kind = ("number", expression.unit_of(declared.unit))
            else:
                kind = ("words", tuple(declared.values)) if declared.holds == "words" else (declared.holds,)
            self.types[name] = kind
        return self.types[name]

    def compiled(self, where: str, text: str, expected: Type | None = None) -> Tree:
        """A checked tree from a text, an error of the text being told with its place."""
        try:
            return expression.check(expression.parse(text), self.type_of, expected)[0]
        except ExpressionError as problem:
            _wrong(where, problem.problem, problem.fix)

    def settle(self, file: str, name: Name, entry: Mapping[str, Any]) -> None:
        """Fill in what a name is made of."""
        where = f"{self.label}/{file}: {name.name}"
        if name.kind == "given":
            if entry["from"] not in ORIGINS:
                _wrong(where, f'comes from "{entry["from"]}"', f"Write from as one of {', '.join(ORIGINS)}.")
            name.origin = entry["from"]
            name.default = value_in_unit(entry["default"], name, where) if "default" in entry else None
        elif name.kind == "formula":
            self.settle_formula(where, name, entry)
        elif name.kind == "expression":
            name.tree = self.compiled(where, entry["expression"], self.type_of(name.name))
        elif name.kind == "conclusion":
            if entry["concluded"] is not True or name.holds == "list":
                _wrong(
                    where,
                    "is not something that can be concluded",
                    "Write concluded = true for words, a truth value or a number.",
                )
            if "default" not in entry:
                _wrong(where, "has no default", "Write what it is when no rule concludes it.")
            name.tree = self.amount(f"{where}: default", name.name, entry["default"])
        else:
            combination = COMBINATIONS.get(entry["combine"]) if isinstance(entry["combine"], str) else None
            if combination is None or combination.holds != name.holds:
                _wrong(
                    where,
                    f'combine = "{entry["combine"]}" does not go with its unit',
                    'Write "sum" or "product" for numbers, "any" for truth.',
                )
            name.combine = entry["combine"]
        for key, kind in (("with", "formula"), ("of_every", "formula"), ("default", "given or conclusion")):
            if key in entry and name.kind not in kind:
                _wrong(where, f'has "{key}", which belongs to a {kind}', f'Take "{key}" away.')

    def settle_formula(self, where: str, name: Name, entry: Mapping[str, Any]) -> None:
        name.function = entry["formula"]
        renamed = entry.get("with", {})
        try:
            parameters = inspect.signature(find_function(self.package, name.function)).parameters
        except (LookupError, AttributeError, TypeError, ValueError):
            _wrong(
                where,
                f'there is no function "{name.function}"',
                f"Write module.function as it stands in {self.package}.",
            )
        if "of_every" in entry:
            parameters = self.of_every(where, name.function, parameters, entry["of_every"])
        for key in renamed:
            if key not in parameters:
                _wrong(
                    where,
                    f'{name.function} has no parameter "{key}"',
                    f"{did_you_mean(key, parameters)}It has {', '.join(parameters)}.",
                )
        name.arguments = []
        for parameter in parameters.values():
            if parameter.kind in (parameter.VAR_KEYWORD, parameter.VAR_POSITIONAL, parameter.POSITIONAL_ONLY):
                _wrong(where, f"{name.function} takes more than named quantities", "Give it keyword parameters only.")
            value = renamed.get(parameter.name, parameter.name)
            if isinstance(value, (bool, int, float)):
                name.arguments.append(
                    [parameter.name, ["truth", value] if isinstance(value, bool) else ["number", float(value)]]
                )
            elif value in self.names:
                if self.names[value].holds == "words":
                    _wrong(
                        where,
                        f'{name.function} would be given the word "{value}"',
                        "Formulas take numbers and truth values: declare an expression.",
                    )
                name.arguments.append([parameter.name, ["name", value]])
            elif parameter.name in renamed or parameter.default is parameter.empty:
                fix = (
                    did_you_mean(value, self.names)
                    + f"Declare it in {self.label}/vocabulary.toml or name another one under with."
                )
                _wrong(where, f'{name.function} takes "{parameter.name}", and there is no name "{value}"', fix)

    def of_every(
        self, where: str, function: str, parameters: Mapping[str, inspect.Parameter], pattern: object
    ) -> dict[str, inspect.Parameter]:
        """The parameters of a formula that takes any number of values: one name of each method."""
        if [parameter.kind for parameter in parameters.values()] != [inspect.Parameter.VAR_KEYWORD]:
            _wrong(where, f"{function} does not take one value of every method", 'Take "of_every" away.')
        names = [str(pattern).replace("{method}", method["prefix"]) for method in self.methods]
        return {name: inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY) for name in names}

    def amount(self, where: str, name: str, value: Any, suffix: str = "") -> Tree:
        """The tree of a value for a name: a word, a truth value, a number in its unit, a quantity or an expression."""
        declared = self.names[name]
        if declared.holds == "words":
            word = value_in_unit(value, declared, where)
            return ("word", word, declared.values.index(word))
        if isinstance(value, bool):
            if declared.holds != "truth":
                _wrong(where, f"{name} is not a truth value", f"Write a number in {declared.unit or 'plain numbers'}.")
            return ("truth", value)
        if isinstance(value, str) and (declared.holds == "truth" or expression.quantity(value) is None):
            return self.compiled_amount(where, name, value, suffix)
        return ("number", float(value_in_unit(value, declared, where)))

    def compiled_amount(self, where: str, name: str, text: str, suffix: str) -> Tree:
        try:
            tree = self.with_suffix(expression.parse(text), suffix) if suffix else expression.parse(text)
            return expression.check(tree, self.type_of, self.type_of(name))[0]
        except ExpressionError as problem:
            _wrong(where, problem.problem, problem.fix)

    def with_suffix(self, tree: Tree, suffix: str) -> Tree:
        """A tree in which names that are declared as low, likely, high stand for the one asked for."""
        if tree[0] == "name":
            return ("name", tree[1] + suffix) if tree[1] not in self.names and tree[1] + suffix in self.names else tree
        return tuple(self.with_suffix(part, suffix) if isinstance(part, tuple) and part else part for part in tree)

    # ------------------------------------------------------------------------------------ rules

    def check_source(self, where: str, entry: Mapping[str, Any]) -> None:
        source = entry.get("source")
        if not isinstance(source, str) or not source:
            _wrong(where, "has no source", 'Write source = "common practice", "estimate" or a key of sources.toml.')
        key = source.partition(",")[0].strip()
        if source not in _UNSOURCED and key not in self.sources:
            fix = f'Write "common practice", "estimate" or a key of {self.label}/sources.toml.'
            _wrong(where, f'unknown source "{key}"', did_you_mean(key, self.sources) + fix)

    def read_rules(self, file: str, table: Mapping[str, Any]) -> None:
        self.keys(f"{self.label}/{file}", table, set(_RULE_KEYS))
        topic = file.removesuffix(".toml").replace("_", "-")
        for kind in table:
            for place, entry in enumerate(table[kind], start=1):
                rule_id = entry.get("id")
                if not isinstance(rule_id, str) or not re.fullmatch(rf"{re.escape(topic)}\.[a-z0-9{{}}_.-]+", rule_id):
                    _wrong(
                        f"{self.label}/{file}: {kind} {place}",
                        f'has the id "{rule_id}"',
                        f'Write an id such as "{topic}.what-it-says".',
                    )
                for copy, _ in self.copies(f"{self.label}/{file}: {rule_id}", entry):
                    self.read_rule(file, kind, copy)

    def read_rule(self, file: str, kind: str, entry: Mapping[str, Any]) -> None:
        rule_id = entry["id"]
        where = f"{self.label}/{file}: {rule_id}"
        self.keys(where, entry, _RULE_KEYS[kind])
        if rule_id in self.ids:
            _wrong(
                where, f"the id stands already in {self.label}/{self.ids[rule_id]}", "Give each rule an id of its own."
            )
        self.ids[rule_id] = file
        texts = entry.get("when", [])
        if not isinstance(texts, list) or (kind == "rule" and not texts):
            _wrong(
                where, "has no when", 'Write when = ["edge_width > widest_blank"], a list of lines that must all hold.'
            )
        when = [self.compiled(where, text, ("truth",)) for text in texts]
        methods = self.method_names(where, entry["for"]) if "for" in entry else self.methods_of_topic(file)
        if kind == "rule" or "source" in entry:
            self.check_source(where, entry)
        effects = self.effects(where, entry, methods) if kind == "rule" else [self.saying(where, kind, entry, methods)]
        order = entry.get("order")
        if kind == "step" and (isinstance(order, bool) or not isinstance(order, (int, float)) or not methods):
            _wrong(where, "lacks an order or does not say what it is for", 'Write for = "form tool" and order = 1.')
        names = self.unique(name for tree in when for name in expression.names(tree))
        mentions = self.mentions(where, entry, effects)
        self.rules.append(
            Rule(
                rule_id,
                kind,
                file,
                len(self.rules),
                0,
                when,
                texts,
                names,
                effects,
                [n for n in mentions if n not in names],
                self.text(where, entry, "because", required=kind == "rule"),
                self.text(where, entry, "needs"),
                entry.get("could_be_tried", False) is True,
                entry.get("source"),
                methods,
                order,
                self.told(where, entry, effects),
                self.text(where, entry, "brief"),
                self.moments(where, entry),
                self.view(where, entry),
                entry.get("arc", False) is True,
                entry.get("table", False) is True,
            )  # fmt: skip
        )
        self.examples[rule_id] = entry.get("examples", [])

    def moments(self, where: str, entry: Mapping[str, Any]) -> list[str]:
        """The moments of the work at which a step is done, or a caution told."""
        at = entry.get("at", [])
        at = [at] if isinstance(at, str) else at
        for moment in at if isinstance(at, list) else [at]:
            if moment not in MOMENTS:
                fix = f"{did_you_mean(str(moment), MOMENTS)}Moments are {', '.join(MOMENTS)}."
                _wrong(where, f'there is no moment "{moment}"', fix)
        return at

    def view(self, where: str, entry: Mapping[str, Any]) -> str:
        """The drawing that a step is shown with."""
        view = entry.get("view", VIEWS[-1])
        if view not in VIEWS:
            _wrong(where, f'there is no view "{view}"', f"Write one of {', '.join(VIEWS)}.")
        return view

    @staticmethod
    def unique(names: Iterable[str]) -> list[str]:
        return list(dict.fromkeys(names))

    def text(self, where: str, entry: Mapping[str, Any], key: str, required: bool = False) -> str | None:
        text = entry.get(key)
        if (required and not text) or (text is not None and not isinstance(text, str)):
            _wrong(where, f"has no {key}", f'Write {key} = "..." as a sentence for the reader.')
        return text

    def mentions(self, where: str, entry: Mapping[str, Any], effects: Sequence[Effect]) -> list[str]:
        found = []
        texts = [(key, entry.get(key)) for key in ("because", "needs", "brief")] + [
            (effect.kind, effect.text) for effect in effects
        ]
        for key, text in texts:
            try:
                names = expression.mentions(text) if isinstance(text, str) else []
                for name in names:
                    self.type_of(name)
            except ExpressionError as problem:
                _wrong(where, f"{key}: {problem.problem}", problem.fix)
            found.extend(names)
        return self.unique(found)

    def saying(self, where: str, kind: str, entry: Mapping[str, Any], methods: Sequence[str]) -> Effect:
        if not isinstance(entry.get("says"), str) or not entry["says"]:
            _wrong(where, "says nothing", 'Write says = "..." as a sentence for the reader.')
        return Effect("says" if kind == "step" else "cautions", None, None, entry["says"], methods)

    def effects(self, where: str, entry: Mapping[str, Any], methods: Sequence[str]) -> list[Effect]:
        then = entry.get("then")
        if not isinstance(then, dict) or not set(then) - {"for"}:
            _wrong(where, "has no then", f"Write then = {{ ... }} with {', '.join(_THEN)}.")
        for key in then:
            if key not in (*_THEN, "for"):
                _wrong(where, f'unknown effect "{key}"', f"{did_you_mean(key, _THEN)}Effects are {', '.join(_THEN)}.")
        if "for" in then:
            if "for" in entry:
                _wrong(where, "says twice what it is for", "Write for once.")
            methods = self.method_names(where, then["for"])
        for key in ("needs", "could_be_tried"):
            if key in entry and "rules_out" not in then:
                _wrong(where, f"has {key} but rules nothing out", f"Write {key} with rules_out only.")
        found = []
        for kind in _THEN:
            if kind not in then:
                continue
            if kind == "rules_out":
                for method in self.method_names(where, then[kind]):
                    target = f"{self.prefix(method)}_ruled_out"
                    self.target(where, target, "tally", "any")
                    found.append(Effect(kind, target, ("truth", True), None, [method]))
            elif KINDS[kind].speaks:
                texts = then[kind] if isinstance(then[kind], list) else [then[kind]]
                if not texts or not all(isinstance(text, str) and text for text in texts):
                    _wrong(where, f"has {kind} without a text", f'Write {kind} = "..." as a sentence for the reader.')
                found.extend(Effect(kind, None, None, text, methods) for text in texts)
            else:
                if not isinstance(then[kind], dict) or not then[kind]:
                    _wrong(where, f"has {kind} without a name", f"Write {kind} = {{ name = value }}.")
                for name, value in then[kind].items():
                    found.extend(self.amounts(where, kind, name, value))
        return found

    def target(self, where: str, name: str, kind: str, combine: str | None = None) -> None:
        declared = self.names.get(name)
        if declared is None:
            fix = did_you_mean(name, self.names) + f"Names are declared in {self.label}/vocabulary.toml."
            _wrong(where, f'unknown name "{name}"', fix)
        if declared.kind != kind or declared.combine != combine:
            needed = (
                "a conclusion (concluded = true)" if kind == "conclusion" else f'a tally with combine = "{combine}"'
            )
            _wrong(where, f"{name} is not {needed}", "Choose a name that is, or declare it so.")

    def amounts(self, where: str, kind: str, name: str, value: Any) -> list[Effect]:
        """Effects of one entry of concludes, adds or scales: one, or three for a name kept as low, likely, high."""
        targets = [(name, value, "")]
        if name not in self.names and all(name + suffix in self.names for suffix in TRIPLE):
            values = value if isinstance(value, list) else [value] * 3
            if len(values) != 3:
                _wrong(where, f"{name} is given {len(values)} values", "Write one, or three: low, likely, high.")
            targets = [(name + suffix, part, suffix) for suffix, part in zip(TRIPLE, values)]
        found = []
        for target, part, suffix in targets:
            if kind == "concludes":
                self.target(where, target, "conclusion")
            else:
                self.target(where, target, "tally", KINDS[kind].combine)
            found.append(Effect(kind, target, self.amount(where, target, part, suffix), None, self.method_of(target)))
        return found

    # ------------------------------------------------------------------------------------ what is told

    def read_contradictions(self, file: str) -> list[Contradiction]:
        """Keep what may be told, and return the pairs that no answer may tell together."""
        table = self.tables.get(file, {})
        self.keys(f"{self.label}/{file}", table, {"tell", "contradiction"})
        for place, entry in enumerate(table.get("tell", []), start=1):
            name = entry.get("name")
            where = f"{self.label}/{file}: {name or f'tell {place}'}"
            self.keys(where, entry, {"name", "meaning", "for", "when"})
            _named(where, name, self.tells, like="let it dwell")
            texts = entry.get("when")
            if texts is not None and (not isinstance(texts, list) or not texts):
                _wrong(where, "has a when that says nothing", "Write a list of lines that must all hold, or none.")
            if "for" in entry and texts is None:
                _wrong(where, "says what it is for but not when", "Only numbers to set tell by themselves: add when.")
            when = None if texts is None else [self.compiled(where, text, ("truth",)) for text in texts]
            methods = self.method_names(where, entry["for"]) if "for" in entry else []
            meaning = self.text(where, entry, "meaning", required=True)
            self.tells[name] = Tell(name, meaning, when, texts or [], methods)
        return [self.contradiction(file, place, entry) for place, entry in enumerate(table.get("contradiction", []), 1)]

    def contradiction(self, file: str, place: int, entry: Mapping[str, Any]) -> Contradiction:
        where = f"{self.label}/{file}: contradiction {place}"
        self.keys(where, entry, {"between", "because"})
        between = entry.get("between")
        if not isinstance(between, list) or len(between) != 2 or between[0] == between[1]:
            _wrong(where, "is not between two things", 'Write between = ["let it dwell", "do not dwell"].')
        for name in between:
            self.check_tell(where, name)
        return Contradiction(*between, self.text(where, entry, "because", required=True))

    def read_bounds(self, file: str) -> list[Bound]:
        """What no answer may pass, as a list of Bound."""
        table = self.tables.get(file, {})
        self.keys(f"{self.label}/{file}", table, {"bound"})
        found: dict[str, Bound] = {}
        for place, entry in enumerate(table.get("bound", []), start=1):
            name = entry.get("name")
            where = f"{self.label}/{file}: {name or f'bound {place}'}"
            self.keys(where, entry, {"name", "for", "never", "because"})
            _named(where, name, found, like="chuck speed")
            text = entry.get("never")
            if not isinstance(text, str):
                _wrong(where, "does not say what is never so", 'Write never = "finish_rpm > chuck_limit".')
            methods = self.method_names(where, entry["for"]) if "for" in entry else []
            because = self.text(where, entry, "because", required=True)
            found[name] = Bound(name, self.compiled(where, text, ("truth",)), text, methods, because)
        return list(found.values())

    def check_tell(self, where: str, name: str) -> None:
        if name not in self.tells:
            fix = f"{did_you_mean(str(name), self.tells)}Declare it in {self.label}/contradictions.toml."
            _wrong(where, f'tells "{name}", which is not declared', fix)

    def told(self, where: str, entry: Mapping[str, Any], effects: Sequence[Effect]) -> list[str]:
        """What the texts of a rule, step or caution tell to do."""
        names = entry.get("tells", [])
        if not isinstance(names, list):
            _wrong(where, "has tells that are not a list", 'Write tells = ["let it dwell"].')
        for name in names:
            self.check_tell(where, name)
            if self.tells[name].when is not None:
                _wrong(where, f'tells "{name}", which numbers tell by themselves', "Declare another for what is said.")
        if names and all(effect.text is None for effect in effects):
            _wrong(where, "tells something and says nothing", "Take tells away, or add cautions or advises.")
        return names

    # ------------------------------------------------------------------------------------ order

    def reads(self) -> tuple[dict[str | int, list[str | int]], dict[int, list[str]]]:
        """What every name and every rule (by number) reads; and what only the texts of a rule read."""
        reads: dict[str | int, list[str | int]] = {name: [] for name in self.names}
        texts: dict[int, list[str]] = {}
        for name, declared in self.names.items():
            if declared.kind == "formula":
                reads[name] = [tree[1] for _, tree in declared.arguments if tree[0] == "name"]
            elif declared.tree is not None:
                reads[name] = [*expression.names(declared.tree)]
        for rule in self.rules:
            amounts = [effect.amount for effect in rule.effects if effect.amount is not None]
            read = self.unique([*rule.names, *(name for tree in amounts for name in expression.names(tree))])
            reads[rule.number] = [*read]
            texts[rule.number] = [name for name in rule.mentions if name not in reads[rule.number]]
            for effect in rule.effects:
                if effect.target:
                    reads[effect.target].append(rule.number)
        return reads, texts

    def sorted(self) -> list[str | int]:
        """Names and numbers of rules, each after everything that it reads or its texts mention."""
        reads, texts = self.reads()
        try:
            list(graphlib.TopologicalSorter(reads).static_order())
        except graphlib.CycleError as problem:
            circle = problem.args[1]
            first = next((node for node in circle if isinstance(node, int)), circle[0])
            shown = " -> ".join(self.rules[node].id if isinstance(node, int) else node for node in circle)
            _wrong(
                self.place(first),
                f"goes in a circle: {shown}",
                "Nothing may follow from itself; take one of these away.",
            )
        for rule in texts:
            reads[rule] = [*reads[rule], *texts[rule]]
        try:
            return list(graphlib.TopologicalSorter(reads).static_order())
        except graphlib.CycleError as problem:
            circle = problem.args[1]
            name, rule = next((a, b) for a, b in zip(circle, circle[1:]) if a in texts.get(b, ()))
            _wrong(
                self.place(rule),
                f'the text mentions "{name}", which follows from this very rule',
                "Mention only what is known before the rule.",
            )

    def place(self, node: str | int) -> str:
        if isinstance(node, int):
            return f"{self.label}/{self.rules[node].file}: {self.rules[node].id}"
        return f"{self.label}/{self.names[node].file}: {node}"

    def set_stages(self, order: Sequence[str | int]) -> None:
        """Give every name and rule the level at which it is known: a conclusion is known one level after its rules."""
        reads, _ = self.reads()
        stages: dict[str | int, int] = {}
        for node in order:
            stages[node] = max((stages[part] + (isinstance(part, int)) for part in reads[node]), default=0)
            (self.rules[node] if isinstance(node, int) else self.names[node]).stage = stages[node]

    # ------------------------------------------------------------------------------------ examples

    def check_examples(self, rulebook: Rulebook) -> None:
        for rule in self.rules:
            where = f"{self.label}/{rule.file}: {rule.id}"
            written = self.examples[rule.id]
            if not isinstance(written, list) or not all(isinstance(example, dict) for example in written):
                _wrong(where, "has examples that are not tables", "Write [[rule.examples]] with given and fires.")
            examples = [self.example(where, rule, example) for example in written]
            self.examples[rule.id] = examples
            if rule.kind != "rule" and not examples:
                continue
            for fires in (True, False):
                if not any(example["fires"] is fires for example in examples):
                    _wrong(
                        where,
                        f"has no example that {'fires' if fires else 'does not fire'}",
                        "Write [[rule.examples]] with given and fires, one of each kind.",
                    )
            self.check_boundaries(where, rule, [rulebook.example_values(rule, example) for example in examples])

    def example(self, where: str, rule: Rule, example: Mapping[str, Any]) -> dict[str, Any]:
        self.keys(where, example, {"given", "fires"})
        given, fires = example.get("given"), example.get("fires")
        if not isinstance(given, dict) or not isinstance(fires, bool):
            _wrong(
                where,
                "has an example without given or fires",
                "Write given = { name = value } and fires = true or false.",
            )
        values = {}
        for name, value in given.items():
            if name not in rule.names:
                problem = "an example gives" if name in self.names else "an example gives the unknown name"
                fix = did_you_mean(name, rule.names) + f"Its when reads {', '.join(rule.names)}."
                _wrong(where, f'{problem} "{name}"' + (", which when does not read" if name in self.names else ""), fix)
            values[name] = value_in_unit(value, self.names[name], f"{where}: example: {name}")
        return {"given": values, "fires": fires}

    def check_boundaries(self, where: str, rule: Rule, examples: Sequence[dict[str, Any]]) -> None:
        for tree in rule.when:
            for node in expression.comparisons(tree):
                if node[5] in ("truth", "words"):
                    continue
                sides = [
                    (expression.evaluate(node[3], values), expression.evaluate(node[4], values)) for values in examples
                ]
                if not any(math.isclose(left, right, rel_tol=1e-9, abs_tol=1e-12) for left, right in sides):
                    _wrong(
                        where,
                        f'no example stands on the boundary of "{node[1]}"',
                        "Add one in which both sides are equal; it may give the limit, too.",
                    )
