"""A whole list priced: rows of a customer's list in, the same rows with the answer out.

A list is read in blocks, which worker processes price side by side and the first process writes in order, so that
memory does not grow with the list. lists/files.py knows the three kinds of file; this module knows what stands in the
columns.
"""

from __future__ import annotations

import collections
import functools
import gc
import heapq
import math
import os
import signal
import threading
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy

from advisor.answer import column_advice, wording
from advisor.answer.advice import has_rate, rule_base
from advisor.asked import materials, trade_words
from advisor.asked import shop as shops
from advisor.asked.callout import KEYS, REQUIRED
from advisor.asked.sizes import feature
from advisor.asked.written import read_diameter
from advisor.engine.columns import decode
from advisor.ground.errors import CalloutError, InputError, ShopError, did_you_mean
from advisor.ground.folders import rule_tables
from advisor.ground.money import MOST_DECIMALS, each_of_many
from advisor.ground.units import show_length, shown
from advisor.language import expression
from advisor.lists import customer, listing
from advisor.lists.headings import columns_of, key_of, titles
from advisor.lists.listing import Coded, coded
from advisor.records.experience import drawn

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from concurrent.futures import Future
    from typing import Any

    from numpy.typing import NDArray

    from advisor.answer.column_advice import Answers
    from advisor.asked.shop import Shop
    from advisor.formulas.numeric import Array, Codes, Flags
    from advisor.formulas.numeric import Column as Numbers
    from advisor.lists.files import Encoder, Kind, Sink, Source
    from advisor.lists.headings import Cell, Column
    from advisor.lists.listing import Listed
    from advisor.records.job_records import Job

    Problem = InputError | str  # what is wrong with a line
    Results = dict[str, Numbers | Coded | list[str]]  # name of a result -> its column

    class Cells(Protocol):
        """Columns of cells by their place."""

        def __getitem__(self, place: int, /) -> list[Any]: ...


SERIAL_UP_TO = 20_000  # rows, about, that are priced before a second process would have started
MOST_WORKERS = 4
TIGHTEST = 5
MOST_FAILED = 2000  # rows without a price that are kept to be told one by one
STANDINGS = ("recommended", "usable", "ruled out", "")
SHARES = ("minutes", "p80_minutes", "cost", "in_tolerance")
PARTS = ("tooling_minutes", "setup_minutes", "pieces_minutes")
FIGURES = ("pieces", "minutes", "p80_minutes", *PARTS, "cost", "cost_each", "in_tolerance", "tolerance_mm")
AGAINST = ("against_method", "against_minutes", "against_cost", "saves_minutes", "saves_cost")
MONEY = ("cost", "cost_each", "against_cost", "saves_cost")
APART = " (priced)"
DECIMALS = {"in_tolerance": 4, "feed_mm_rev": 4, "passes": 0, "spindle_rpm": 1, "filing_rpm": 1}
DECIMALS |= {name: 3 for name in column_advice.SETUP if name.endswith("_mm")}  # all others have two
DECIMALS |= {"line": 0, "pieces": 0, "tolerance_mm": 4, "cost_each": MOST_DECIMALS}
NUMBERS = {"line", *FIGURES, *column_advice.SETUP, *AGAINST[1:]}


def method_names() -> list[str]:
    """Names of the methods, in the order of the rule base."""
    return [method["name"] for method in rule_base().methods]


def standing_columns() -> list[str]:
    """Names of the columns that tell the standing of each method."""
    return [name.replace(" ", "_") for name in method_names()]


def result_columns(*, against: bool) -> list[str]:
    """Names of the columns that a priced list has more than the list."""
    further = AGAINST if against else ()
    told = ["currency", "assumed", "close_call", *standing_columns(), "reason", "rule"]
    return ["line", "method", *FIGURES, *told, *column_advice.SETUP, *further, "error"]


@dataclass(frozen=True)
class Order:
    """What a list is to be priced with. shop, against: names or paths of shops, against may be None; defaults: name of
    a case file -> text, where a row says nothing; records: recorded jobs; label: name of the list in messages; row:
    what it calls a row; header: its column names; columns: what each means (headings.Column); carried: places of those
    that go into the priced list; currency: of the costs, None where rows may differ; by: "minutes" or "cost", what
    methods are chosen by; titled: names of the defaults that the rows above the heading say; decimal_commas: whether its
    sizes have commas for decimals; delimiter, newline: of a CSV list.
    """

    shop: str
    against: str | None
    defaults: dict[str, str]
    records: tuple[Job, ...]
    label: str
    row: str
    header: tuple[str, ...]
    columns: tuple[Column, ...]
    carried: tuple[int, ...]
    currency: str | None = None
    by: str = "minutes"
    titled: tuple[str, ...] = ()
    decimal_commas: bool = False
    delimiter: str = ","
    newline: str = "\n"

    @functools.cached_property
    def keys(self) -> dict[str, int]:
        """Name of a column, of callout.KEYS or headings.FURTHER -> its place; further quantities are "quantity 2" and so
        on."""
        found: dict[str, int] = {}
        for place, column in enumerate(self.columns):
            if column.name:
                many = sum(name.startswith(column.name) for name in found) if column.name == "quantity" else 0
                found[f"quantity {many + 1}" if many else column.name] = place
        return found

    @property
    def results(self) -> list[str]:
        """Headings of the columns that the priced list has more, with their currency."""
        return [self.heading(name) for name in result_columns(against=self.against is not None)]

    def heading(self, name: str) -> str:
        """The heading of a result, told apart from a column of the list that has the same."""
        name = f"{name}_{self.currency}" if name in MONEY and self.currency else name
        return f"{name}{APART}" if name in {str(self.header[place]).strip() for place in self.carried} else name


