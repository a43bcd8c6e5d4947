"""An estimate on a terminal, as JSON and as a sheet. Builds renderables and plain data; cli.py prints them."""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.asked.callout import Assumed
from advisor.ground.spreadsheet import as_cell
from advisor.show import as_json, records
from advisor.show.as_json import plain
from advisor.show.blocks import Prose, head, indented, paragraph
from advisor.show.blocks import table as headed
from advisor.study.estimate import ELEMENT_KEYS, sheet

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any

    from rich.console import JustifyMethod, RenderableType

    from advisor.answer.advice import Advice
    from advisor.rulebase.rulebook import Name
    from advisor.study.estimate import Change, Estimate, Price, Quantity, Swing

BAR = 20  # characters


def screen(estimate: Estimate, drawn: Advice | None = None) -> Group:
    """The whole estimate. drawn: the Advice that the records would have given, where they were left out."""
    advice = estimate.advice
    parts: list[RenderableType] = [_answer(estimate), head("Minutes"), _prices(estimate), *_notes(estimate)]
    if estimate.table:
        parts += [head("By quantity"), _table(estimate)]
    parts += [head("From which quantity another method"), *_changes(estimate)]
    parts += [head("What the figure hangs on"), *_swings(estimate)]
    if advice.experience and advice.experience.figures:
        parts += [
            head("The shop's own records"),
            records.figures(advice),
            Text(),
            records.difference(estimate.starting or advice, advice),
        ]
    if drawn and drawn.experience:
        parts += [
            head("With the records that were left out"),
            *records.notice_lines(drawn),
            records.difference(advice, drawn),
        ]
    return Group(*parts)


def money(amount: float | Decimal | None) -> str:
    """An amount of money, to the hundredth; a price each as it is rounded.

    >>> money(58.0675), money(Decimal("4.839")), money(None)
    ('58.07', '4.839', '-')
    """
    return "-" if amount is None else str(amount) if isinstance(amount, Decimal) else f"{amount:.2f}"


def priced(amount: float | Decimal | None, advice: Advice) -> str:
    """An amount of money with the shop's currency."""
    return f"{money(amount)} {advice.shop.currency}".strip()


def _answer(estimate: Estimate) -> Group:
    advice = estimate.advice
    shop = Prose(f"Shop {advice.shop.name}, {advice.lathe.name}.", lead="", style="dim")
    lines: list[RenderableType] = [Prose(wording.callout_line(advice), lead=""), shop]
    if advice.best is None:
        return Group(
            *lines,
            Text("\nNO METHOD STANDS", style="bold reverse"),
            Prose(wording.first_need(advice), lead=""),
            *records.notice_lines(advice),
        )
    price = estimate.prices.prices[0]
    facts = f"{wording.minutes(price.mean)} for the batch, 4 in 5 under {wording.minutes(price.p80)}"
    if price.cost is not None:
        total, each = price.quoted
        facts += f"; {priced(total, advice)}, {priced(each, advice)} a piece"
    parts: list[RenderableType] = [
        Text(f"\n{price.method.upper()}", style="bold reverse"),
        Prose(f"{facts}; {_share(price.risk)} of it is risk.", lead="", style="bold"),
    ]
    told = [wording.BY_COST] if advice.by == "cost" else []
    if advice.close_call:
        told.append(wording.close_call(advice))
    if told:
        parts.append(Prose(" ".join(told), lead=""))
    return Group(*lines, *parts, *records.notice_lines(advice))


def _share(share: float) -> str:
    """
    >>> _share(0.234), _share(0.0002), _share(0.0)
    ('23 %', '<1 %', '0')
    """
    return "0" if share <= 0 else wording.percent(share).replace("under ", "<").replace("over ", ">")


