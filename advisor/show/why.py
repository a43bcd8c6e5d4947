"""Why this method, why not another, what would change it, and where each number comes from: on a terminal and as
data."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from rich.console import Group
from rich.padding import Padding
from rich.text import Text
from rich.tree import Tree

from advisor.answer import wording
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.records.experience import method_named
from advisor.show import numbers as numbers_of
from advisor.show import rows
from advisor.show.as_json import plain
from advisor.show.blocks import Columns, Narrow, asked, grid, head, indented, paragraph
from advisor.study import changes as change
from advisor.study import derive

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from rich.console import RenderableType

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.rulebase.rulebook import Finding, Rule
    from advisor.show.rows import Row
    from advisor.study.changes import Change, Comparison, Range
    from advisor.study.derive import Derivation

FIELD_UNITS = {"radius": "mm", "tolerance": "mm", "diameter": "mm", "width": "mm", "stickout": "mm", "hardness": "HB"}
MOST_WEIGHTS = 5
MOST_SUMS = 3


def in_its_run(finding: Finding, advice: Advice) -> str:
    """The reason of a finding with the values of the run in which it was found."""
    return wording.because(finding, dataclasses.replace(advice, values=dict(finding.values)))


# ---- the whole of it


def screen(advice: Advice, numbers: bool = False) -> Group:
    """Why this one, why not the others, what would change it; with `numbers` also where each number comes from."""
    parts = [asked(advice), *why_this(advice), *why_not(advice), *what_would_change_it(advice)]
    if numbers:
        parts += where_from(advice)
    return Group(*parts, *_more(advice))


def _more(advice: Advice) -> list[RenderableType]:
    """What to ask next."""
    other = next(m.name for m in advice.ranked if m is not advice.best)
    return [Text(f'\nMore: --instead "{other}"; --derive "batch" or any label; --numbers.', style="dim")]


def answer(advice: Advice, numbers: bool = False) -> dict[str, Any]:
    """The same as plain data for JSON."""
    data = {
        "recommended": advice.recommended,
        "chosen_by": advice.by,
        "because": [_reason_data(r, advice) for _, told in _told(advice) for r in told],
        "not_ruled_out_by": [],
        "others": {m.name: _other_data(m, advice) for m in advice.ranked if m is not advice.best},
        "changes": changes_data(advice),
    }
    if advice.best:
        data["not_ruled_out_by"] = [
            {"rule": rule.id, "compared": failed} for rule, failed in derive.not_ruled_out(advice.best, advice)
        ]
    if numbers:
        data["numbers"] = [
            {"label": row, "derivations": [derivation_data(d) for d in found]}
            for row, found in numbers_of.setup_numbers(advice.best or advice.ranked[0], advice)
        ]
    return plain(data)


def other_method(text: str, advice: Advice) -> str:
    """The method that a user names, which must be another than the one recommended. Raises CalloutError."""
    known = [m for m in advice.methods if m != advice.recommended]
    named = method_named(text)
    if named is None:
        fix = did_you_mean(text, known) + f"Give {', '.join(known[:-1])} or {known[-1]}."
        raise CalloutError("instead", text, "is not a method", fix)
    if named == advice.recommended:
        raise CalloutError("instead", text, "is the method that is recommended", f"Give {' or '.join(known)}.")
    return named


def levels_of(text: str | None, *, derive: object) -> int:
    """How many levels --derive follows: 2, or the whole number from 0 to 20 that is given. Raises CalloutError."""
    if text is None:
        return 2
    if not derive:
        raise CalloutError("--levels", text, "follows nothing", "Give it together with --derive NAME.")
    if not text.isdecimal() or int(text) > 20:
        raise CalloutError("--levels", text, "is no number of levels", "Give a whole number from 0 to 20.")
    return int(text)


# ---- why this one


def _told(advice: Advice) -> list[tuple[str, list[Any]]]:
    """Elements of the recommended method, each with its reasons."""
    return derive.why_this(advice.best, advice, derive.Reasons(advice)) if advice.best else []


def why_this(advice: Advice) -> list[RenderableType]:
    """The chain of conclusions behind the recommended method, as a tree."""
    best = advice.best
    if best is None:
        return [head("Why nothing stands"), paragraph(wording.first_need(advice))]
    tree = Tree(Text(_minutes_in_words(best)), guide_style="dim")
    reasons = derive.Reasons(advice)
    for element, told in derive.why_this(best, advice, reasons):
        branch = tree.add(Text(f"{element}{_element_value(element, best)}", style="bold"))
        for reason in told:
            _grow(branch, reason, advice, under_element=True)
    _stands(tree, advice, reasons)
    favours = [wording.spoken(f, advice) for f in best.findings if f.kind == "favours"]
    spent = wording.amount(advice.measure(best), advice)
    lead = f"Of the methods that stand it {'costs' if advice.by == 'cost' else 'takes'} least: {spent} for the batch."
    if sum(1 for other in advice.ranked if other.rank) == 1:
        lead = f"It is the only one that stands: {spent} for the batch."
    return [
        head(f"Why {wording.the(best.name)}"),
        *(paragraph(sum_between(advice, best.name, other.name)) for other in _nearest(advice)),
        paragraph(" ".join(dict.fromkeys([lead, *favours]))),
        indented(Narrow(tree)),
    ]


def _nearest(advice: Advice) -> list[MethodAdvice]:
    """The next methods that stand, at most MOST_SUMS."""
    return [method for method in advice.ranked if method.rank and method is not advice.best][:MOST_SUMS]


def _minutes_in_words(method: MethodAdvice) -> str:
    parts = [
        f"{words} {wording.minutes(value)}"
        for words, value in wording.parts(method, method.minutes["arcs"])
        if value >= 0.05
    ]
    return ", ".join(parts)


def _element_value(element: str, method: MethodAdvice) -> str:
    m = method.minutes
    known = {
        "tooling": wording.minutes(m["tooling"]["mean"]),
        "setup": wording.minutes(m["setup"]["mean"]),
        "each piece": wording.minutes(m["per_piece"]["mean"]),
        "spread from piece to piece": f"{wording.chance(method.in_tolerance)} in tolerance",
    }
    return f": {known[element]}" if element in known else ""


def _grow(branch: Tree, reason: Any, advice: Advice, *, under_element: bool = False) -> None:
    if isinstance(reason, int):
        branch.add(Text(f"as told under {reason}", style="dim"))
        return
    effects = [text[text.index("×") :] if under_element and "×" in text else text for text in reason.effects]
    line = Text(
        f"{reason.number}  {'; '.join(effects) + ': ' if effects else ''}{wording.say(reason.rule.because, advice)}"
    )
    node = branch.add(Group(line, _detail(reason.rule, reason.compared)))
    for other in reason.because:
        _grow(node, other, advice)


def _detail(rule: Rule, compared: Iterable[str]) -> Text:
    """What a rule compared, its id and its source, for the line below its sentence."""
    return Text(f"{'; '.join([*compared, ''])}{rule.id}, {rule.source}", style="dim")


def _stands(tree: Tree, advice: Advice, reasons: derive.Reasons) -> None:
    """What could have ruled the recommended method out and does not, with the conclusions behind it."""
    branch, told = tree.add(Text("nothing rules it out", style="bold")), set()
    for rule, failed in derive.not_ruled_out(advice.winner, advice):
        behind = [] if rule.could_be_tried else reasons.behind(rule.names)
        numeric = any(sign in "".join(failed) for sign in "<>≤≥")
        if len(failed) != 1 or failed[0] in told or not (behind or numeric):
            continue
        told.add(failed[0])
        node = branch.add(Text.assemble(failed[0], (f"  {rule.id}", "dim")))
        for other, name in behind:
            _grow(node, reasons.reason(other, (name,)), advice)


def _reason_data(reason: Any, advice: Advice) -> dict[str, Any]:
    if isinstance(reason, int):
        return {"told_under": reason}
    return {
        "number": reason.number,
        "rule": reason.rule.id,
        "effects": reason.effects,
        "because": wording.say(reason.rule.because, advice),
        "compared": reason.compared,
        "source": reason.rule.source,
        "conclusions": [_reason_data(r, advice) for r in reason.because],
    }


# ---- why not that one


def why_not(advice: Advice) -> list[RenderableType]:
    """The other methods, a line each."""
    made = []
    for method in advice.ranked:
        if method is not advice.best:
            standing = "-" if method.rank is None else wording.amount(advice.measure(method), advice)
            more = len(method.ruled_out_by) - 1
            also = f" And {more} more against it." if method.rank is None and more > 0 else ""
            made.append((method.name, standing, wording.why_not(method, advice) + also))
    return [head("Why not another" if advice.best else "Why not one of these"), Columns(made, fixed=2)]


def _other_data(method: MethodAdvice, advice: Advice) -> dict[str, Any]:
    found = change.compare(advice, advice.recommended, method.name)
    return {"summary": wording.why_not(method, advice), **comparison_data(found, advice)}


def comparison_data(found: Comparison, advice: Advice) -> dict[str, Any]:
    """One comparison of two methods as plain data."""
    return plain(
        {
            "standing": found.theirs.standing,
            _BEHIND[advice.by]: found.gap,
            "ruled_out_by": [
                {
                    "rule": f.rule_id,
                    "because": wording.because(f, advice),
                    "needs": _needs(f, advice),
                    "compared": _compared(f.rule, advice),
                }
                for f in found.obstacles
            ],
            f"{advice.by}_if_not_ruled_out": found.freed,
            "reasons": [
                {
                    "rule": w.finding.rule_id,
                    "because": wording.because(w.finding, advice),
                    _BEHIND_WITHOUT[advice.by]: w.gap,
                    "flips": w.flips,
                }
                for w in found.weights
            ],
            "decides": found.decides.finding.rule_id if found.decides and found.decides.flips else None,
            "trade": change.trade(advice, found.ours.name, found.theirs.name)._asdict()
            if found.ours and math.isfinite(found.gap)
            else None,
        }
    )


_BEHIND = {"minutes": "dearer_min", "cost": "dearer"}
_BEHIND_WITHOUT = {"minutes": "dearer_without_it_min", "cost": "dearer_without_it"}


def _needs(finding: Finding, advice: Advice) -> str:
    return wording.say(finding.rule.needs, advice) if finding.rule.needs else ""


def _compared(rule: Rule, advice: Advice) -> list[str]:
    return list(dict.fromkeys(text for tree in rule.when for text, held in derive.compared(tree, advice) if held))


def instead(advice: Advice, name: str) -> Group:
    """The recommended method and another side by side, what separates them, and what decides."""
    found = change.compare(advice, advice.recommended, name)
    title = f"{wording.the(name)} instead" + (f" of {wording.the(advice.winner.name)}" if advice.best else "")
    return Group(asked(advice), head(title), _side_by_side(found, advice), *_what_separates(found, advice))


_ROWS = (
    ("tooling", lambda m: m.minutes["tooling"]["mean"]),
    ("setup", lambda m: m.minutes["setup"]["mean"]),
    ("correcting the first trial", lambda m: m.minutes["resetting"]),
    ("pieces", lambda m: m.minutes["per_piece"]["mean"] * m.minutes["arcs"]),
    ("misses", lambda m: m.minutes["misses"] * m.minutes["arcs"]),
    ("wear", lambda m: m.minutes["wear"] * m.minutes["arcs"]),
    ("batch", lambda m: m.minutes["batch"]["mean"]),
)


def _side_by_side(found: Comparison, advice: Advice) -> RenderableType:
    methods = [m for m in (found.ours, found.theirs) if m]
    made = grid(
        {"no_wrap": True},
        *({"justify": "right", "no_wrap": True} for _ in methods),
        {"justify": "right", "no_wrap": True},
    )
    made.add_row(
        "", *(Text(m.name, style="bold") for m in methods), Text("difference", style="bold") if len(methods) > 1 else ""
    )
    places = round(found.theirs.minutes["arcs"])
    for words, of in _ROWS:
        values = [of(m) for m in methods]
        if max(values) < 0.05 and words != "batch":
            continue
        label = (
            f"{places} {'arcs' if advice.callout.places > 1 else 'pieces' if places > 1 else 'piece'}"
            if words == "pieces"
            else words
        )
        style = "bold" if words == "batch" else ""
        shown = [wording.minutes(v) for v in values]
        gap = _signed(values[1] - values[0]) if len(values) > 1 else ""
        made.add_row(*(Text(text, style=style) for text in (label, *shown, gap)))
    if advice.by == "cost":
        costs = [m.cost for m in methods]
        known = [cost for cost in costs if cost is not None]
        gap = _signed(known[1] - known[0], advice) if len(known) == len(costs) > 1 else ""
        made.add_row(
            *(Text(text, style="bold") for text in ("cost", *(wording.money(c, advice) or "-" for c in costs), gap))
        )
    made.add_row("four batches in five under", *(wording.minutes(m.minutes["batch"]["p80"]) for m in methods), "")
    made.add_row("in tolerance", *(wording.chance(m.in_tolerance) for m in methods), "")
    made.add_row("would hold about", *(f"±{wording.length(m.holds, advice.callout.units)}" for m in methods), "")
    made.add_row("stands", *("yes" if m.rank else "no" for m in methods), "")
    return indented(made)


def _signed(value: float, advice: Advice | None = None) -> str:
    """Minutes with their sign; with an advice whatever its methods are chosen by."""
    if abs(value) < 0.05:
        return "-"
    shown = wording.minutes(abs(value)) if advice is None else wording.amount(abs(value), advice)
    return ("+" if value > 0 else "−") + shown


def _what_separates(found: Comparison, advice: Advice) -> list[RenderableType]:
    return [
        *_obstacles(found, advice),
        *_weights(found, advice),
        head("What decides"),
        paragraph(verdict(found, advice)),
    ]


def _obstacles(found: Comparison, advice: Advice) -> list[RenderableType]:
    if not found.obstacles:
        return []
    made = grid({"no_wrap": True}, {"overflow": "fold"})
    for number, f in enumerate(found.obstacles, 1):
        made.add_row(f"{number}.", wording.because(f, advice))
        made.add_row("", _detail(f.rule, _compared(f.rule, advice)))
        if f.rule.needs:
            made.add_row("", Text(f"Needs: {_needs(f, advice)}"))
    return [head("What rules it out"), indented(Narrow(made))]


def _weights(found: Comparison, advice: Advice) -> list[RenderableType]:
    weights = [
        w for w in found.weights if w.finding.rule not in [f.rule for f in found.obstacles] and math.isfinite(found.gap)
    ]
    if found.ours is None or not weights:
        return []
    made = grid({"justify": "right", "no_wrap": True}, {"overflow": "fold"})
    shown = sorted(weights, key=lambda w: (not w.flips, -abs(w.gap - found.gap)))[:MOST_WEIGHTS]
    for w in shown:
        made.add_row(_signed(found.gap - w.gap, advice), wording.because(w.finding, advice))
        made.add_row(
            "",
            Text(
                f"{w.finding.rule_id}, {w.finding.rule.source}{'; without it the choice turns' if w.flips else ''}",
                style="dim",
            ),
        )
    lead = (
        f"What each reason adds to the lead of {wording.the(found.ours.name)}: the advice worked out again without it."
    )
    left = len(weights) - len(shown)
    more = [paragraph(f"{left} smaller {'one' if left == 1 else 'ones'} left out.")] if left else []
    return [head("What separates them"), paragraph(lead), indented(Narrow(made)), *more]


def verdict(found: Comparison, advice: Advice) -> str:
    """What decides between two methods, in words: only what turns the choice when it is taken away is said to
    decide."""
    theirs = wording.the(found.theirs.name)
    if found.obstacles or found.ours is None:
        return _verdict_of_obstacles(found, advice, theirs)
    told = sum_between(advice, found.ours.name, found.theirs.name)
    flipping = [w for w in found.weights if w.flips]
    if flipping:
        reason = wording.because(flipping[0].finding, advice)
        count = f" ({len(flipping)} reasons would each turn it; this one turns it most.)" if len(flipping) > 1 else ""
        ahead = f"{wording.amount(-flipping[0].gap, advice)} {wording.BETTER[advice.by]}"
        return f"{told} {reason} Without that {theirs} would be {ahead}.{count}"
    return told


def sum_between(advice: Advice, ours: str, theirs: str) -> str:
    """What one method gives for another (changes.Trade), in one line."""
    traded, now = change.trade(advice, ours, theirs), advice.callout.quantity
    one, other = wording.the(ours).capitalize(), wording.the(theirs)
    once, each = (wording.minutes(abs(value)) for value in (traded.once, traded.each))
    costs, saves = traded.once >= 0.05, traded.each >= 0.05
    if costs and saves:
        pays = "from the first piece" if traded.first is None else f"from {_pieces(traded.first)}"
        return f"{one} costs {once} more to make ready and set than {other}, saves {each} a piece, pays {pays} (now {now})."
    if traded.once > -0.05 and saves:
        return f"{one} takes no longer to make ready and set than {other}, and saves {each} a piece."
    if advice.by == "cost" and (costs or traded.once > -0.05):
        less = wording.stock_money(advice.methods[theirs], advice) - wording.stock_money(advice.methods[ours], advice)
        return f"{one} takes longer than {other}, and its tooling takes {wording.money(less, advice)} less stock."
    if traded.each > -0.05:
        return f"{one} saves {once} of making ready and setting against {other}, and takes no longer over a piece."
    pays = f", pays up to {_pieces(traded.last)} (now {now})" if traded.last is not None else ""
    return f"{one} saves {once} of making ready and setting against {other}, takes {each} more over a piece{pays}."


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


def _verdict_of_obstacles(found: Comparison, advice: Advice, theirs: str) -> str:
    what = wording.because(found.obstacles[0], advice)
    several = len(found.obstacles) > 1
    if not math.isfinite(found.freed):
        return f"{what} There is no way round that here."
    takes, freed = "cost" if advice.by == "cost" else "take", wording.amount(found.freed, advice)
    with_it = f"Were {'these reasons' if several else 'that'} gone, {theirs} would {takes} {freed}"
    if found.ours is None:
        return f"{with_it}, and would be the choice if nothing {wording.BETTER[advice.by]} stood."
    now = advice.measure(found.ours)
    if found.freed < now:
        decide = f"All {len(found.obstacles)} reasons together decide." if several else "That decides."
        return f"{decide} {with_it} against {wording.amount(now, advice)}."
    ahead = f"{wording.the(found.ours.name)} would still be ahead at {wording.amount(now, advice)}"
    return f"{with_it}, and {ahead}: the {'money decides' if advice.by == 'cost' else 'minutes decide'}."


# ---- what if


def what_if(advice: Advice, other: Advice, asked_for: Mapping[str, str]) -> Group:
    """The answer beside the one with some things otherwise: methods, minutes, what turns it, and what is set otherwise.

    other: the Advice with them; asked_for: name -> text of what is otherwise."""
    title = "What if: " + ", ".join(f"{name.replace('_', ' ')} {text}" for name, text in asked_for.items())
    made = grid({}, *({"justify": "right"} for _ in range(2)))
    made.add_row("", Text("now", style="bold"), Text("if", style="bold"))
    for name, method in advice.methods.items():
        cells = [_batch(one.methods[name], one) for one in (advice, other)]
        made.add_row(name, *cells)
    parts: list[RenderableType] = [
        asked(advice),
        asked(other),
        head(title),
        indented(made),
        paragraph(_turned(advice, other)),
    ]
    if advice.recommended == other.recommended and advice.best:
        parts += _set_otherwise(advice, other)
    return Group(*parts)


def _batch(method: MethodAdvice, advice: Advice) -> Text:
    if not method.rank:
        return Text("will not do")
    text = wording.amount(advice.measure(method), advice)
    return Text(f"> {text}" if method is advice.best else text, style="bold" if method is advice.best else "")


def _turned(advice: Advice, other: Advice) -> str:
    """Whether the method changes, and what makes it."""
    if advice.recommended == other.recommended:
        if advice.best is None:
            return "Nothing stands either way."
        now, then = (wording.amount(one.measure(one.winner), one) for one in (advice, other))
        return f"The method stays: {wording.the(advice.winner.name)}, {then} instead of {now}."
    taken = wording.the(other.winner.name) if other.best else "nothing"
    given_up = wording.the(advice.winner.name) if advice.best else "nothing"
    if advice.shop is not other.shop and advice.shop != other.shop:
        return f"{taken.capitalize()} instead of {given_up}. The shops differ in more than one thing."
    because = change.cause(advice, advice.callout, other.callout, other.recommended)
    return f"{taken.capitalize()} instead of {given_up}: {wording.lower(cause_text(because, advice))}"


def _set_otherwise(advice: Advice, other: Advice) -> list[RenderableType]:
    """The rows of the setup that another value changes."""
    one, two = ({row.label: row for row in rows.setup_rows(each.winner, each)} for each in (advice, other))
    made = grid({"max_width": 32}, {"overflow": "fold"}, {"overflow": "fold"})
    for label in dict.fromkeys([*one, *two]):
        values = [_row_text(found.get(label)) for found in (one, two)]
        if values[0] != values[1]:
            made.add_row(label, *values)
    return [head("Set otherwise"), indented(made)] if made.row_count else [paragraph("Every number stays as it is.")]


def _row_text(row: Row | None) -> str:
    return "-" if row is None else f"{row.value}; {row.dial}" if row.dial else row.value


def what_if_data(advice: Advice, other: Advice, asked_for: Mapping[str, str]) -> dict[str, Any]:
    """The same as plain data."""

    def side(one: Advice) -> dict[str, Any]:
        return {
            "recommended": one.recommended,
            "chosen_by": one.by,
            "batch_min": {m.name: m.minutes["batch"]["mean"] if m.rank else None for m in one.methods.values()},
        }

    because = None
    if advice.recommended != other.recommended and advice.shop == other.shop:
        because = change.cause(advice, advice.callout, other.callout, other.recommended)
    return plain(
        {
            "if": asked_for,
            "now": side(advice),
            "then": side(other),
            "cause": because and because[0],
            "rule": because[1].rule_id if because and len(because) == 2 else None,
        }
    )


def instead_data(advice: Advice, name: str) -> dict[str, Any]:
    """One method instead of the recommended as plain data."""
    found = change.compare(advice, advice.recommended, name)
    rows = [
        {"element": words, "ours_min": of(found.ours) if found.ours else None, "theirs_min": of(found.theirs)}
        for words, of in _ROWS
    ]
    data = {"recommended": advice.recommended, "instead": name, "minutes": rows, "verdict": verdict(found, advice)}
    return plain(data | comparison_data(found, advice))


# ---- what would change it


def what_would_change_it(advice: Advice) -> list[RenderableType]:
    """The values at which the choice changes, nearest first, what else does, and what does not."""
    found = change.changes(advice)
    parts: list[RenderableType] = [head("What would change it")]
    made = []
    for point in [*found.points, *found.words]:
        made.append((_field(point.name, advice), flip_text(point, advice), outcome_text(point, advice)))
    made += [(name, words, outcome) for name, words, outcome in _facts(found.facts, advice)]
    for gain in found.equipment:
        saved = (
            f"saves {wording.amount(gain.saved, advice)}"
            if math.isfinite(gain.saved)
            else f"{wording.amount(gain.measure, advice)} for the batch"
        )
        made.append(("", f"with {gain.what}", f"{gain.method}: {saved}"))
    if made:
        parts.append(Columns(made))
    if found.steady:
        parts.append(paragraph(f"No{' other' if made else ''} {_steady_text(found.steady, advice)} changes it."))
    return parts


def _facts(facts: Iterable[Change], advice: Advice) -> list[tuple[str, str, str]]:
    """What else could well be otherwise, values with the same outcome together: list of (name, values, outcome)."""
    together: dict[tuple[str, str], tuple[str, list[Change]]] = {}
    for flip in facts:
        outcome = outcome_text(flip, advice)
        together.setdefault((flip.name, outcome), (outcome, []))[1].append(flip)
    return [
        (name.replace("_", " "), f"{_any_of(found, advice)} (now {_fact(name, found[0].now, advice)})", outcome)
        for (name, _), (outcome, found) in together.items()
    ]


def _any_of(flips: Sequence[Change], advice: Advice) -> str:
    texts = list(dict.fromkeys(_fact(flip.name, flip.value, advice) for flip in flips))
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} or {texts[-1]}"


def _fact(name: str, value: Any, advice: Advice) -> str:
    return _shown(name, value, advice).split(" (")[0]


def _field(name: str, advice: Advice) -> str:
    return f"{advice.callout.symbol}" if name == "radius" else name


def _shown(name: str, value: Any, advice: Advice) -> str:
    return wording.fact_value(name, value, advice.callout.units)


def flip_text(point: Change, advice: Advice) -> str:
    """`12: 5 or fewer`, `0.1 mm: 0.067 mm down to 0.017 mm`: the present value, then where another method takes
    over."""
    now, value = _shown(point.name, point.now, advice), _shown(point.name, point.value, advice)
    if isinstance(point.value, str):
        return f"{value} instead of {now}"
    up = point.value > point.now
    if point.until is not None and point.until != point.value:
        reach = f"{value} {'up' if up else 'down'} to {_shown(point.name, point.until, advice)}"
    elif point.until is not None:
        reach = f"just {value}"
    else:
        reach = f"{value} or {'more' if up else 'fewer' if point.name == 'quantity' else 'less'}"
    return f"{reach} (now {now})"


def outcome_text(point: Change, advice: Advice) -> str:
    """The method that takes over, what makes it, and the rule where one does."""
    return f"{point.method or 'nothing stands'}: {cause_text(point.because, advice)}"


def cause_text(because: Sequence[Any], advice: Advice) -> str:
    """What makes another method take over, and the rule where one does. because: as of a change of study/changes.py."""
    kind, rule = because[0], ""
    if kind == "cheaper":
        cause = f"{wording.BETTER[advice.by]} there"
    elif kind == "fact":
        meaning = advice.rules.names[because[1]].meaning
        cause = meaning if because[2] else f"no longer so: {meaning}"
    else:
        sentence = in_its_run(because[1], advice)
        out = f"{wording.the(advice.winner.name)} will not do there. " if kind == "out" else ""
        cause = {"stands": "ruled out now. ", "ends": "no longer so: "}.get(kind, out) + sentence
        rule = f" ({because[1].rule_id})"
    return f"{cause}{rule}"


def _steady_text(steady: Sequence[Range], advice: Advice) -> str:
    parts = [
        f"{entry.name} from {_shown(entry.name, entry.low, advice)} to {_shown(entry.name, entry.high, advice)}"
        for entry in steady
    ]
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} or {parts[-1]}"


_GAIN = {"minutes": ("batch_min", "saves_min"), "cost": ("batch_cost", "saves")}


def changes_data(advice: Advice) -> dict[str, Any]:
    """What would change the choice as plain data."""
    found = change.changes(advice)

    def point(p: Change) -> dict[str, Any]:
        data = {"name": p.name, "now": p.now, "value": p.value, "last": p.last, "until": p.until, "method": p.method}
        return data | {
            "cause": p.because[0],
            "rule": p.because[1].rule_id if len(p.because) == 2 else None,
            "unit": FIELD_UNITS.get(p.name),
        }

    return {
        "points": [point(p) for p in found.points],
        "words": [point(p) for p in found.words],
        "facts": [point(p) for p in found.facts],
        "steady": [entry._asdict() for entry in found.steady],
        "equipment": [
            {"what": g.what, "method": g.method, **dict(zip(_GAIN[advice.by], (g.measure, g.saved), strict=True))}
            for g in found.equipment
        ],
    }


# ---- where a number comes from


def where_from(advice: Advice) -> list[RenderableType]:
    """Every number of the setup with its equation worked out and its source."""
    method = advice.best or advice.ranked[0]
    parts: list[RenderableType] = [head("Where each number comes from")]
    for row, found in numbers_of.setup_numbers(method, advice):
        parts.append(indented(Text(row, style="bold")))
        for derivation in found:
            parts.append(Padding(Narrow(Group(*_lines(derivation, named=len(found) > 1))), (0, 0, 0, 4)))
    return parts


def _lines(derivation: Derivation, *, named: bool = False) -> list[Text]:
    lines = list(derivation.lines) or [derivation.value]
    if derivation.kind in ("given", "limit"):
        lines = [f"{derivation.value}: {lines[0]}"]
    if named and not lines[0].startswith(derivation.label):
        lines[0] = f"{derivation.label}: {lines[0]}"
    texts = [Text(line) for line in lines]
    if derivation.source:
        texts[-1].append(f"   {derivation.source}", style="dim")
    return texts


def derived(advice: Advice, name: str, depth: int) -> Group:
    """One number followed down to what was stated, assumed or estimated."""
    return Group(asked(advice), Text(), *steps_down(advice, numbers_of.find(name, advice), depth))


def steps_down(advice: Advice, name: str, depth: int) -> list[RenderableType]:
    """The same without what the drawing asks: a part for each number, name: of the rule base."""
    parts: list[RenderableType] = []
    for level, found in derive.followed(name, advice, depth=depth):
        body: list[RenderableType] = [
            Text.assemble((found.label, "bold"), f" = {found.value}"),
            *(indented(line) for line in _lines(found)),
        ]
        if found.inputs:
            inputs = [(entry.symbol, entry.label, entry.value, entry.origin) for entry in found.inputs]
            body.append(Columns(inputs, styles=("", "", "", "dim"), lead="    "))
        parts.append(Padding(Narrow(Group(*body)), (0, 0, 1, 2 * level)))
    return parts


def derivation_data(found: Derivation) -> dict[str, Any]:
    """One derivation as plain data."""
    return plain(found._asdict() | {"inputs": [entry._asdict() for entry in found.inputs]})


def derived_data(advice: Advice, name: str, depth: int) -> dict[str, Any]:
    """One number followed down as plain data."""
    name = numbers_of.find(name, advice)
    return plain(
        {
            "name": name,
            "derivations": [
                derivation_data(d) | {"level": level} for level, d in derive.followed(name, advice, depth=depth)
            ],
        }
    )