def order_for(
    source: Source,
    *,
    shop: str,
    against: str | None = None,
    defaults: Mapping[str, str] | Iterable[tuple[str, str]] = (),
    records: Iterable[Job] = (),
    delimiter: str | None = None,
    by: str = "minutes",
) -> Order:
    """The Order for a list that was opened; delimiter: of the priced list, the list's own if None. Raises InputError
    where the heading or a shop cannot be used.
    """
    defaults = dict(source.told.every_line) | dict(defaults)
    names = {column.name for column in columns_of(source.header, label=source.label, told=source.told)}
    titled = {
        key: said
        for key, said in titles(source.above).items()
        if key not in defaults and (key == "material" or key not in names)
    }
    defaults |= titled
    shop = defaults.pop("shop", None) or shop
    columns = tuple(columns_of(source.header, label=source.label, told=source.told, sample=source.sample))
    columns = _with_described_shape(columns, source.sample, defaults)
    carried = tuple(check_header(columns, label=source.label, defaults=defaults))
    columns = tuple(
        column
        if place in carried
        else column._replace(name="priced_for" if column.heading.removesuffix(APART) == "pieces" else None)
        for place, column in enumerate(columns)
    )  # nothing is read from the results of an earlier run, but for which of several quantities a row is
    currency = None
    if not any(column.name == "shop" for column in columns):
        currency = "".join(c for c in shops.read_shop(shop).currency or "" if c.isalnum() or not c.isascii()) or None
    return Order(
        shop=shop,
        against=against,
        defaults=defaults,
        records=tuple(records),
        label=source.label if source.label[:1].isalnum() else f"list {source.label}",  # no formula either
        row=source.row,
        header=source.header,
        columns=columns,
        carried=carried,
        currency=currency,
        by=by,
        titled=tuple(titled),
        decimal_commas=customer.has_decimal_commas(
            row[place]
            for place, column in enumerate(columns)
            if column.name in (*customer.LENGTHS, "radius", *customer.LIMITS)
            for row in source.sample
            if place < len(row)
        ),
        delimiter=delimiter or source.delimiter,
        newline=source.newline,
    )


def _with_described_shape(
    columns: tuple[Column, ...], sample: Sequence[Sequence[Cell]], defaults: Mapping[str, str]
) -> tuple[Column, ...]:
    """The columns, the shape read from what the parts are called where no column says it and most descriptions do."""
    if ({column.name for column in columns} | set(defaults)) & {"shape", "form", "location"}:
        return columns
    for place, column in enumerate(columns):
        cells = [row[place] for row in sample if place < len(row) and as_written(row[place]) is not None]
        if column.name or column.why or not cells:
            continue
        if sum(customer.described_shape(cell) is not None for cell in cells) * 2 >= len(cells):
            told = column._replace(name="shape", by="description")
            return (*columns[:place], told, *columns[place + 1 :])
    return columns


def _is_result(heading: str) -> bool:
    """Whether a heading is that of a result, with or without its currency."""
    heading = heading.removesuffix(APART)
    return heading in result_columns(against=True) or heading.rpartition("_")[0] in MONEY


def check_header(columns: Sequence[Column], *, label: str, defaults: Iterable[str] = ()) -> list[int]:
    """The heading of a list without results of an earlier run: places of the columns to carry. Raises CalloutError.

    columns: list of headings.Column.
    """
    where = f"{label}, heading"
    if not any(column.heading for column in columns):
        raise CalloutError(label, "", "is empty", "Give a list whose first line names its columns.")
    headings = [column.heading for column in columns]
    earlier = {"line", "method", "p80_minutes", "error"} <= {heading.removesuffix(APART) for heading in headings}
    carried = [
        place
        for place, heading in enumerate(headings)
        if not (earlier and _is_result(heading) and f"{heading}{APART}" not in headings)
    ]
    seen = set()
    for heading in (headings[place] for place in carried if headings[place]):
        if heading in seen:
            raise CalloutError(where, f'"{heading}"', "stands twice", "Rename or remove one of the two columns.")
        seen.add(heading)
    names = {columns[place].name for place in carried} - {None} | set(defaults)
    also = {"radius": ("radius_least", "radius_largest"), "diameter": ("diameter_least", "diameter_largest")}
    for key, fix in REQUIRED.items():
        if not names & {key, *also.get(key, ("shape",))}:
            hint = did_you_mean(key, [heading for heading in seen if heading not in KEYS])
            more = _how_to_say(key, [columns[place] for place in carried])
            raise CalloutError(where, f'"{key}"', "is a column that the list lacks", f"{hint}{fix}{more}")
    return carried


def _how_to_say(key: str, columns: Sequence[Column]) -> str:
    """How a user says what a list lacks: a column that may hold it, or one value for every line."""
    read = ", ".join(f'"{shown(column.heading, 40)}"' for column in columns if column.name)
    unread = [column.heading for column in columns if not column.name and column.heading]
    name, example = ("shape", "--shape fillet") if key in ("form", "location") else (key, f"--{key.replace('_', '-')}")
    words = f" Read were {read}." if read else ""
    if unread:
        words += f' Where "{shown(unread[0], 40)}" says it: --columns "{shown(unread[0], 40)}={name}".'
    if name == "shape":
        words += f" Where all lines are alike: {example}."
    return words


def misspelt(columns: Iterable[Column]) -> list[str]:
    """Columns that nothing is read from, but look like a name of a case file written wrong: list of sentences."""
    own = [column.heading for column in columns if column.name is None and not column.why]
    hints = [(name, did_you_mean(key_of(name), KEYS)) for name in own if name and len(name) > 3]
    return [f'The column "{name}" is carried through unread. {hint.strip()}' for name, hint in hints if hint]


def as_written(cell: Cell) -> str | float | None:
    """A cell as the readers of callouts take it: text, a number, or None where nothing is written."""
    if isinstance(cell, str):
        return cell if cell and not cell.isspace() else None
    if cell is None or isinstance(cell, bool):
        return None if cell is None else str(cell).lower()
    if isinstance(cell, (int, float)):
        return cell if math.isfinite(cell) else None
    return str(cell)


@dataclass
class Rows:
    """A block of a list as columns. numbers: of each row in the file; keyed: name of a column -> Coded; strays: row ->
    what is wrong with it as a row; blank: rows in which nothing at all is written; own: what the kind of file needs to
    carry the columns through; notes: rows that are no line to price but text, a total, or the heading once more.
    """

    numbers: Sequence[int]
    keyed: dict[str, Coded]
    strays: dict[int, str]
    blank: Flags
    own: Any
    notes: Flags

    @classmethod
    def of(cls, columns: Cells, numbers: Sequence[int], strays: Mapping[int, str], order: Order) -> Rows:
        """Rows of columns of cells, as the file has them."""
        keyed = {key: coded([as_written(cell) for cell in columns[place]], 0) for key, place in order.keys.items()}
        blank = numpy.ones(len(numbers), dtype=bool)
        for column in keyed.values():
            blank &= column.holds(lambda cell: cell is None)
        for row in numpy.flatnonzero(blank).tolist():
            blank[row] = row not in strays and all(as_written(columns[place][row]) is None for place in order.carried)
        notes = _notes(columns, keyed, blank, order)
        return cls(numbers, keyed, {row: why for row, why in strays.items() if not notes[row]}, blank, columns, notes)

    @property
    def away(self) -> Flags:
        """Rows that are no line to price: empty ones and notes [n]."""
        return self.blank | self.notes

    def take(self, rows: Codes) -> Rows:
        """The block with some of its rows, each as often as it is named."""
        own = self.own
        if hasattr(own, "schema"):
            own = own.take(list(rows))
        else:
            columns = own if isinstance(own, list) else [column.to_pylist() for column in own.table.columns]
            own = [[column[row] for row in rows] for column in columns]
        return Rows(
            [self.numbers[row] for row in rows],
            {name: column.take(rows) for name, column in self.keyed.items()},
            {line: self.strays[row] for line, row in enumerate(rows) if row in self.strays},
            self.blank[rows],
            own,
            self.notes[rows],
        )