def _prices(estimate: Estimate) -> Group:
    advice = estimate.advice
    each = "each piece" if advice.callout.places == 1 else "each arc"
    costed = any(price.cost is not None for price in estimate.prices.prices)
    heads: list[tuple[str, JustifyMethod]] = [("", "left")]
    heads += [(word, "right") for word in ("tooling", "setup", each, "batch", "4 in 5", "risk")]
    heads += [(advice.shop.currency or "cost", "right")] if costed else []
    table = headed(*heads, gap=1)
    table.columns[0].no_wrap = True
    legend = "Tooling, setup and each as low/likely/high. 4 in 5: so many batches stay under that. "
    legend += "Risk: share that misses and corrections take."
    for price in estimate.prices.prices:
        out = price.standing == "ruled out"
        cells = [
            _triple(price.tooling),
            _triple(price.setup),
            _triple(price.piece),
            _short(price.mean),
            _short(price.p80),
            _share(price.risk),
        ]
        cells += [money(price.cost)] if costed else []
        style = "bold" if price.standing == "recommended" else "dim" if out else ""
        table.add_row(f"{price.method} -" if out else price.method, *cells, style=style)
    return Group(indented(table), paragraph(legend))


def _short(minutes: float) -> str:
    return wording.minutes(minutes).removesuffix(" min")


def _triple(element: Mapping[str, float]) -> str:
    """
    >>> _triple({"low": 5.0, "likely": 8.0, "high": 12.0}), _triple({"low": 0.0, "likely": 0.0, "high": 0.0})
    ('5/8/12', '0')
    """
    parts = [_short(element[key]) for key in ("low", "likely", "high")]
    return parts[0] if len(set(parts)) == 1 else "/".join(parts)


def _notes(estimate: Estimate) -> list[Prose]:
    advice, notes = estimate.advice, []
    for price in estimate.prices.prices:
        if price.finding:
            notes.append(f"- {price.method} will not do: {wording.because(price.finding, advice)}")
    prices = estimate.prices
    by_name = {price.method: price for price in prices.prices}
    quick, cheap = (by_name.get(name) if name else None for name in (prices.quickest, prices.cheapest))
    if quick and cheap and quick is not cheap and quick.cost is not None and cheap.cost is not None:
        money, time = (
            priced(round(quick.cost, 2) - round(cheap.cost, 2), advice), wording.minutes(cheap.mean - quick.mean)
        )  # fmt: skip
        if advice.by == "cost":
            notes.append(f"{wording.the(quick.method).capitalize()} takes {time} less, and costs {money} more.")
        else:
            notes.append(f"{wording.the(cheap.method).capitalize()} costs {money} less, and takes {time} longer.")
    if not any(price.cost is not None for price in estimate.prices.prices):
        notes.append("The shop file gives no hourly rate, so there is no cost.")
    return [paragraph(note) for note in notes]


def _table(estimate: Estimate) -> RenderableType:
    stand = {price.method for quantity in estimate.table for price in quantity.prices if price.standing != "ruled out"}
    names = [method["name"] for method in estimate.advice.rules.methods if method["name"] in stand]
    if not names:
        return paragraph("No method stands at any of these quantities.")
    table = headed(("pieces", "right"), *((name, "right") for name in names))
    for quantity in estimate.table:
        prices = {price.method: price for price in quantity.prices}
        table.add_row(f"{quantity.pieces:,}", *(_cell(prices[name], quantity) for name in names))
    costs = any(price.cost is not None for price in estimate.prices.prices)
    currency = f" in {advice.shop.currency}" if (advice := estimate.advice).shop.currency else ""
    below = f"; below it the cost{currency} and of one piece, * the cheapest" if costs else ""
    note = f"Minutes (4 in 5 under){below}; > quickest, - will not do."
    return Group(indented(table), paragraph(note))


def _cell(price: Price, quantity: Quantity) -> Text:
    if price.standing == "ruled out":
        return Text("-")
    text = f"{'>' if price.method == quantity.quickest else ''}{_short(price.mean)} ({_short(price.p80)})"
    if price.cost is not None:
        cheapest = "*" if price.method == quantity.cheapest else ""
        total, each = price.quoted
        text += f"\n{cheapest}{money(total)}"
        text += f"\n{money(each)} ea" if quantity.pieces > 1 else ""
    return Text(text, style="bold" if price.method == quantity.recommended else "")


def _changes(estimate: Estimate) -> list[Prose]:
    return [paragraph(line) for line in change_lines(estimate)]


