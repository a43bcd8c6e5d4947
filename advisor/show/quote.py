"""A quote as a workbook and as a page, and its summary on the terminal. cli.py writes them."""

import io

from rich.console import Group
from rich.text import Text

from advisor.ground.units import shown
from advisor.lists.files import library
from advisor.show import typeset
from advisor.show.blocks import head, paragraph
from advisor.show.sheet_pages import literal

ENDINGS = ("xlsx", "pdf")
SCOPE = (
    "The prices are for turning the radius alone: setting up, the tools made for it and their stock, and the pieces, at the "
    "shop's hourly rate. The material of the parts, other work on them, delivery and profit are not in them."
)
SHEETS = ("Quote", "Questions", "Assumed")
NUMBERS = ("Row", "Line", "Pieces", "Each", "Total")
WIDTHS = {"Radius": 11, "Limits": 13, "Shape": 12, "Diameter": 19, "Material": 14}  # shares of the page's width
MOST_LISTED = 40  # numbers of lines that are listed with a question


def rendered(quote, ending, *, every_line):
    """The quote as bytes. ending: of ENDINGS; every_line: sentences, what holds for every line."""
    return workbook(quote, every_line) if ending == "xlsx" else page(quote, every_line)


def _heads(quote):
    widest = max((len(line.prices) for line in quote.lines), default=0)
    heads = [quote.row.capitalize(), "Item", "Radius", "Limits", "Shape", "Diameter", "Material"]
    for number in range(1, widest + 1):
        of = f" {number}" if widest > 1 else ""
        heads += [f"Pieces{of}", f"Each{of} [{quote.currency}]", f"Total{of} [{quote.currency}]"]
    return heads, widest


def _cells(line):
    reading = line.reading
    return [
        reading.line,
        reading.item,
        reading.radius,
        reading.limits,
        reading.shape,
        reading.diameter,
        reading.material,
    ]


def _numbers(lines, row):
    """Lines as words.

    >>> _numbers((3,), "row"), _numbers((3, 5), "line")
    ('row 3', 'lines 3, 5')
    """
    listed = ", ".join(map(str, lines[:MOST_LISTED])) + (", …" if len(lines) > MOST_LISTED else "")
    return f"{row}{'s' * (len(lines) > 1)} {listed}"


def _count(lines, row):
    return f"{len(lines):,} {row}{'s' * (len(lines) != 1)}"


def money(amount, currency):
    """An amount of money as it is written.

    >>> from decimal import Decimal
    >>> money(Decimal("1234.5"), "EUR")
    '1,234.50 EUR'
    """
    return f"{amount:,.2f} {currency}".strip()


def asked(question, quote):
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


def workbook(quote, every_line):
    """The quote as an XLSX file, in bytes: numbers as numbers, sums as formulas with their values."""
    xlsxwriter = library("xlsxwriter", "XLSX")
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    forms = {
        "bold": book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1}),
        "money": book.add_format({"num_format": "#,##0.00"}),
        "each": book.add_format({"num_format": "#,##0.00##"}),
        "sum": book.add_format({"num_format": "#,##0.00", "bold": True, "top": 1}),
        "title": book.add_format({"bold": True, "font_size": 14}),
        "wrap": book.add_format({"text_wrap": True, "valign": "top"}),
    }
    _priced_sheet(book.add_worksheet(SHEETS[0]), quote, forms)
    _questions_sheet(book.add_worksheet(SHEETS[1]), quote, forms)
    sheet = book.add_worksheet(SHEETS[2])
    sheet.set_column(0, 0, 70, forms["wrap"])
    sheet.set_column(1, 1, 40, forms["wrap"])
    sheet.write_row(0, 0, ["Assumed", "Where"], forms["bold"])
    rows = [(SCOPE, "all"), *((words, "every line") for words in every_line)]
    rows += [(words, _numbers(tuple(lines), quote.row)) for words, lines in quote.assumed.items()]
    for place, (words, where) in enumerate(rows, start=1):
        sheet.write_string(place, 0, words)
        sheet.write_string(place, 1, where)
    book.close()
    return [stream.getvalue()]


