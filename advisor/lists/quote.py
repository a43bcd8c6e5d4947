"""A customer's list as a quote: prices by line and quantity, what was assumed, and what to ask, by the money that hangs on it.

Money is Decimal: the sum of each line is rounded once, and everything else is divided and added from that.
"""

from __future__ import annotations

import dataclasses
import datetime
import re
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

import numpy

from advisor.asked import materials, trade_words
from advisor.ground.errors import CalloutError
from advisor.ground.folders import rule_tables
from advisor.ground.money import each_of, rounded_once
from advisor.ground.units import shown
from advisor.lists import files, pricing

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from advisor.asked.shop import Shop
    from advisor.formulas.numeric import Array, Flags
    from advisor.lists.files import Source

MOST_LINES = 20_000
LONGEST_WORDS = 80  # of a customer's name or a number of a quote


class Price(NamedTuple):
    """One line at one quantity: pieces, the price of one piece and of all [Decimal]."""

    pieces: int
    each: Decimal
    total: Decimal


class Line(NamedTuple):
    """A line of the list. reading: batch.Reading of its first quantity; prices: by quantity, ascending; problem: why
    there is none, or ""; asked: the same in words for the customer; part: what the customer calls it beside its number;
    material: the customer's own word for it.
    """

    reading: pricing.Reading
    prices: tuple[Price, ...]
    problem: str
    asked: str
    part: str
    material: str


class Try(NamedTuple):
    """What another answer comes to. value: as a case file writes it; total: of the lines asked about that can be made
    then; same: what those come to as they are taken [Decimal]; unmade: how many could not be made."""

    value: str
    total: Decimal
    same: Decimal
    unmade: int


class Question(NamedTuple):
    """Something to ask. key: of [open] in rules/customer_questions.toml; ask, taken: sentences; lines: numbers of the lines; total: as they are
    taken [Decimal]; tries: list of Try."""

    key: str
    ask: str
    taken: str
    lines: tuple[int, ...]
    total: Decimal
    tries: list[Try]

    @property
    def hangs(self) -> Decimal:
        """The most that the answer can change [Decimal]."""
        return max(abs(one.total - one.same) for one in self.tries)


class Remark(NamedTuple):
    """Something in the list that is not read. line: its number; item: the customer's own or ""; heading: of its column, ""
    for a row of text; text."""

    line: int
    item: str
    heading: str
    text: str


class Letterhead(NamedTuple):
    """What stands above a quote beside the shop and the list. day: of the quote; customer, number, valid: as texts, "" for a
    blank to fill in."""

    day: datetime.date
    customer: str = ""
    number: str = ""
    valid: str = ""


def read_letterhead(
    *, day: datetime.date, customer: str | None = None, number: str | None = None, valid: str | None = None
) -> Letterhead:
    """The Letterhead of what somebody gives, None for what he leaves to be filled in. day: datetime.date; valid: the last day,
    or a number of days from `day`. Raises CalloutError.

    >>> read_letterhead(day=datetime.date(2024, 5, 31), number="Q 17", valid="30 days").valid
    '2024-06-30'
    """
    return Letterhead(day, _one_line(customer, "for"), _one_line(number, "number"), _last_day(valid, day))


def _one_line(text: str | None, option: str) -> str:
    told = shown(text or "", LONGEST_WORDS + 1).strip()
    if text is not None and not 0 < len(told) <= LONGEST_WORDS:
        problem = "is empty" if not told else "is too long"
        raise CalloutError(f"--{option}", told, problem, f"Give one line of at most {LONGEST_WORDS} characters.")
    return told


def _last_day(text: str | None, day: datetime.date) -> str:
    if text is None:
        return ""
    days = re.fullmatch(r"(\d{1,4})(?: *days?)?", text.strip())
    try:
        last = day + datetime.timedelta(int(days[1])) if days else datetime.date.fromisoformat(text.strip())
    except (ValueError, OverflowError):
        last = None
    if last is None or last < day:
        problem = "is not a day" if last is None else f"lies before {day.isoformat()}, the day of the quote"
        fix = (
            f"Give a day from then on, such as {day + datetime.timedelta(30)}, or a number of days, such as '30 days'."
        )
        raise CalloutError("--valid", shown(text), problem, fix)
    return last.isoformat()


class Quote(NamedTuple):
    """All of a quote. label: of the list; shop: batch's shop; currency; lines: list of Line; questions: most money first;
    smallest, largest: sums of all lines at their smallest and largest quantity [Decimal]; assumed: words -> numbers of
    the lines; row: what the list calls a row; remarks: list of Remark.
    """

    label: str
    shop: str
    currency: str
    lines: list[Line]
    questions: list[Question]
    smallest: Decimal
    largest: Decimal
    assumed: dict[str, list[int]]
    row: str
    remarks: list[Remark]