SIZES = (
    "radius", "diameter", "radius_least", "radius_largest", "diameter_least", "diameter_largest", "form", "location", "shape"
)  # fmt: skip


def _notes(columns: Cells, keyed: Mapping[str, Coded], blank: Flags, order: Order) -> Flags:
    """Rows without any size or shape, in which something else is written that is no quantity, or is a total; and rows
    that repeat the heading."""
    notes = ~blank
    for name, column in keyed.items():
        if name in SIZES and order.columns[order.keys[name]].by != "description":
            notes &= column.holds(lambda cell: cell is None)
    for row in numpy.flatnonzero(notes).tolist():
        notes[row] = not any(
            column[row] is not None for name, column in keyed.items() if name.startswith("quantity")
        ) or any(is_footer(columns[place][row]) for place in order.carried)
    if "radius" in keyed:
        heading = str(order.header[order.keys["radius"]]).strip()
        again = keyed["radius"].holds(lambda cell: isinstance(cell, str) and cell.strip() == heading)
        notes |= again
    return notes


def is_footer(cell: Cell) -> bool:
    """Whether a cell begins a total or a footer."""
    if not isinstance(cell, str) or not 0 < len(cell) < 100:
        return False
    words = trade_words.bare(cell).split()
    return any(" ".join(words[:count]) in trade_words.listed("footers") for count in (1, 2, 3))


# ---- the tally


@dataclass
class Sum:
    """Lines, minutes and money of one method. money: currency -> Decimal, the sum of what the lines say, each rounded once;
    nothing where no rate is known. Currencies are never added.
    """

    lines: int = 0
    minutes: float = 0.0
    money: dict[str, Decimal] = field(default_factory=dict)

    def add(self, other: Sum) -> None:
        """Take in another sum."""
        self.lines += other.lines
        self.minutes += other.minutes
        for currency, amount in other.money.items():
            self.money[currency] = self.money.get(currency, Decimal(0)) + amount


def sum_of(minutes: Numbers, cost: Numbers, currency: NDArray[numpy.object_]) -> Sum:
    """The Sum of lines. minutes: as the lines say them; cost: rounded to hundredths, not a number where not known;
    currency: texts; all arrays."""
    known = numpy.isfinite(cost)
    sums = {code: added(cost[known & (currency == code)]) for code in sorted(set(currency[known].tolist()))}
    return Sum(len(minutes), float(numpy.nansum(minutes)), sums)


def added(costs: Numbers) -> Decimal:
    """Costs added up, each rounded to hundredths [Decimal]."""
    return Decimal(int(numpy.rint(costs * 100).astype(numpy.int64).sum())) / 100


def smallest_and_largest(numbers: Sequence[int] | Codes, pieces: Array, counted: Flags) -> tuple[Flags, Flags]:
    """Of several quantities one is ordered, so that they are never added: the rows that stand for each line at its smallest
    and at its largest quantity -> (truth values [n], truth values [n]).

    numbers: of the line that each row is of; pieces: its quantity; counted: rows that count at all [n].

    >>> smallest_and_largest([2, 3, 3, 3], numpy.array([5, 10, 50, 20]), numpy.array([True, True, True, True]))[1].tolist()
    [True, False, True, False]
    """
    numbers, rows = numpy.asarray(numbers), numpy.flatnonzero(counted)

    def taken(sign: int) -> Flags:
        order = rows[numpy.lexsort((sign * pieces[rows], numbers[rows]))]
        first = numpy.ones(len(order), dtype=bool)
        first[1:] = numbers[order][1:] != numbers[order][:-1]
        found = numpy.zeros(len(numbers), dtype=bool)
        found[order[first]] = True
        return found

    return taken(1), taken(-1)


def lines_among(numbers: Sequence[int] | Codes, rows: Flags) -> int:
    """How many different lines some rows are of. rows: truth values [n]."""
    return len(numpy.unique(numpy.asarray(numbers)[rows]))


class Failure(NamedTuple):
    """A row without a price: its number, the customer's own number or "", what is wrong, and the column or ""."""

    line: int
    item: str
    problem: str
    column: str


