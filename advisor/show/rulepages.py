"""The rule base to read: by topic, what each rule says, needs and does, its source, its examples, and the worked cases
that it decides."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.answer.advice import advise, rule_base
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.folders import data_folder, rule_tables
from advisor.language import expression
from advisor.show import blocks
from advisor.study import changes, derive, equations

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from rich.console import RenderableType
    from rich.table import Table

    from advisor.answer.advice import Advice
    from advisor.rulebase.rulebook import Effect, Rule, Rulebook

KINDS = {"rule": "rules", "step": "steps", "caution": "cautions"}


def base() -> Rulebook:
    """The rule base of the program."""
    return rule_base()


def topic_of(rule: Rule) -> str:
    """The file of a rule as words: its topic."""
    return Path(rule.file).stem.replace("_", " ")


def topics() -> Group:
    """The topics with how many rules each has, and how to read on."""
    rules = base().rules
    grid = _grid(2)
    for topic in dict.fromkeys(map(topic_of, rules)):
        here = [rule for rule in rules if topic_of(rule) == topic]
        numbers = {kind: sum(r.kind == kind for r in here) for kind in KINDS}
        counts = [f"{count} {kind if count == 1 else KINDS[kind]}" for kind, count in numbers.items() if count]
        grid.add_row(topic, ", ".join(counts))
    more = Text('\nRead one: turn-radius rules "form tool", or the id of a rule.', style="dim")
    return Group(Text(f"{len(rules)} RULES, STEPS AND CAUTIONS BY TOPIC", style="bold"), blocks.indented(grid), more)


def _grid(columns: int) -> Table:
    return blocks.grid(*({"no_wrap": number < columns - 1, "overflow": "fold"} for number in range(columns)))


def page(name: str) -> Group:
    """A topic's rules, or one rule in full with the worked cases that it decides. Raises CalloutError."""
    rules = base()
    spoken = " ".join(name.replace("_", " ").replace("-", " ").split()).lower()
    here = [rule for rule in rules.rules if topic_of(rule) == spoken]
    if here:
        return _topic(spoken, here)
    if name in rules.by_id:
        return one(rules.by_id[name])
    known = [*dict.fromkeys(map(topic_of, rules.rules)), *rules.by_id]
    fix = did_you_mean(name, known) + "Give the id of a rule or a topic; turn-radius rules lists the topics."
    raise CalloutError("rules", name, "is neither a rule nor a topic", fix)


def _topic(topic: str, rules: Sequence[Rule]) -> Group:
    parts: list[RenderableType] = [Text(topic.upper(), style="bold")]
    for rule in rules:
        lines: list[RenderableType] = [Text(rule.id, style="bold"), blocks.paragraph(says(rule))]
        lines.append(blocks.indented(Text(_short(rule), style="dim")))
        parts.append(Group(*lines))
    return Group(
        *parts,
        Text("\nOne rule in full, with its examples and the cases it decides: turn-radius rules ID", style="dim"),
    )


def _short(rule: Rule) -> str:
    """A rule's conditions, effects, needs and source on one line."""
    when = " and ".join(line.removeprefix("when ") for line in conditions(rule))
    needs = f" Needs: {in_words(rule.needs)}" if rule.needs else ""
    then = "; ".join(does(rule))
    told = f"{'Always' if when == 'always' else f'When {when}'}{f': {then}' if then else ''}.{needs} ({rule.source})"
    return told.replace("..", ".")


# ---- what a rule says, in words


def says(rule: Rule) -> str:
    """The sentence of a rule, its names written as words."""
    text = rule.because or next((effect.text for effect in rule.effects if effect.text), "")
    return in_words(text)


def in_words(text: str) -> str:
    """A sentence of the rule base with its names as words: `the {edge_width}` becomes `the ‹edge width›`."""
    for name in expression.mentions(text):
        text = text.replace(f"{{{name}}}", f"‹{derive.label(name)}›")
    return text


def conditions(rule: Rule) -> list[str]:
    """What has to hold, a line each, names as words."""
    return [f"when {written(text)}" for text in rule.texts] or ["always"]


def written(text: str) -> str:
    """A condition as it stands in its file, names as words."""
    for sign, words in ((">=", "≥"), ("<=", "≤"), ("==", "is"), ("!=", "is not"), ("*", " × ")):
        text = text.replace(sign, words)
    return expression.NAME.sub(lambda found: derive.label(found[0]), text)