def price_of(cost: float, pieces: int) -> Price:
    """The Price of a batch. cost: of all pieces [money]; pieces.

    The sum is what the estimate of the batch comes to, rounded once; pieces times the price of one is that to the hundredth.

    >>> price_of(58.0669, 12)
    Price(pieces=12, each=Decimal('4.839'), total=Decimal('58.07'))
    """
    total = rounded_once(cost)
    return Price(pieces, each_of(total, pieces), total)


class Book:
    """A list kept in memory, to be priced again with something changed."""

    def __init__(self, source: Source, order: pricing.Order) -> None:
        self.order = order
        self.blocks = []
        count = 0
        for block in source.blocks():
            rows = source.kind.rows(block, order)
            count += len(rows.numbers)
            if count > MOST_LINES:
                fix = "Give a part of it, or price it with batch."
                raise CalloutError(order.label, "", f"has more than {MOST_LINES:,} rows, too many for this", fix)
            self.blocks.append(rows)

    def priced(self, *, shop: Shop | None = None, **defaults: str) -> Priced:
        """Every line priced -> Priced. shop: another than the order's, its name or itself; defaults: name of a case file ->
        text, where a row says nothing."""
        order = dataclasses.replace(self.order, against=None, defaults=self.order.defaults | defaults)
        pricer = pricing.Pricer(order)
        if shop is not None:
            pricer.desks[order.shop] = pricing.Desk(shop, order.records, by=order.by)
        else:
            pricer.desk(order.shop)
        return Priced(pricer, [pricer.answered(rows) for rows in self.blocks])


class Priced:
    """The lines of a Book with their prices. Arrays over all lines: made, minutes, cost, pieces, number (of the row), best
    (method)."""

    def __init__(self, pricer: pricing.Pricer, answered: Sequence[pricing.Answered]) -> None:
        self.pricer, self.answered = pricer, answered
        self.minutes, self.cost, self.pieces = (
            _joined(one.done.numbers[name] for one in answered) for name in ("minutes", "cost", "pieces")
        )
        self.best = _joined(one.done.best for one in answered)
        self.made = self.best >= 0
        self.number = _joined(numpy.asarray(one.rows.numbers) for one in answered)
        self.away = _joined(one.rows.away for one in answered)
        self.material = _joined(one.done.material for one in answered)
        self.tolerance_open = _joined(one.done.tolerance_open for one in answered)

    def blank(self, key: str) -> Flags:
        """Lines that say nothing of a key [n]."""
        parts = []
        for one in self.answered:
            column = one.written.get(key)
            parts.append(
                numpy.ones(len(one.rows.numbers), dtype=bool)
                if column is None
                else column.holds(lambda cell: cell is None)
            )
        return _joined(parts)

    def totals(self) -> NDArray[numpy.int64]:
        """The total of each line as it is quoted, in hundredths; 0 where there is none [n]."""
        found = [
            int(price_of(cost, int(pieces)).total * 100) if made and cost == cost else 0
            for cost, pieces, made in zip(self.cost.tolist(), self.pieces.tolist(), self.made.tolist(), strict=True)
        ]
        return numpy.array(found, dtype=numpy.int64)


def _joined(parts: Iterable[Array]) -> Array:
    return numpy.concatenate(list(parts))


def quote(source: Source, order: pricing.Order) -> Quote:
    """The Quote for a list that was opened. Raises InputError where the shop states no hourly rate, or the rows name shops
    with several currencies."""
    book = Book(source, order)
    priced = book.priced()
    currencies = {code for one in priced.answered for code in set(one.done.currency[one.done.best >= 0].tolist())}
    if len(currencies) > 1:
        listed = ", ".join(sorted(currencies))
        raise CalloutError(order.label, "", f"is priced in several currencies ({listed})", "Quote each shop by itself.")
    if priced.made.any() and not numpy.isfinite(priced.cost[priced.made]).all():
        fix = "Give it an hourly_rate and a currency, or price the list with batch."
        raise CalloutError("shop", order.shop, "states no hourly rate, so there is nothing to quote", fix)
    lines, assumed = _lines(priced, order)
    quoted = [line.prices for line in lines if line.prices]
    return Quote(
        label=order.label,
        shop=priced.pricer.desk(order.shop).shop.name,
        currency=next(iter(currencies), ""),
        lines=lines,
        questions=questions(book, priced),
        smallest=sum((prices[0].total for prices in quoted), Decimal(0)),
        largest=sum((prices[-1].total for prices in quoted), Decimal(0)),
        assumed=assumed,
        row=order.row,
        remarks=remarks(priced, order),
    )


