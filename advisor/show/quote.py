"""A quote as a workbook and as a page, and its summary on the terminal. cli.py writes them."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.ground.units import shown
from advisor.lists import listing
from advisor.lists.files import DATED, library
from advisor.show import typeset
from advisor.show.blocks import head, paragraph
from advisor.show.sheet_pages import literal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from decimal import Decimal
    from typing import Any

    from rich.console import RenderableType
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

    from advisor.lists.quote import Letterhead, Line, Price, Question, Quote, Remark

ENDINGS = ("xlsx", "pdf")
SCOPE = (
    "The prices are for turning the radius alone: setting up, the tools made for it and their stock, and the pieces, at the "
    "shop's hourly rate. The material of the parts, other work on them, delivery and profit are not in them."
)
SHEETS = ("Quote", "Questions", "Assumed")
NUMBERS = ("Row", "Line", "Pieces", "Each", "Total")
SHEET_WIDTHS = {
    "Item": 10, "Part": 24, "Radius": 14, "Limits": 20, "Shape": 15, "Diameter": 24, "Material": 30, "Pieces": 8, "Each": 11, "Total": 13,
}  # fmt: skip
WIDTHS = {
    "Part": 14,
    "Radius": 11,
    "Limits": 13,
    "Shape": 12,
    "Diameter": 19,
    "Material": 14,
}  # shares of the page's width
REMARKS = "Does this change the price?"
MOST_REMARKS = 200  # that are listed on the page
MOST_LISTED = 40  # numbers of lines that are listed with a question


def rendered(quote: Quote, ending: str, *, every_line: Sequence[str], above: Letterhead) -> list[bytes]:
    """The quote as bytes. ending: of ENDINGS; every_line: sentences, what holds for every line; above: quote.Letterhead."""
    return workbook(quote, every_line, above) if ending == "xlsx" else page(quote, every_line, above)


def letterhead(quote: Quote, above: Letterhead) -> list[tuple[str, str]]:
    """What stands above the lines: list of (word, what is filled in, "" for a blank)."""
    return [
        ("From", quote.shop), ("To", above.customer), ("Date", above.day.isoformat()), ("Number", above.number),
        ("Valid until", above.valid),
        ("Your list", shown(quote.label, 80)),
    ]  # fmt: skip


def _assumed(quote: Quote) -> dict[str, list[int]]:
    """What was assumed of the work, without how the shop goes about it: words -> lines."""
    own = {listing.ASSUMED[key] for key in ("stickout", "support", "skill")}
    found: dict[str, list[int]] = {}
    for words, lines in quote.assumed.items():
        left = "; ".join(word for word in words.split("; ") if word not in own)
        if left:
            found.setdefault(left, []).extend(lines)
    return found


COLUMNS = ("Item", "Part", "Radius", "Limits", "Shape", "Diameter", "Material")


def _heads(quote: Quote) -> tuple[list[str], int]:
    """Headings of the columns in which something stands, and the most quantities of a line."""
    widest = max((len(line.prices) for line in quote.lines), default=0)
    cells = [_all_cells(line) for line in quote.lines]
    heads = [quote.row.capitalize(), *(name for name in COLUMNS if any(one[name] for one in cells))]
    for number in range(1, widest + 1):
        of = f" {number}" if widest > 1 else ""
        heads += [f"Pieces{of}", f"Each{of} [{quote.currency}]", f"Total{of} [{quote.currency}]"]
    return heads, widest


def _all_cells(line: Line) -> dict[str, Any]:
    reading = line.reading
    ours = reading.material
    material = (
        f"{line.material} ({ours})" if line.material and ours and line.material != ours else line.material or ours
    )
    texts = (reading.item, line.part, reading.radius, reading.limits, reading.shape, reading.diameter, material)
    return dict(zip(COLUMNS, texts, strict=True))


def _cells(line: Line, heads: Sequence[str]) -> list[Any]:
    cells = _all_cells(line)
    return [line.reading.line, *(cells[name] for name in heads if name in cells)]


def _numbers(lines: Sequence[int], row: str) -> str:
    """Lines as words.

    >>> _numbers((3,), "row"), _numbers((3, 5), "line")
    ('row 3', 'lines 3, 5')
    """
    listed = ", ".join(map(str, lines[:MOST_LISTED])) + (", …" if len(lines) > MOST_LISTED else "")
    return f"{row}{'s' * (len(lines) > 1)} {listed}"


def _count(lines: Sequence[Any], row: str) -> str:
    return f"{len(lines):,} {row}{'s' * (len(lines) != 1)}"


def money(amount: Decimal, currency: str) -> str:
    """An amount of money as it is written.

    >>> from decimal import Decimal
    >>> money(Decimal("1234.5"), "EUR")
    '1,234.50 EUR'
    """
    return f"{amount:,.2f} {currency}".strip()


def asked(question: Question, quote: Quote) -> str:
    """A question in a sentence: how many lines, what is taken, and what other answers come to."""
    tried = []
    for one in question.tries:
        told = f"as {one.value} {money(one.total, quote.currency)}"
        if one.same != question.total:
            told += f" (instead of {money(one.same, quote.currency)})"
        if one.unmade:
            told += f", {one.unmade} cannot be made then"
        tried.append(told)
    taken = f"{question.taken} is taken, {money(question.total, quote.currency)}"
    return f"{_count(question.lines, quote.row)} do not say: {taken}; {'; '.join(tried)}.".replace(
        "1 line do", "1 line does"
    ).replace("1 row do", "1 row does")


# ---- the workbook


def workbook(quote: Quote, every_line: Sequence[str], above: Letterhead) -> list[bytes]:
    """The quote as an XLSX file, in bytes: numbers as numbers, sums as formulas with their values."""
    xlsxwriter = library("xlsxwriter", "XLSX")
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    book.set_properties({"created": DATED})
    forms = {
        "bold": book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1}),
        "money": book.add_format({"num_format": "#,##0.00"}),
        "each": book.add_format({"num_format": "#,##0.00########"}),
        "sum": book.add_format({"num_format": "#,##0.00", "bold": True, "top": 1}),
        "title": book.add_format({"bold": True, "font_size": 14}),
        "wrap": book.add_format({"text_wrap": True, "valign": "top"}),
    }
    _priced_sheet(book.add_worksheet(SHEETS[0]), quote, forms, above)
    _questions_sheet(book.add_worksheet(SHEETS[1]), quote, forms)
    sheet = book.add_worksheet(SHEETS[2])
    sheet.set_column(0, 0, 70, forms["wrap"])
    sheet.set_column(1, 1, 40, forms["wrap"])
    sheet.write_row(0, 0, ["Assumed", "Where"], forms["bold"])
    rows = [(SCOPE, "all"), *((words, "every line") for words in every_line)]
    rows += [(words, _numbers(tuple(lines), quote.row)) for words, lines in _assumed(quote).items()]
    for place, (words, where) in enumerate(rows, start=1):
        sheet.write_string(place, 0, words)
        sheet.write_string(place, 1, where)
    book.close()
    return [stream.getvalue()]


def _priced_sheet(sheet: Worksheet, quote: Quote, forms: Mapping[str, Format], above: Letterhead) -> None:
    heads, widest = _heads(quote)
    sheet.write_string(0, 0, "Quotation", forms["title"])
    top = [*letterhead(quote, above), ("", "")]
    for place, (word, filled) in enumerate(top, start=1):
        sheet.write_string(place, 0, word)
        sheet.write_string(place, 2, filled)
    row = len(top) + 1
    sheet.write_row(row, 0, heads, forms["bold"])
    sheet.freeze_panes(row + 1, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    for column, name in enumerate([*heads, ""]):
        sheet.set_column(column, column, SHEET_WIDTHS.get(name.split()[0] if name else "", 10 if name else 60))
    if any(line.problem and not line.prices for line in quote.lines):
        sheet.write_string(row, len(heads), "Not quoted", forms["bold"])
    first, before = row + 1, len(heads) - 3 * widest
    for row, line in enumerate(quote.lines, start=first):
        cells = _cells(line, heads)
        sheet.write_number(row, 0, cells[0])
        for column, text in enumerate(cells[1:], start=1):
            if text:
                sheet.write_string(row, column, str(text))
        for place, price in enumerate(line.prices):
            column = before + 3 * place
            sheet.write_number(row, column, price.pieces)
            sheet.write_number(row, column + 1, float(price.each), forms["each"])
            sheet.write_number(row, column + 2, float(price.total), forms["money"])
        if line.problem and not line.prices:
            sheet.write_string(row, len(heads), line.asked)
    if not widest:
        return
    _sums(sheet, quote, forms, (first, first + len(quote.lines)), before, widest)


def _sums(
    sheet: Worksheet, quote: Quote, forms: Mapping[str, Format], rows: tuple[int, int], before: int, widest: int
) -> None:
    """The sums as formulas: each line at its first quantity, and at the last that it has."""
    first, end = rows
    named = [_letters(before + 2 + 3 * place) for place in range(widest)]
    columns = [f"{letters}{first + 1}:{letters}{end}" for letters in named]
    same = quote.smallest == quote.largest
    words = "Total" if same else "Total, each line at its smallest quantity"
    sheet.write_string(end, before - 1, words, forms["sum"])
    sheet.write_formula(end, before + 2, f"=SUM({columns[0]})", forms["sum"], float(quote.smallest))
    if same:
        return
    last = [f'SUMPRODUCT(({after}="")*{column})' for column, after in zip(columns, columns[1:])]
    sheet.write_string(end + 1, before - 1, "Total, each line at its largest quantity", forms["sum"])
    formula = "=" + "+".join([*last, f"SUM({columns[-1]})"])
    sheet.write_formula(end + 1, before + 2, formula, forms["sum"], float(quote.largest))


def _letters(column: int) -> str:
    """The letters of a column of a sheet.

    >>> _letters(0), _letters(25), _letters(26)
    ('A', 'Z', 'AA')
    """
    return ("" if column < 26 else _letters(column // 26 - 1)) + chr(ord("A") + column % 26)


def _questions_sheet(sheet: Worksheet, quote: Quote, forms: Mapping[str, Format]) -> None:
    heads = [
        "Question",
        "Lines",
        "Taken",
        f"Comes to [{quote.currency}]",
        "Asked for instead",
        f"Then [{quote.currency}]",
    ]
    heads += [f"Hangs on it [{quote.currency}]", "Cannot be made then"]
    sheet.write_row(0, 0, heads, forms["bold"])
    for column, width in enumerate((40, 26, 24, 14, 26, 14, 14, 12)):
        sheet.set_column(column, column, width)
    row = 1
    for question in quote.questions:
        for one in question.tries:
            sheet.write_string(row, 0, question.ask)
            sheet.write_string(row, 1, _numbers(question.lines, quote.row))
            sheet.write_string(row, 2, question.taken)
            sheet.write_number(row, 3, float(one.same), forms["money"])
            sheet.write_string(row, 4, one.value)
            sheet.write_number(row, 5, float(one.total), forms["money"])
            sheet.write_number(row, 6, float(one.total - one.same), forms["money"])
            sheet.write_number(row, 7, one.unmade)
            row += 1
    for line in quote.lines:
        if line.problem and not line.prices:
            item = f" (item {line.reading.item})" if line.reading.item else ""
            sheet.write_string(row, 0, "How is this meant?")
            sheet.write_string(row, 1, f"{quote.row} {line.reading.line}{item}")
            sheet.write_string(row, 2, "not quoted")
            sheet.write_string(row, 4, line.asked)
            row += 1
    for remark in quote.remarks:
        sheet.write_string(row, 0, REMARKS)
        sheet.write_string(row, 2, "not read")
        where, _, text = _remark(remark, quote).partition(": ")
        sheet.write_string(row, 1, where)
        sheet.write_string(row, 4, text)
        row += 1


def _remark(remark: Remark, quote: Quote) -> str:
    item = f" (item {remark.item})" if remark.item else ""
    column = f", {remark.heading}" if remark.heading else ""
    return f"{quote.row.capitalize()} {remark.line}{item}{column}: {remark.text}"


# ---- the page


def page(quote: Quote, every_line: Sequence[str], above: Letterhead) -> list[bytes]:
    """The quote as a PDF, in bytes."""
    heads, widest = _heads(quote)
    rows = []
    for line in quote.lines:
        if not line.prices:
            continue
        cells = [str(cell) for cell in _cells(line, heads)]
        for price in line.prices:
            cells += [f"{price.pieces:,}", each(price), f"{price.total:,.2f}"]
        rows.append(cells + [""] * (len(heads) - len(cells)))
    data = {
        "fonts": list(typeset.FONTS),
        "title": "Quotation",
        "letterhead": [list(pair) for pair in letterhead(quote, above)],
        "totals": totals(quote),
        "heads": [head.replace(" [", "\n[") for head in heads],
        "columns": ["right" if head.startswith(NUMBERS) else "left" for head in heads],
        "widths": [WIDTHS.get(head, 0) for head in heads],
        "rows": rows,
        "unquoted": [_unquoted(line, quote, line.asked) for line in quote.lines if line.problem and not line.prices],
        "questions": [
            [question.ask, asked(question, quote), _numbers(question.lines, quote.row)] for question in quote.questions
        ],
        "remarks": [_remark(remark, quote) for remark in quote.remarks[:MOST_REMARKS]],
        "assumed": [
            [SCOPE, ""],
            *([words, "every line"] for words in every_line),
            *([words, _numbers(tuple(lines), quote.row)] for words, lines in _assumed(quote).items()),
        ],
    }
    return typeset.typeset(f"#let data = {literal(data)}\n{typeset.template('quote.typ')}", "pdf")


def each(price: Price) -> str:
    """The price of one piece with the decimals that it has."""
    return f"{price.each:,}"


def _unquoted(line: Line, quote: Quote, problem: str) -> str:
    item = f" (item {line.reading.item})" if line.reading.item else ""
    return f"{quote.row.capitalize()} {line.reading.line}{item}: {problem}"


def totals(quote: Quote) -> list[str]:
    """The sums in sentences."""
    count = sum(bool(line.prices) for line in quote.lines)
    of = f"{count:,} of {_count(quote.lines, quote.row)} quoted"
    if quote.smallest == quote.largest:
        return [f"{of}: {money(quote.smallest, quote.currency)} in all."]
    return [
        f"{of}: {money(quote.smallest, quote.currency)} with each at its smallest quantity, "
        f"{money(quote.largest, quote.currency)} at its largest."
    ]


def screen(quote: Quote) -> Group:
    """What there is to say of a quote on the terminal."""
    parts: list[RenderableType] = [Text(words, style="bold") for words in totals(quote)]
    if quote.questions:
        parts.append(head("Ask the customer"))
        parts += [paragraph(f"{question.ask} {asked(question, quote)}") for question in quote.questions]
    if quote.remarks:
        parts.append(head("Not read: does it change the price?"))
        parts += [paragraph(shown(_remark(remark, quote), 240)) for remark in quote.remarks[:60]]
        if len(quote.remarks) > 60:
            parts.append(paragraph(f"and {len(quote.remarks) - 60:,} more"))
    unquoted = [line for line in quote.lines if line.problem and not line.prices]
    if unquoted:
        parts.append(head("Not quoted"))
        parts += [paragraph(shown(_unquoted(line, quote, line.problem), 240)) for line in unquoted[:60]]
        if len(unquoted) > 60:
            parts.append(paragraph(f"and {len(unquoted) - 60:,} more"))
    return Group(*parts)