@dataclass
class Tally:
    """What there is to say of a priced list. by_method, by_method_largest: name -> Sum, each line at its smallest and at its
    largest quantity, since several quantities are alternatives and are never added; several: whether some line has
    more than one; tightest: (chance, line, radius, method), least
    chance first; unread, unmade: why -> [lines, first example], of rows that could not be read, and of callouts that no
    method makes; notes: rows that are text, totals or the heading again; failures: the first rows without a price, each a
    Failure; currencies: of the costs; here, there: Sums of the two shops over lines that both make, at their smallest
    quantities, and at their largest; only_here, only_there: how many only one makes; changed: lines that the other shop
    makes another way.
    """

    lines: int = 0
    priced: int = 0
    blank: int = 0
    by_method: dict[str, Sum] = field(default_factory=dict)
    by_method_largest: dict[str, Sum] = field(default_factory=dict)
    several: bool = False
    tightest: list[tuple[float, int, str, str]] = field(default_factory=list)
    unread: dict[str, list[Any]] = field(default_factory=dict)
    unmade: dict[str, list[Any]] = field(default_factory=dict)
    currencies: set[str] = field(default_factory=set)
    notes: int = 0
    failures: list[Failure] = field(default_factory=list)
    here: Sum = field(default_factory=Sum)
    there: Sum = field(default_factory=Sum)
    here_largest: Sum = field(default_factory=Sum)
    there_largest: Sum = field(default_factory=Sum)
    only_here: int = 0
    only_there: int = 0
    changed: int = 0

    @property
    def failed(self) -> int:
        """Rows without a price."""
        return self.lines - self.priced - self.blank - self.notes

    def add(self, other: Tally) -> None:
        """Take in the tally of the next block."""
        for name in ("lines", "priced", "blank", "notes", "only_here", "only_there", "changed"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for mine, theirs in (
            (self.by_method, other.by_method),
            (self.by_method_largest, other.by_method_largest),
        ):
            for name, one in theirs.items():
                mine.setdefault(name, Sum()).add(one)
        self.several |= other.several
        for name in ("here", "there", "here_largest", "there_largest"):
            getattr(self, name).add(getattr(other, name))
        self.tightest = heapq.nsmallest(TIGHTEST, self.tightest + other.tightest, key=lambda line: line[:2])
        for mine, theirs in ((self.unread, other.unread), (self.unmade, other.unmade)):
            for why, (count, example) in theirs.items():
                mine.setdefault(why, [0, example])[0] += count
        self.currencies |= other.currencies
        self.failures += other.failures[: max(MOST_FAILED - len(self.failures), 0)]


# ---- one shop


class Desk:
    """A shop with its rules, ready to price callouts. shop: its name, its path or the Shop itself; by: what methods are
    chosen by, which is minutes where the shop has no rate."""

    def __init__(self, shop: str | Shop, records: Sequence[Job], *, by: str = "minutes") -> None:
        self.shop = shops.read_shop(shop) if isinstance(shop, str) else shop
        self.by = by if has_rate(self.shop) else "minutes"
        starting = column_advice.rules_for(self.shop)
        found = drawn(records, shop=self.shop.name, constants=starting.base) if records else None
        self.rules = starting.revalued(found.factors) if found else starting
        self.reader = listing.Reader(
            inch_tolerances=self.shop.inch_tolerances, shop_units=shops.drawing_units(self.shop)
        )
        self.mentioned = column_advice.because_names(self.rules)

    def answers(
        self,
        given: Mapping[str, Array],
        rows: Codes,
        lathe_names: Callable[[Codes], Iterable[tuple[str | None, Codes]]],
        inch: Flags,
        *,
        told: bool = True,
    ) -> tuple[Codes, Answers | None, list[str], dict[int, InputError]]:
        """Answers for some rows of what was read: (rows in the order of the answers, Answers or None, reasons, errors).

        given: as listing.Listed.given; lathe_names: name -> rows that ask for this lathe, None for the rest. errors:
        row -> ShopError where no lathe takes the work; reasons: sentences, empty where not told.
        """
        errors, taken, answers, reasons = {}, [], [], []
        large, long = column_advice.swung_diameter(given), given["stickout"]
        for name, asked in lathe_names(rows):
            chosen = column_advice.lathes(self.shop, large[asked], name, stickout=long[asked])
            for row in asked[chosen < 0].tolist():
                errors[row] = self._no_lathe(float(large[row]), float(long[row]), name)
            for place, lathe in enumerate(self.shop.lathes):
                here = asked[chosen == place]
                if not len(here):
                    continue
                part = column_advice.givens(given, self.shop, lathe, None if len(here) == len(large) else here)
                start = 0
                for answer in column_advice.advise(
                    self.rules, part, rows=len(here), want=self.mentioned if told else (), by=self.by, workers=1
                ):
                    if told:
                        reasons += self.reasons(answer, inch[here[start : start + len(answer)]])
                    answer.values = {}
                    start += len(answer)
                    answers.append(answer)
                taken.append(here)
        if not taken:
            return numpy.zeros(0, dtype=int), None, [], errors
        return numpy.concatenate(taken), column_advice.together(answers), reasons, errors

    def _no_lathe(self, diameter: float, stickout: float, name: str | None) -> InputError:
        try:
            shops.choose_lathe(self.shop, largest_diameter=diameter, stickout=stickout, name=name)
        except InputError as problem:
            return problem.with_traceback(None)
        raise AssertionError("a lathe that takes the work was not chosen")

    # ---- reasons

    def reasons(self, answers: Answers, inch: Flags) -> list[str]:
        """The deciding reason of each callout as a sentence, as `explain.why` words it."""
        if answers.decided is None or answers.rival is None or answers.rule is None:
            raise ValueError("what decided was not asked for")
        found = numpy.full(len(answers), "", dtype=object)
        names = method_names()
        for kind in numpy.unique(answers.decided).tolist():
            of_kind = numpy.flatnonzero(answers.decided == kind)
            for place in numpy.unique(answers.rival[of_kind]).tolist():
                rows = of_kind[answers.rival[of_kind] == place]
                the = wording.the(names[place])
                if kind == column_advice.NEXT_BEST and self.by == "cost":
                    more = answers.cost[place, rows] - answers.of_best(answers.cost)[rows]
                    money = [f"{amount:,.2f} {self.shop.currency}".strip() for amount in more.tolist()]
                    found[rows] = [f"Next best is {the}, about {amount} dearer." for amount in money]
                    continue
                if kind == column_advice.NEXT_BEST:
                    more = answers.minutes[place, rows] - answers.of_best(answers.minutes)[rows]
                    found[rows] = [f"Next best is {the}, about {wording.minutes(m)} longer." for m in more.tolist()]
                    continue
                for number in numpy.unique(answers.rule[rows]).tolist():
                    out = rows[answers.rule[rows] == number]
                    found[out] = self._told(kind, the, number, answers.values, out, inch[out])
        return found.tolist()

    def _told(self, kind: int, the: str, number: int, values: Mapping[str, Any], rows: Codes, inch: Flags) -> list[str]:
        because = self.rules.rules[number].because if number >= 0 else "No rule says why."
        if kind == column_advice.RIVAL_OUT:
            better = "cheaper" if self.by == "cost" else "quicker"
            before = f"{the.capitalize()} would be {better} but will not do. "
        elif kind == column_advice.NO_METHOD:
            before = f"No method stands. Nearest is {the}. "
        else:
            before = f"Nothing else stands here; {the}, for one: "
            because = wording.lower(because)
        template = (before + because).replace("%", "%%")
        mentioned = expression.mentions(because)
        if not mentioned:
            return [before + because] * len(rows)
        order = []
        here = {name: values[name][rows] if _is_column(values[name]) else values[name] for name in mentioned}
        metric, inches = (wording.as_told(mentioned, here, self.rules.names, units) for units in ("mm", "inch"))
        for name in _in_order(because):
            template = template.replace("{" + name + "}", "%s", 1)
            rounded = metric[name] is not here[name] or inches[name] is not here[name]
            told = numpy.where(inch, inches[name], metric[name]) if rounded else here[name]
            order.append(self._shown(name, told, inch))
        return [template % texts for texts in zip(*order)]

    def _shown(self, name: str, value: Any, inch: Flags) -> list[str]:
        """A value of the rule base as text, for each row: one for all, or one each."""
        declared = self.rules.names[name]
        say = functools.partial(wording.quantity, name, declared, currency=self.shop.currency)
        if not _is_column(value):
            value = decode(self.rules, name, value).item() if declared.holds == "words" else value
            texts = [say(value, units="mm"), say(value, units="inch")]
            return [texts[i] for i in inch.tolist()]
        cells = decode(self.rules, name, value).tolist() if declared.holds == "words" else value.tolist()
        usual = declared.unit == "mm" and declared.holds == "number" and not wording.is_marked(name, declared)
        if usual and not (declared.told == "roughly" and inch.any()):
            return _lengths(value, inch)
        return [say(v, units="inch" if i else "mm") for v, i in zip(cells, inch.tolist())]


def _is_column(value: Any) -> bool:
    return isinstance(value, numpy.ndarray) and value.ndim > 0


def _in_order(text: str) -> list[str]:
    """Every mention of a name in a text, as often as it stands there."""
    return [part.partition("}")[0] for part in text.split("{")[1:]]


def _lengths(mm: Numbers, inch: Flags) -> list[str]:
    """As wording.length, for many: the usual ones the short way, the rest as that words them."""
    texts = numpy.empty(len(mm), dtype=object)
    usual = (mm >= 0.002) & (mm < 1e9)  # what is smaller takes more digits
    with numpy.errstate(all="ignore"):
        sixtyfourths = mm / 25.4 * 64
        far = (
            usual & inch & (numpy.abs(sixtyfourths - numpy.round(sixtyfourths)) > 1e-4)
        )  # of any fraction that is named
    near = usual & ~inch
    texts[near] = [f"{v:.3f}".rstrip("0").rstrip(".") + " mm" for v in mm[near].tolist()]
    texts[far] = [f"{v:.4f} in".removeprefix("0") for v in (mm[far] / 25.4).tolist()]
    for row in numpy.flatnonzero(~(near | far)).tolist():
        texts[row] = show_length(float(mm[row]), "inch" if inch[row] else "mm")
    return texts.tolist()


# ---- one block


class Answered(NamedTuple):
    """Lines and their answers. rows: Rows, one for each quantity; written: name of KEYS -> Coded; errors: line -> what is
    wrong; items: the customer's own numbers or None; done: _Done."""

    rows: Rows
    written: dict[str, Coded]
    errors: dict[int, Problem]
    items: Coded | None
    done: _Done


class Pricer:
    """Prices blocks of one list. Keeps every shop and every text that it has read."""

    def __init__(self, order: Order) -> None:
        self.order = order
        self.desks: dict[str, Desk] = {}
        self.customer = customer.Reader(order.columns, decimal_commas=order.decimal_commas)

    def desk(self, name: str) -> Desk:
        """The desk of a shop; raises ShopError where there is none."""
        if name not in self.desks:
            self.desks[name] = Desk(name, self.order.records, by=self.order.by)
        return self.desks[name]

    def lines(self, rows: Rows) -> tuple[Rows, dict[str, Coded], dict[int, Problem], Coded | None]:
        """Rows as lines to price, one for each quantity -> (Rows, name of KEYS -> Coded, errors by line, items)."""
        found = self.customer.lines(rows.keyed, len(rows.numbers))
        if found.rows is not None:
            rows = rows.take(found.rows)
        written, count = found.written, len(rows.numbers)
        for key, text in self.order.defaults.items():
            column = written.get(key)
            said = [text] if column is None else [text if cell is None else cell for cell in column.distinct]
            written[key] = Coded(numpy.zeros(count, dtype=numpy.int8) if column is None else column.codes, said)
        away = rows.away
        errors = {line: problem for line, problem in found.errors.items() if not away[line]}
        return rows, written, errors | rows.strays, found.item

    def answered(self, rows: Rows) -> Answered:
        """Rows with their answers -> Answered."""
        rows, written, errors, items = self.lines(rows)
        done = _Done(len(rows.numbers), self.order.against is not None)
        for name, members in self._by_shop(written.get("shop"), rows.away, errors):
            self._price_in(name, members, written, len(rows.numbers), done, errors)
        return Answered(rows, written, errors, items, done)

    def price(self, rows: Rows) -> tuple[Rows, Results, Tally]:
        """Rows priced -> (Rows, one for each quantity; name of a result column -> Coded texts, list of texts or array of
        numbers; Tally)."""
        rows, written, errors, items, done = self.answered(rows)
        told = {
            line: self.message(problem, rows.numbers[line], items and items[line]) for line, problem in errors.items()
        }
        return rows, self._results(done, told, rows), self._tally(done, errors, told, rows, written, items)

    def _by_shop(self, named: Coded | None, blank: Flags, errors: dict[int, Problem]) -> list[tuple[str, Codes]]:
        """Rows to price by shop: list of (name, rows). Rows whose shop cannot be read go into errors."""
        rows = numpy.flatnonzero(~blank)
        if errors:
            rows = rows[~numpy.isin(rows, list(errors))]
        if named is None:
            return [(self.order.shop, rows)]
        usable = []
        for code, name in enumerate(named.distinct):
            members = rows[named.codes[rows] == code]
            name = self.order.shop if name is None else str(name)
            try:
                self.desk(name)
            except InputError as problem:
                errors |= dict.fromkeys(members.tolist(), self._no_shop(name, problem))
            else:
                usable.append((name, members))
        return usable

    def _no_shop(self, name: str, problem: InputError) -> InputError:
        """The error of a row whose shop cannot be read. A list may come from anybody: nothing out of the file that it
        names is shown."""
        if problem.field == "shop":
            return problem
        if name == self.order.shop:
            what = f"{problem.field}: {problem.value} {problem.problem}".strip()
            return CalloutError("shop", "", what, problem.fix)
        fix = "Look at it with turn-radius check."
        return CalloutError("shop", shown(name), "is not a shop that can be read", fix)

    def _price_in(
        self, name: str, rows: Codes, written: Mapping[str, Coded], count: int, done: _Done, errors: dict[int, Problem]
    ) -> None:
        """Price some rows in one shop, and in the other one where there is one to compare with."""
        if not len(rows):
            return
        desk = self.desk(name)
        part = written if len(rows) == count else {key: column.take(rows) for key, column in written.items()}
        read = desk.reader.read(part, len(rows))
        for row, problem in read.errors.items():
            errors[int(rows[row])] = problem
        sound = read.sound
        ask = functools.partial(_by_lathe, part.get("lathe"))
        taken, answers, reasons, unswung = desk.answers(read.given, sound, ask, read.inch)
        for row, problem in unswung.items():
            errors[int(rows[row])] = problem
        if answers is not None:
            done.put(rows[taken], answers, reasons, desk)
            done.put_read(rows[taken], read.given, taken)
        done.assume(rows, part, read)
        if self.order.against is not None:
            other = self.desk(self.order.against)
            taken, answers, _, _ = other.answers(
                read.given, sound, functools.partial(_by_lathe, None), read.inch, told=False
            )
            if answers is not None:
                done.put_against(rows[taken], answers, other)

    def readings(self, rows: Rows) -> list[Reading]:
        """How Rows are read, without a price: list of Reading."""
        rows, written, errors, items = self.lines(rows)
        return self._readings(rows, written, errors, items)

    def read_again(self, answered: Answered) -> list[Reading]:
        """How the lines of an Answered were read: list of Reading."""
        return self._readings(answered.rows, answered.written, dict(answered.errors), answered.items)

    def _readings(
        self, rows: Rows, written: Mapping[str, Coded], errors: dict[int, Problem], items: Coded | None
    ) -> list[Reading]:
        found: dict[int, tuple[str, ...]] = {}
        for name, members in self._by_shop(written.get("shop"), rows.away, errors):
            part = {key: column.take(members) for key, column in written.items()}
            read = self.desk(name).reader.read(part, len(members))
            assumed = listing.assumed(part, read, len(members))
            for place, row in enumerate(members.tolist()):
                if place in read.errors:
                    errors[row] = read.errors[place]
                else:
                    found[row] = _reading(read, place, part, assumed[place])
        listed = []
        for row in numpy.flatnonzero(~rows.away).tolist():
            problem = errors.get(row)
            item = "" if items is None or items[row] is None else _plain(items[row])
            told = "" if problem is None else self.message(problem, "").partition(f"{self.order.row} ")[2].lstrip(", :")
            of_row = found.get(row) if problem is None else None
            asked = "" if problem is None else self._asked(problem)
            listed.append(Reading._make([int(rows.numbers[row]), item, told, *(of_row or ("",) * 7), asked]))
        return listed

    # ---- what comes out

    def _results(self, done: _Done, told: Mapping[int, str], rows: Rows) -> Results:
        names = [*method_names(), ""]
        made = done.best >= 0
        figures = {name: rounded(name, done.numbers[name]) for name in FIGURES}
        figures["pieces_minutes"] = rounded(
            "minutes", figures["minutes"] - figures["tooling_minutes"] - figures["setup_minutes"]
        )  # so that the parts add up as they stand
        results: Results = {
            "line": numpy.array(rows.numbers, dtype=float),
            "method": Coded(done.best % len(names), names),
            **figures,
        }
        known = made & numpy.isfinite(done.numbers["cost"])
        results["currency"] = coded(numpy.where(known, done.currency, "").tolist(), 0)
        results["assumed"] = done.assumed
        results["close_call"] = Coded(numpy.where(made, done.close_call.astype(numpy.int8), 2), ["no", "yes", ""])
        for place, column in enumerate(standing_columns()):
            results[column] = Coded(done.standing[place], list(STANDINGS))
        results["reason"], results["rule"] = done.reason.tolist(), coded(done.rule.tolist(), 0)
        for name in column_advice.SETUP:
            results[name] = rounded(name, done.setup[name])
        if done.against is not None:
            results["against_method"] = Coded(done.against % len(names), names)
            for name in AGAINST[1:]:
                results[name] = rounded(name, done.numbers[name])
        messages = [""] * len(rows.numbers)
        for row, text in told.items():
            messages[row] = text
        results["error"] = messages
        return results

    def _asked(self, problem: Problem) -> str:
        """What is wrong with a line, for the customer."""
        if not isinstance(problem, InputError):
            return str(problem)
        keys, header = self.order.keys, self.order.header
        told = []
        for one in problem.each:
            name = str(one.field)
            place = str(header[keys[name]]).strip() if name in keys else name.replace("_", " ")
            if isinstance(one, ShopError):
                told.append(asked_about("not_here"))
            elif one.value and _answers(name).get("alone"):
                told.append(f"{place}: {shown(one.value)}. {asked_about(name)}")
            else:
                told.append(f"{place}: {shown(one.value)} {one.problem}. {asked_about(name)}".replace(":  ", ": "))
        return " ".join(dict.fromkeys(told))

    def message(self, problem: Problem, line: int | str, item: Any = None) -> str:
        """An error as it stands in the list: file, row, the customer's own number, column, and what is wrong."""
        place = f"{self.order.label}, {self.order.row} {line}"
        if item is not None:
            place += f" (item {_plain(item)})"
        if not isinstance(problem, InputError):
            return f"{place}: {problem}"
        first, *others = problem.each
        if first.field in self.order.keys:
            column = str(self.order.header[self.order.keys[first.field]]).strip()
            place, first = f"{place}, column {column}", str(first).removeprefix(f"{first.field}: ")
        return " ".join([f"{place}: {first}", *map(str, others)])

    def _tally(
        self,
        done: _Done,
        errors: Mapping[int, Problem],
        told: Mapping[int, str],
        rows: Rows,
        written: Mapping[str, Coded],
        items: Coded | None,
    ) -> Tally:
        made, names = done.best >= 0, method_names()
        blank, notes = int(rows.blank.sum()), int(rows.notes.sum())
        tally = Tally(lines=len(made), priced=int(made.sum()), blank=blank, notes=notes)
        tally.currencies = done.currencies
        minutes, cost = (rounded(name, done.numbers[name]) for name in ("minutes", "cost"))
        both = smallest_and_largest(rows.numbers, done.numbers["pieces"], made)
        tally.several = bool((both[0] != both[1]).any())
        for taken, sums in zip(both, (tally.by_method, tally.by_method_largest), strict=True):
            for place, name in enumerate(names):
                of_method = taken & (done.best == place)
                if of_method.any():
                    sums[name] = sum_of(minutes[of_method], cost[of_method], done.currency[of_method])
        priced = numpy.flatnonzero(made)
        chance = done.numbers["in_tolerance"]
        for row in priced[numpy.argsort(chance[priced], kind="stable")[:TIGHTEST]].tolist():
            tally.tightest.append(
                (float(chance[row]), rows.numbers[row], str(written["radius"][row]), names[done.best[row]])
            )
        once = {told[row]: row for row in sorted(errors, reverse=True)}  # however many quantities the line has
        tally.lines -= len(errors) - len(once)
        errors = {row: errors[row] for row in sorted(once.values())}
        for row, problem in errors.items():
            why = str(problem.field) if isinstance(problem, InputError) else "row"
            tally.unread.setdefault(why, [0, None])[0] += 1
            tally.unread[why][1] = tally.unread[why][1] or told[row]
        unmade, rules = numpy.flatnonzero(~made & (done.rule != "")), done.rule
        for why, count in collections.Counter(rules[unmade].tolist()).items():
            row = unmade[numpy.argmax(rules[unmade] == why)]
            tally.unmade[why] = [count, f"{self.order.row} {rows.numbers[row]}: {done.reason[row]}"]
        failed = sorted([*errors, *unmade.tolist()])[:MOST_FAILED]
        tally.failures = [
            Failure(int(rows.numbers[row]), _plain(items[row]) if items and items[row] is not None else "",
                    told[row].partition(": ")[2] if row in told else done.reason[row], _column_of(told.get(row)))
            for row in failed
        ]  # fmt: skip
        if done.against is not None:
            self._compare(tally, done, done.against, rows.numbers)
        return tally

    @staticmethod
    def _compare(tally: Tally, done: _Done, against: Codes, numbers: Sequence[int]) -> None:
        here, there = done.best >= 0, against >= 0
        smallest, largest = smallest_and_largest(numbers, done.numbers["pieces"], here & there)
        (tally.here, tally.there), (tally.here_largest, tally.there_largest) = (
            [
                sum_of(rounded("", done.numbers[minutes][of]), rounded("", done.numbers[cost][of]), currency[of])
                for minutes, cost, currency in (
                    ("minutes", "cost", done.currency),
                    ("against_minutes", "against_cost", done.against_currency),
                )
            ]
            for of in (smallest, largest)
        )
        tally.only_here, tally.only_there = lines_among(numbers, here & ~there), lines_among(numbers, there & ~here)
        tally.changed = lines_among(numbers, here & there & (done.best != against))


def _answers(field: str) -> Mapping[str, Any]:
    of = rule_tables("customer_questions.toml")["answer"]
    return of.get(field, of["other"])


def asked_about(field: str) -> str:
    """The question to a customer about what he writes for a field, or about what cannot be made ("not_here")."""
    return _answers(field)["ask"]


def _plain(cell: Any) -> str:
    """A cell of others in a message."""
    return shown(str(cell).removesuffix(".0") if isinstance(cell, float) else cell, 40)


def _column_of(message: str | None) -> str:
    """The column that a message names, or ""."""
    return message.partition(", column ")[2].partition(": ")[0] if message else ""


def _by_lathe(named: Coded | None, rows: Codes) -> list[tuple[str | None, Codes]]:
    """Rows by the lathe that they ask for: list of (name or None, rows)."""
    if named is None:
        return [(None, rows)]
    return [(name, rows[named.codes[rows] == code]) for code, name in enumerate(named.distinct)]


def decimals(name: str) -> int:
    """Decimals of a column of numbers."""
    return DECIMALS.get(name, 2)


def rounded(name: str, values: Numbers) -> Numbers:
    """A column of numbers as it leaves: rounded, not a number where it is not known."""
    return numpy.round(numpy.where(numpy.isfinite(values), values, numpy.nan), decimals(name)) + 0.0  # never -0


_WRITTEN = listing.CODED["tolerance_source"].index("written")


class _Done:
    """The answers of a block, each at its row."""

    def __init__(self, count: int, against: bool) -> None:
        self.best = numpy.full(count, column_advice.NONE, dtype=numpy.int8)
        self.against: Codes | None = numpy.full(count, column_advice.NONE, dtype=numpy.int8) if against else None
        self.standing = numpy.full((len(method_names()), count), STANDINGS.index(""), dtype=numpy.int8)
        self.close_call = numpy.zeros(count, dtype=bool)
        self.numbers = {name: numpy.full(count, numpy.nan) for name in (*FIGURES, *(AGAINST[1:] if against else ()))}
        self.assumed = Coded(numpy.zeros(count, dtype=numpy.int32), [""])
        self.material = numpy.full(count, -1, dtype=numpy.int16)
        self.tolerance_open = numpy.zeros(count, dtype=bool)  # nobody states a tolerance
        self.setup = {name: numpy.full(count, numpy.nan) for name in column_advice.SETUP}
        self.reason, self.rule = numpy.full(count, "", dtype=object), numpy.full(count, "", dtype=object)
        self.currencies: set[str] = set()
        self.currency = numpy.full(count, "", dtype=object)
        self.against_currency = numpy.full(count, "", dtype=object)

    def put(self, rows: Codes, answers: Answers, reasons: Sequence[str], desk: Desk) -> None:
        self.best[rows] = answers.best
        ruled_out = ~numpy.isfinite(answers.measures)
        standing = numpy.where(ruled_out, 2, 1).astype(numpy.int8)
        made = numpy.flatnonzero(answers.best >= 0)
        standing[answers.best[made], made] = 0
        self.standing[:, rows] = standing
        self.close_call[rows] = answers.close_call
        shares = (answers.minutes, answers.p80, answers.cost, answers.chance, answers.tooling, answers.setup_minutes)
        for name, of_each in zip((*SHARES, *PARTS[:2]), shares, strict=True):
            self.numbers[name][rows] = answers.of_best(of_each)
        for name, values in answers.setup.items():
            self.setup[name][rows] = values
        self.reason[rows] = reasons
        ids = numpy.array([*(rule.id for rule in desk.rules.rules), ""], dtype=object)
        self.rule[rows] = ids[answers.rule]
        self.currencies.add(desk.shop.currency)
        self.currency[rows] = desk.shop.currency

    def put_read(self, rows: Codes, given: Mapping[str, Array], taken: Codes) -> None:
        """What was read of some rows: pieces and tolerance, and the cost of one piece."""
        made = self.best[rows] >= 0
        pieces = given["quantity"][taken]
        self.numbers["pieces"][rows] = pieces
        self.numbers["tolerance_mm"][rows] = given["tolerance"][taken]
        self.material[rows] = given["material"][taken]
        self.tolerance_open[rows] = given["tolerance_source"][taken] != _WRITTEN
        cost = numpy.where(made, rounded("cost", self.numbers["cost"][rows]), numpy.nan)
        self.numbers["cost_each"][rows] = each_of_many(cost, pieces)

    def assume(self, rows: Codes, written: Mapping[str, Coded], read: Listed) -> None:
        """What was assumed in some rows, as texts."""
        found = listing.assumed(written, read, len(rows))
        if len(rows) == len(self.best):
            self.assumed = found
            return
        codes, distinct = self.assumed.codes.copy(), list(self.assumed.distinct)
        codes[rows] = found.codes + len(distinct)
        self.assumed = Coded(codes, distinct + found.distinct)

    def put_against(self, rows: Codes, answers: Answers, desk: Desk) -> None:
        if self.against is not None:
            self.against[rows] = answers.best
        self.numbers["against_minutes"][rows] = answers.of_best(answers.minutes)
        self.numbers["against_cost"][rows] = answers.of_best(answers.cost)
        self.against_currency[rows] = desk.shop.currency
        numbers = {name: rounded(name, self.numbers[name][rows]) for name in ("minutes", "cost", *AGAINST[1:3])}
        self.numbers["saves_minutes"][rows] = numbers["minutes"] - numbers["against_minutes"]
        saves = numbers["cost"] - numbers["against_cost"]
        self.numbers["saves_cost"][rows] = numpy.where(self.currency[rows] == desk.shop.currency, saves, numpy.nan)


class Reading(NamedTuple):
    """How a line was read, as texts: its number, the customer's own, what is wrong with it (asked: in words for the
    customer, without what the user of the program is told); radius and its limits, shape,
    diameter, material, pieces, and what was assumed.
    """

    line: int
    item: str
    problem: str
    radius: str
    limits: str
    shape: str
    diameter: str
    material: str
    pieces: str
    assumed: str
    asked: str = ""


def _reading(read: Listed, place: int, written: Mapping[str, Coded], assumed: str) -> tuple[str, ...]:
    """The texts of one line that was read."""
    given, units = read.given, "inch" if read.inch[place] else "mm"
    size = functools.partial(show_length, units=units)
    low, high = (size(float(given[name][place])) for name in ("radius_low", "radius_high"))
    limits = f"{_bare(low)} to {high}"
    shape = feature(*(listing.CODED[name][given[name][place]] for name in ("location", "form")))
    diameter, cell = size(float(given["diameter"][place])), written["diameter"][place]
    if isinstance(cell, str):
        read_as = read_diameter(cell, field="diameter", default_unit="in" if units == "inch" else "mm")
        if read_as.low < read_as.high:
            fit = f"{read_as.fit}, " if read_as.fit else ""
            diameter = f"{_bare(diameter)} ({fit}{_bare(size(read_as.low))} to {_bare(size(read_as.high))})"
    material = list(materials.materials())[given["material"][place]]
    pieces = f"{given['quantity'][place]:,.0f}"
    if given["places"][place] > 1:
        pieces += f" x {given['places'][place]:.0f}"
    return _plain(written["radius"][place]), limits, shape, diameter, material, pieces, assumed


def _bare(length: str) -> str:
    """A length that was shown, without its unit and fraction."""
    return length.partition(" ")[0]


@dataclass
class Readings:
    """How a list is read. lines: the first ones, as Readings; count: of all lines; failed: lines that cannot be read;
    notes: numbers of the rows that are text, totals or the heading again; blank: empty rows."""

    lines: list[Reading]
    count: int = 0
    failed: int = 0
    notes: list[int] = field(default_factory=list)
    blank: int = 0


def read_list(source: Source, order: Order, *, most: int = 1000) -> Readings:
    """How a list is read, line by line, without a price -> Readings. most: lines that are kept to be shown; of the rest
    those are kept that cannot be read."""
    pricer, found = Pricer(order), Readings([])
    for block in source.blocks():
        rows = source.kind.rows(block, order)
        found.blank += int(rows.blank.sum())
        found.notes += [int(rows.numbers[row]) for row in numpy.flatnonzero(rows.notes).tolist()]
        before: Reading | None = None
        for line in pricer.readings(rows):
            again = before is not None and before.line == line.line
            if before and again and line.problem and line.problem == before.problem:
                continue  # it cannot be read, whatever its quantity
            before = line
            found.count += not again
            found.failed += bool(line.problem) and not again
            if len(found.lines) < (most if not line.problem else 2 * most):
                found.lines.append(line)
    return found


# ---- the whole list


def price_list(
    source: Source,
    target: Sink,
    order: Order,
    *,
    progress: Callable[[int], object] = lambda done: None,
    workers: int | None = None,
) -> Tally:
    """Price a list -> Tally.

    source, target: from lists/files.py, opened; order: Order; progress: called with how much of the source was read;
    workers: processes, as many as the machine has and the list is worth if None.
    """
    pricer = Pricer(order)
    for name in dict.fromkeys((order.shop, order.against)):
        if name is not None:
            pricer.desk(name)  # a shop that cannot be read is told before anything is written
    tally = Tally()
    if workers is None:
        worth = source.about_rows is None or source.about_rows > SERIAL_UP_TO
        workers = min(os.cpu_count() or 1, MOST_WORKERS) if worth else 1
    price = functools.partial(_price_block, source.kind, target.kind)
    for done, part in _in_turn(price, source.blocks(), order, workers, pricer):
        target.write(done)
        tally.add(part)
        progress(source.done)
    return tally


def _in_turn(
    price: Callable[..., tuple[Any, Tally]], blocks: Iterable[Any], order: Order, workers: int, pricer: Pricer
) -> Iterator[tuple[Any, Tally]]:
    """The priced blocks in order. A list of one block is priced here, longer ones by worker processes."""
    blocks = iter(blocks)
    first = list(_up_to(blocks, 2))
    if workers < 2 or len(first) < 2:
        for block in first:
            yield price(block, pricer)
        for block in blocks:
            yield price(block, pricer)
        return
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_start_worker, initargs=(order,))
    waiting: collections.deque[Future[tuple[Any, Tally]]] = collections.deque()
    try:
        for block in (*first, *blocks):
            waiting.append(pool.submit(price, block))
            if len(waiting) > workers + 1:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    except BrokenProcessPool:
        raise CalloutError(
            "batch", "", "lost one of its processes", "Close other programs, or price the list in parts."
        ) from None
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _up_to(blocks: Iterator[Any], count: int) -> Iterator[Any]:
    for _ in range(count):
        try:
            yield next(blocks)
        except StopIteration:
            return


_pricer: Pricer | None = None  # of this worker process


def _start_worker(order: Order) -> None:
    global _pricer
    threading.Thread(target=_end_with_the_first, daemon=True).start()
    for name in ("SIGINT", "SIGHUP"):  # the first process is told, and ends the others
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    gc.disable()  # looking for cycles among millions of short texts takes time and finds none
    _pricer = Pricer(order)


def _end_with_the_first() -> None:
    """End this process when the first one has gone, killed perhaps: nobody else would."""
    import multiprocessing

    if first := multiprocessing.parent_process():
        first.join()
    os._exit(1)


def _price_block(
    source_kind: Kind, target_kind: Encoder, block: Any, pricer: Pricer | None = None
) -> tuple[Any, Tally]:
    """One block priced: (what the target writes, Tally)."""
    pricer = pricer or _pricer
    if pricer is None:
        raise ValueError("no worker was started")
    rows, results, tally = pricer.price(source_kind.rows(block, pricer.order))
    return target_kind.encoded(rows, results, pricer.order), tally