def does(rule: Rule) -> list[str]:
    """What follows from a rule, a line each."""
    told = []
    for effect in rule.effects:
        if effect.kind == "rules_out":
            told.append(f"rules out {method_of(effect.target)}")
        elif effect.kind == "concludes":
            told.append(f"concludes {derive.label(effect.target)}: {_amount(effect)}")
        elif effect.kind == "scales":
            told.append(f"{derive.label(effect.target.removesuffix('_factor'))} × {_amount(effect)}")
        elif effect.kind == "adds" and not effect.target.endswith(("_low", "_high")):
            told.append(
                f"{derive.label(effect.target.removesuffix('_likely').removesuffix('_extra'))} + {_amount(effect)} min"
            )
        elif effect.text and in_words(effect.text) != says(rule):
            told.append(f"{effect.kind}: {in_words(effect.text)}")
    return told


def _amount(effect: Effect) -> str:
    tree = effect.amount
    if tree is None:
        return ""
    if tree[0] == "number":
        return equations.figure(tree[1])
    return derive.in_words(tree, derive.label)


def method_of(target: str) -> str:
    """The method whose name a rule acts on, with its article."""
    return next(wording.the(m["name"]) for m in base().methods if target.startswith(f"{m['prefix']}_"))


# ---- one rule


def one(rule: Rule) -> Group:
    """A rule in full."""
    grid = _grid(2)
    rows = [("when", line.removeprefix("when ")) for line in conditions(rule)] + [("then", line) for line in does(rule)]
    if rule.needs:
        rows.append(("needs", in_words(rule.needs)))
    rows.append(("source", _source(rule.source)))
    rows.append(("file", f"rules/{Path(rule.file).name}"))
    last = None
    for head, line in rows:
        grid.add_row("" if head == last else head, line)
        last = head
    parts: list[RenderableType] = [
        Text(rule.id, style="bold"),
        blocks.paragraph(says(rule)),
        Text(),
        blocks.indented(grid),
    ]
    return Group(*parts, *_limits(rule), *_examples(rule), *_cases(rule))


def _source(key: str) -> str:
    title = rule_tables("sources.toml").get(key, {}).get("title", "")
    return f"{key}: {title}" if title else key


def _limits(rule: Rule) -> list[RenderableType]:
    """The limits that a rule reads, each with its value and meaning."""
    grid = _grid(3)
    for name in rule.names:
        declared = base().names[name]
        if declared.kind == "constant":
            value = wording.quantity(name, declared, declared.value, units="mm")
            grid.add_row(derive.label(name), value, f"{declared.meaning} ({declared.source})")
    return [blocks.head("limits"), blocks.indented(grid)] if grid.row_count else []


def _examples(rule: Rule) -> list[RenderableType]:
    examples = base().examples(rule.id)
    grid = _grid(2)
    for example in examples:
        given = "; ".join(f"{derive.label(name)} {_given(name, value)}" for name, value in example["given"].items())
        grid.add_row("fires" if example["fires"] else "does not", given)
    return [blocks.head("examples"), blocks.indented(grid)] if examples else []


def _given(name: str, value: Any) -> str:
    return wording.quantity(name, base().names[name], value, units="mm")


def _cases(rule: Rule) -> list[RenderableType]:
    found = decided(rule)
    grid = _grid(2)
    for case, how in found:
        grid.add_row(case, how)
    if not found:
        none = "It fires in none of them." if rule.kind == "rule" else "Steps and cautions decide no case."
        return [blocks.head("worked cases"), blocks.paragraph(none)]
    return [blocks.head("worked cases"), blocks.indented(grid)]


# ---- the worked cases


def worked() -> list[tuple[str, Advice]]:
    """The worked cases that travel with the program, each with its advice: list of (name, Advice). Kept for the run."""
    if not _WORKED:
        for path in sorted(data_folder("cases").glob("*.toml")):
            case = callouts.open_case(path)
            shop = shops.read_shop(case.fields.get("shop") or shops.USUAL_SHOP)
            known = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
            callout = callouts.read_case(str(path), shop_units=shops.drawing_units(shop), **known)
            _WORKED.append((path.stem, advise(callout, shop, executor=generated.run)))
    return _WORKED


_WORKED: list[tuple[str, Advice]] = []


def decided(rule: Rule) -> list[tuple[str, str]]:
    """The worked cases in which a rule fires: list of (case, what it decides there), then of (words, cases) where the
    choice would be the same without it.

    A rule decides a case if the recommended method is another one without it; the advice is worked out again to see.
    """
    if rule.kind != "rule":
        return []
    turned, kept_out, fired = [], [], []
    for name, advice in worked():
        if rule.number not in {other.number for other in advice.outcome.fired}:
            continue
        left = changes.best(changes.without(advice, [rule]))
        if left != advice.recommended:
            now, then = advice.recommended or "nothing stands", left or "nothing stands"
            turned.append((name, f"decides: {now}; without it {then}"))
        elif any(effect.kind == "rules_out" for effect in rule.effects):
            kept_out.append(name)
        else:
            fired.append(name)
    rest = [("rules out in", kept_out), ("fires in", fired)]
    return turned + [(words, ", ".join(names)) for words, names in rest if names]