def _priced_sheet(sheet, quote, forms):
    heads, widest = _heads(quote)
    sheet.write_string(0, 0, f"Quote for {shown(quote.label, 80)}", forms["title"])
    sheet.write_row(2, 0, heads, forms["bold"])
    sheet.freeze_panes(3, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    for column, width in enumerate([6, 10, 14, 16, 15, 22, 20, *([8, 11, 13] * widest), 60]):
        sheet.set_column(column, column, width)
    if any(line.problem for line in quote.lines):
        sheet.write_string(2, len(heads), "Not quoted", forms["bold"])
    row = 3
    for line in quote.lines:
        cells = _cells(line)
        sheet.write_number(row, 0, cells[0])
        for column, text in enumerate(cells[1:], start=1):
            if text:
                sheet.write_string(row, column, str(text))
        for place, price in enumerate(line.prices):
            column = 7 + 3 * place
            sheet.write_number(row, column, price.pieces)
            sheet.write_number(row, column + 1, float(price.each), forms["each"])
            sheet.write_number(row, column + 2, float(price.total), forms["money"])
        if line.problem and not line.prices:
            sheet.write_string(row, len(heads), line.problem)
        row += 1
    if not widest:
        return
    words = "Total" if quote.smallest == quote.largest else "Total, each line at its smallest quantity"
    sheet.write_string(row, 6, words, forms["sum"])
    if row > 3:
        sheet.write_formula(row, 9, f"=SUM(J4:J{row})", forms["sum"], float(quote.smallest))
    if quote.smallest != quote.largest:
        sheet.write_string(row + 1, 6, "Total, each line at its largest quantity", forms["sum"])
        sheet.write_number(row + 1, 9, float(quote.largest), forms["sum"])


def _questions_sheet(sheet, quote, forms):
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
            sheet.write_string(row, 4, line.problem)
            row += 1


# ---- the page


def page(quote, every_line):
    """The quote as a PDF, in bytes."""
    heads, widest = _heads(quote)
    rows = []
    for line in quote.lines:
        if not line.prices:
            continue
        cells = [str(cell) for cell in _cells(line)]
        for price in line.prices:
            cells += [f"{price.pieces:,}", each(price), f"{price.total:,.2f}"]
        rows.append(cells + [""] * (len(heads) - len(cells)))
    data = {
        "fonts": list(typeset.FONTS),
        "title": f"Quote for {shown(quote.label, 80)}",
        "totals": totals(quote),
        "heads": [head.replace(" [", "\n[") for head in heads],
        "columns": ["right" if head.startswith(NUMBERS) else "left" for head in heads],
        "widths": [WIDTHS.get(head, 0) for head in heads],
        "rows": rows,
        "unquoted": [_unquoted(line, quote) for line in quote.lines if line.problem and not line.prices],
        "questions": [
            [question.ask, asked(question, quote), _numbers(question.lines, quote.row)] for question in quote.questions
        ],
        "assumed": [
            [SCOPE, ""],
            *([words, "every line"] for words in every_line),
            *([words, _numbers(tuple(lines), quote.row)] for words, lines in quote.assumed.items()),
        ],
    }
    return typeset.typeset(f"#let data = {literal(data)}\n{typeset.template('quote.typ')}", "pdf")


def each(price):
    """The price of one piece with the decimals that it has."""
    return f"{price.each:,}"


def _unquoted(line, quote):
    item = f" (item {line.reading.item})" if line.reading.item else ""
    return f"{quote.row.capitalize()} {line.reading.line}{item}: {line.problem}"


def totals(quote):
    """The sums in sentences."""
    count = sum(bool(line.prices) for line in quote.lines)
    of = f"{count:,} of {_count(quote.lines, quote.row)} quoted"
    if quote.smallest == quote.largest:
        return [f"{of}: {money(quote.smallest, quote.currency)} in all."]
    return [
        f"{of}: {money(quote.smallest, quote.currency)} with each at its smallest quantity, "
        f"{money(quote.largest, quote.currency)} at its largest."
    ]


def screen(quote):
    """What there is to say of a quote on the terminal."""
    parts = [Text(words, style="bold") for words in totals(quote)]
    if quote.questions:
        parts.append(head("Ask the customer"))
        parts += [paragraph(f"{question.ask} {asked(question, quote)}") for question in quote.questions]
    unquoted = [line for line in quote.lines if line.problem and not line.prices]
    if unquoted:
        parts.append(head("Not quoted"))
        parts += [paragraph(shown(_unquoted(line, quote), 240)) for line in unquoted[:60]]
        if len(unquoted) > 60:
            parts.append(paragraph(f"and {len(unquoted) - 60:,} more"))
    return Group(*parts)