def change_lines(estimate: Estimate) -> list[str]:
    """From which quantity another method is quicker, and from which cheaper, told together where it is the same one:
    sentences."""
    last = f"{estimate.searched_to:,} pieces"
    cheaper, lines = list(estimate.cheaper or ()), []
    for change in estimate.changes:
        word, also = "quicker", ""
        same = next((other for other in cheaper if other[1:] == change[1:]), None)
        if same is not None:
            cheaper.remove(same)
            if same.pieces == change.pieces:
                word = "quicker and cheaper"
            else:
                also = f", cheaper from {same.pieces:,}"
        lines.append(f"{_change(change, word)}{also}; {_name(change.below)} below that.")
    lines += [f"{_change(change, 'cheaper')}; {_name(change.below)} below that." for change in cheaper]
    best = (
        ("quickest", estimate.changes, estimate.prices.quickest),
        ("cheapest", estimate.cheaper, estimate.prices.cheapest),
    )
    for word, changes, method in best:
        if changes == []:
            told_of = f"{wording.the(method).capitalize()} is {word} at every" if method else "No method stands at any"
            line = f"{told_of} quantity from 1 to {last}."
            lines += [] if line in lines else [line]
    if estimate.cheaper is None:
        lines.append("The shop file gives no hourly rate, so what is cheaper is not known.")
    return [*lines, f"Every quantity from 1 to {last} was tried."]


def _change(change: Change, word: str) -> str:
    if None in (change.method, change.below):
        return f"From {change.pieces:,} pieces {_name(change.method)}"
    return f"{_name(change.method).capitalize()} is {word} from {change.pieces:,} pieces"


def _name(method: str | None) -> str:
    return wording.the(method) if method else "none that stands"


def _swings(estimate: Estimate) -> list[RenderableType]:
    if not estimate.swings:
        return [paragraph("Nothing that was moved changes it by 2 %, or changes the choice.")]
    table = headed(("", "left"), ("min", "right"), ("", "left"), ("", "left"), gap=1)
    for column in table.columns[:2]:
        column.no_wrap = True
    reaches = [swing.reach(estimate.total) for swing in estimate.swings]
    left = estimate.total - min(low for low, _ in reaches)
    right = max(high for _, high in reaches) - estimate.total
    for swing in estimate.swings:
        low, high = (end - estimate.total for end in swing.reach(estimate.total))
        table.add_row(
            bar(low=low, high=high, left=left, right=right),
            f"{_signed(low)} {_signed(high)}",
            "!" if swing.flips else "",
            _swing(swing, estimate.advice),
        )
    what = (
        wording.the(estimate.advice.winner.name)
        if estimate.advice.best
        else f"{wording.the(estimate.advice.ranked[0].name)}, the nearest"
    )
    foot = f"Each moved alone, of {wording.minutes(estimate.total)} for {what}. "
    foot += f"{estimate.left_out} others move it less and change no choice."
    if any(swing.flips for swing in estimate.swings):
        foot = f"! changes the choice. {foot}"
    return [indented(table), paragraph(foot)]


def _signed(minutes: float) -> str:
    """
    >>> _signed(0.2), _signed(-9.3), _signed(22.2)
    ('0', '-9', '+22')
    """
    return f"{minutes:+.0f}" if abs(minutes) >= 0.5 else "0"


def bar(*, low: float, high: float, left: float, right: float) -> str:
    """A bar from low to high about zero, where left and right are the longest to either side.

    >>> bar(low=-10.0, high=10.0, left=10.0, right=10.0)
    '██████████│█████████'
    """
    each = (BAR - 1) / (left + right) if left + right else 0.0
    middle = round(left * each)
    first, last = middle - round(-low * each), middle + round(high * each)
    cells = ["│" if place == middle else "█" if first <= place <= last else " " for place in range(BAR)]
    return "".join(cells)


def _swing(swing: Swing, advice: Advice) -> Text:
    tried = []
    for move in swing.moves:
        then = f" (then {_name(move.method)})" if move in swing.flips else ""
        tried.append(f"{_value(swing, move.value, advice)}{then}")
    taken = _value(swing, swing.value, advice)
    if swing.kind == "estimate":
        return Text(f"{_declared(swing, advice)[1].meaning}: {taken}; tried {', '.join(tried)}")
    if swing.kind == "rule":
        return Text(f"minutes added, {', '.join(tried)}: {wording.say(advice.rules.by_id[swing.name].because, advice)}")
    return Text(f"{swing.name.replace('_', ' ')} taken as {taken}; tried {', '.join(tried)}")