def remarks(priced: Priced, order: pricing.Order) -> list[Remark]:
    """What stands in the list and is not read: cells of columns without a meaning, but for what a part is called, and rows
    of text that are no total and no heading -> list of Remark."""
    found: dict[tuple[int, int | str], Remark] = {}
    columns = [order.columns[place] for place in order.carried]
    unread = [
        place
        for place, column in enumerate(columns)
        if not column.name
        and not column.why
        and trade_words.bare(column.heading) not in trade_words.listed("described")
    ]
    for one in priced.answered:
        cells = files.carried(one.rows, order)
        for row, number in enumerate(one.rows.numbers):
            number, item = int(number), "" if one.items is None else shown(one.items[row] or "", 40)
            if one.rows.notes[row]:
                written = [pricing.as_written(column[row]) for column in cells]
                text = " ".join(shown(cell, 200) for cell in written if cell is not None)
                again = any(
                    shown(cell or "") == column.heading for cell, column in zip(written, columns) if column.name
                )
                if not again and not any(map(pricing.is_footer, written)):
                    found[number, ""] = Remark(number, "", "", text)
                continue
            for place in unread if not one.rows.blank[row] else ():
                cell, heading = pricing.as_written(cells[place][row]), columns[place].heading
                if cell is not None:
                    found[number, place] = Remark(number, item, shown(heading, 40), shown(cell, 200))
    return list(found.values())


def _parts(one: pricing.Answered, order: pricing.Order) -> list[str]:
    """What the customer calls the part of each row beside its number: drawing and description, as texts."""
    columns = [order.columns[place] for place in order.carried]
    cells = [
        column
        for told, column in zip(columns, files.carried(one.rows, order), strict=True)
        if told.by == "description"
        or not told.name
        and (trade_words.bare(told.heading) in trade_words.listed("described") or "item" in told_names(told.heading))
    ]
    written = [[pricing.as_written(cell) for cell in row] for row in zip(*cells)]
    return [", ".join(shown(cell, 60) for cell in row if cell is not None) for row in written] or [""] * len(
        one.rows.numbers
    )


def told_names(heading: str) -> Sequence[str]:
    """The names that a heading may mean."""
    return trade_words.meaning(heading)[0]


def _lines(priced: Priced, order: pricing.Order) -> tuple[list[Line], dict[str, list[int]]]:
    """The lines of a list with their prices, and what was assumed -> (list of Line, words -> numbers)."""
    found: dict[int, Line] = {}
    assumed: dict[str, list[int]] = {}
    for one, rows in zip(priced.answered, (one.rows for one in priced.answered), strict=True):
        readings, parts, own = iter(priced.pricer.read_again(one)), _parts(one, order), one.rows.keyed.get("material")
        for place in numpy.flatnonzero(~one.rows.away).tolist():
            reading, number = next(readings), int(rows.numbers[place])
            prices, problem, asked = [], reading.problem, reading.asked
            if one.done.best[place] >= 0:
                prices = [price_of(one.done.numbers["cost"][place], int(one.done.numbers["pieces"][place]))]
            elif not problem:
                problem, asked = str(one.done.reason[place]), pricing.asked_about("not_here")
            if reading.assumed and not reading.problem:
                numbers = assumed.setdefault(reading.assumed, [])
                if number not in numbers:
                    numbers.append(number)
            before = found.get(number)
            if before is not None:
                prices = sorted([*before.prices, *prices])
                problem, asked = before.problem or problem, before.asked or asked
                reading = before.reading
            word = "" if own is None or own[place] is None else shown(own[place], 40)
            found[number] = Line(reading, tuple(prices), problem, asked, parts[place], word)
    return list(found.values()), assumed


def questions(book: Book, priced: Priced) -> list[Question]:
    """What to ask the customer, most money first: list of Question."""
    table, totals, found = rule_tables("customer_questions.toml")["open"], priced.totals(), []
    names = list(materials.materials())
    for key, entry in table.items():
        asked = priced.made & (priced.tolerance_open if key == "general_tolerance" else True) & priced.blank(key)
        if entry.get("materials"):
            asked &= numpy.isin(priced.material, [names.index(name) for name in entry["materials"]])
        if key in book.order.defaults or not asked.any():
            continue
        tries = []
        for value in entry["tries"]:
            other = book.priced(**{key: value})
            both = asked & other.made
            if both.any():
                then = other.totals()
                tries.append(Try(value, _money(then[both]), _money(totals[both]), int((asked & ~other.made).sum())))
        if tries:
            numbers = tuple(dict.fromkeys(priced.number[asked].tolist()))
            found.append(Question(key, entry["ask"], entry["taken"], numbers, _money(totals[asked]), tries))
    return sorted(found, key=lambda question: -question.hangs)


def _money(hundredths: NDArray[numpy.int64]) -> Decimal:
    return Decimal(int(hundredths.sum())) / 100