def _declared(swing: Swing, advice: Advice) -> tuple[str, Name]:
    names = advice.rules.names
    name = swing.name if swing.name in names else f"{swing.name}_likely"
    return name, names[name]


def _value(swing: Swing, value: Any, advice: Advice) -> str:
    if swing.kind == "rule":
        return f"its {value}"
    if swing.kind == "estimate":
        name, declared = _declared(swing, advice)
        if "/" in (declared.unit or ""):  # such as minutes for a square millimetre: nobody knows these by heart
            return "as it is" if value == swing.value else f"{wording.number(100 * value / swing.value, 0)} % of it"
        return wording.quantity(name, declared, value, units=advice.callout.units, currency=advice.shop.currency)
    if swing.name == "general_tolerance":
        return value if isinstance(value, str) else f"±{wording.length(value, advice.callout.units)}"
    return wording.assumption(Assumed(swing.name, value, ""), advice)[1]


# ------------------------------------------------------------------------------------------------ JSON and the sheet


def answer(estimate: Estimate) -> dict[str, Any]:
    """The whole estimate as plain data, numbers not rounded."""
    advice = estimate.advice
    return plain(
        {
            "radius": advice.callout.text,
            "shop": advice.shop.name,
            "currency": advice.shop.currency,
            "recommended": advice.recommended,
            "chosen_by": advice.by,
            "prices": _quantity_data(estimate.prices, advice),
            "quantities": [_quantity_data(quantity, None) for quantity in estimate.table],
            "break_evens": _change_data(estimate.changes),
            "break_evens_in_cost": None if estimate.cheaper is None else _change_data(estimate.cheaper),
            "searched_to_pieces": estimate.searched_to,
            "hangs_on": [_swing_data(swing, estimate.total, advice) for swing in estimate.swings],
            "hangs_on_left_out": estimate.left_out,
            "records": as_json.records(advice),
            "without_records": None if estimate.starting is None else _means(estimate.starting),
        }
    )


def _change_data(changes: Iterable[Change]) -> list[dict[str, Any]]:
    return [{"from_pieces": c.pieces, "method": c.method, "below": c.below} for c in changes]


def _means(advice: Advice) -> dict[str, float]:
    return {method.name: method.minutes["batch"]["mean"] for method in advice.ranked}


def _quantity_data(quantity: Quantity, advice: Advice | None) -> dict[str, Any]:
    return {
        "pieces": quantity.pieces,
        "recommended": quantity.recommended,
        "quickest": quantity.quickest,
        "cheapest": quantity.cheapest,
        "methods": {price.method: _price_data(price, advice) for price in quantity.prices},
    }


def _price_data(price: Price, advice: Advice | None) -> dict[str, Any]:
    reason, finding = None, price.finding
    if finding:
        reason = {"rule": finding.rule_id} | ({"because": wording.because(finding, advice)} if advice else {})
    return {
        "standing": price.standing,
        "ruled_out": reason,
        "minutes": {
            "tooling": {key: price.tooling[key] for key in ELEMENT_KEYS},
            "setup": {key: price.setup[key] for key in ELEMENT_KEYS},
            "each_arc": {key: price.piece[key] for key in ELEMENT_KEYS},
            "correcting": price.correcting,
            "misses": price.misses,
            "wear": price.wear,
            "batch": {"mean": price.mean, "p80": price.p80},
        },
        "risk_share": price.risk,
        "cost": price.cost,
        "cost_each": price.cost_each,
    }


def _swing_data(swing: Swing, total: float, advice: Advice) -> dict[str, Any]:
    unit = _declared(swing, advice)[1].unit if swing.kind == "estimate" else None
    moves = [{"value": move.value, "total_min": move.total, "method": move.method} for move in swing.moves]
    return {
        "kind": swing.kind,
        "name": swing.name,
        "value": swing.value,
        "unit": unit,
        "moved_min": swing.largest(total),
        "tried": moves,
        "flips": bool(swing.flips),
    }


def sheet_text(estimate: Estimate) -> str:
    """The quote sheet as CSV text; what a spreadsheet would take for a formula is written as text."""
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows([[as_cell(value) for value in row] for row in sheet(estimate)])
    return stream.getvalue()
