"""A map of where each method wins: as letters on a terminal, as a picture in a PNG or SVG file."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy
from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.ground.errors import CalloutError
from advisor.ground.methods import methods as every_method
from advisor.study import mapping
from advisor.study.mapping import IMPOSSIBLE, NO_METHOD

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from rich.console import RenderableType

    from advisor.formulas.numeric import Column, Flags
    from advisor.study.mapping import Axis, Map

LETTERS = {method.name: method.letter for method in every_method().values()}
ROWS, MARGIN = 22, 10  # rows of the map on a terminal, and columns that its scale takes
NO_METHOD_LETTER, IMPOSSIBLE_LETTER, HERE_LETTER = "-", " ", "@"
# Fill and hatch of each region. The fills differ in lightness as well as in hue, the hatches without any colour.
LOOKS = {method.name: (method.fill, method.hatch) for method in every_method().values()}
STYLES = {method.name: method.colour for method in every_method().values()}
# The lines that a hatch is drawn with, by the angle of each from the horizontal [deg]; one that is not here is of dots.
HATCH_ANGLES = {"/": (45,), "\\": (135,), "|": (90,), "-": (0,), "x": (45, 135)}
NO_METHOD_LOOK = ("#dcdcdc", "---")
INK, HATCH_INK = "#1d2430", "#00000055"
TITLES = {
    "radius": "Radius",
    "tolerance": "Tolerance, plus or minus",
    "quantity": "Pieces in the batch",
    "diameter": "Work diameter",
    "width": "Width of the arc",
    "stickout": "Stickout",
}
KINDS = ("png", "svg")
INCHES, DOTS = (5.2, 5.6), 200  # of the picture; text stays readable when 1040 dots are shown on a phone's 390
FRAME = (0.135, 0.235, 0.815, 0.645)  # left, bottom, width and height of the map as shares of the picture
TEXT = 10.5  # points
SHADE = 0.28
SMALLEST_NAMED = 0.0005  # share of the map under which a region is left to the legend


def region_name(place: int, methods: Sequence[str]) -> str:
    """What a region is called."""
    return methods[place] if place >= 0 else "no method stands" if place == NO_METHOD else "cannot be"


def title(survey: Map) -> list[str]:
    """What is drawn, in lines of at most 57 characters."""
    import textwrap

    callout, units = survey.callout, survey.units

    def size(mm: float) -> str:
        return wording.length(mm, units).split(" (")[0]

    across = "" if callout.width is None else f", {size(callout.width)} across"
    radius = f"{callout.symbol}{wording.bare(callout.radius, units)} ±{size(callout.tolerance)}"
    parts = [
        f"{radius}, {callout.form}, {callout.location}{across}",
        f"{size(callout.diameter)} {callout.material}, {callout.quantity} off, {survey.shop}",
    ]
    return [line for part in parts for line in textwrap.wrap(part, 57, break_on_hyphens=False)]


def axis_title(axis: Axis, units: str) -> str:
    """The name of an axis with its unit."""
    unit = "" if axis.name == "quantity" else " [in]" if units == "inch" else " [mm]"
    return TITLES[axis.name] + unit


def factor(axis: Axis, units: str) -> float:
    """The unit in which an axis is drawn [mm], 1 for pieces."""
    return 25.4 if units == "inch" and axis.name != "quantity" else 1.0


# ---- terminal


def screen(survey: Map) -> Group:
    """The map as letters, with its axes and what the letters mean."""
    rows, columns = survey.best.shape
    labels = _labels(survey.y, survey.ys, survey.units)
    pad = max(map(len, labels.values()), default=1)
    lines = [Text(line, style="bold") for line in title(survey)]
    lines += [Text(""), Text(axis_title(survey.y, survey.units))]
    mark = _place_of(survey)
    for row in reversed(range(rows)):
        line = Text(f"{labels.get(row, ''):>{pad}} {'+' if row in labels else '|'}")
        for column in range(columns):
            line.append(*_letter(survey, row, column, mark))
        lines.append(line)
    lines += _under(survey, columns, pad)
    return Group(*lines, Text(""), *_legend(survey))


def _labels(axis: Axis, values: Column, units: str) -> dict[int, str]:
    """Round values of a scale by the place of the nearest row or column."""
    unit = factor(axis, units)
    found: dict[int, str] = {}
    for value in mapping.round_values(axis, factor=unit):
        found.setdefault(int(numpy.argmin(numpy.abs(values - value * unit))), mapping.nice(float(f"{value:.6g}")))
    return found


def _place_of(survey: Map) -> tuple[int, int] | None:
    """Row and column of this callout; None where it is not on the map."""
    if not survey.inside:
        return None
    row, column = (
        int(numpy.argmin(numpy.abs(values - own)))
        for values, own in ((survey.ys, survey.here[1]), (survey.xs, survey.here[0]))
    )
    return row, column


def _letter(survey: Map, row: int, column: int, mark: tuple[int, int] | None) -> tuple[str, str]:
    if (row, column) == mark:
        return HERE_LETTER, "bold"
    place = int(survey.best[row, column])
    if place < 0:
        return (NO_METHOD_LETTER if place == NO_METHOD else IMPOSSIBLE_LETTER), "dim"
    name = survey.methods[place]
    letter = LETTERS.get(name, name[:1].upper())
    return (letter.lower() if survey.close[row, column] else letter), STYLES.get(name, "")


def _under(survey: Map, columns: int, pad: int) -> list[Text]:
    line, numbers, end = ["-"] * columns, [" "] * (columns + 8), -2
    for column, text in sorted(_labels(survey.x, survey.xs, survey.units).items()):
        line[column] = "+"
        start = max(column - len(text) // 2, 0)
        if start > end + 1:
            end = start + len(text)
            numbers[start:end] = text
    gap = " " * (pad + 2)
    return [
        Text(f"{gap[:-1]}+{''.join(line)}"),
        Text(gap + "".join(numbers).rstrip()),
        Text(f"{axis_title(survey.x, survey.units):>{pad + 2 + columns}}"),
    ]


def _legend(survey: Map) -> list[RenderableType]:
    lines: list[RenderableType] = []
    for place, share in survey.shares.items():
        if place == IMPOSSIBLE:
            reasons = [survey.reasons[code] for code in numpy.unique(survey.why[survey.why >= 0])]
            lines.append(Text(f"blank  cannot be: {'; '.join(reasons)}"))
        elif place == NO_METHOD:
            lines.append(Text(f"{NO_METHOD_LETTER}      no method stands"))
        else:
            name = survey.methods[place]
            letter = LETTERS.get(name, name[:1].upper())
            close = (
                f", {letter.lower()} where it is a close call" if (survey.close & (survey.best == place)).any() else ""
            )
            lines.append(
                Text(f"{letter}      {name}{close}; {wording.percent(share)} of the map", style=STYLES.get(name, ""))
            )
    lines.append(Text(f"{HERE_LETTER}      this callout: {here_words(survey)}"))
    return lines


def here_words(survey: Map) -> str:
    """What wins at the callout's own point, and where that lies when it is not on the map."""
    name = region_name(survey.here[2], survey.methods)
    return name if survey.inside else f"{name}, outside this map"


# ---- picture


def picture(survey: Map, ending: str) -> bytes:
    """The map as the bytes of a picture; ending: ".png" or ".svg". Raises CalloutError where the library for pictures
    is not installed.
    """
    try:
        from matplotlib import rc_context
        from matplotlib.figure import Figure
    except ImportError:
        fix = "Install it with: pip install 'turn-radius[pictures]', or leave --output out for a map in letters."
        raise CalloutError("output", "", "needs the library matplotlib, which is not installed", fix) from None
    settings = {
        "font.size": TEXT,
        "hatch.linewidth": 0.6,
        "svg.hashsalt": "turn-radius",
        "svg.fonttype": "none",
        "axes.edgecolor": INK,
        "text.color": INK,
        "text.parse_math": False,  # a dollar sign in a name is a dollar sign
    }
    with rc_context(settings):
        figure = Figure(figsize=INCHES, dpi=DOTS, facecolor="white")
        _draw(survey, figure)
        metadata = {"Date": None} if ending == ".svg" else {"Software": None}
        page = io.BytesIO()
        figure.savefig(page, format=ending.removeprefix("."), metadata=metadata)
    return page.getvalue()


def _draw(survey: Map, figure: Any) -> None:
    axes = figure.add_axes(FRAME)
    xs, ys = survey.xs / factor(survey.x, survey.units), survey.ys / factor(survey.y, survey.units)
    for axis, name in ((survey.x, "x"), (survey.y, "y")):
        if axis.logarithmic:
            getattr(axes, f"set_{name}scale")("log")
    axes.set_xlim(xs[0], xs[-1])
    axes.set_ylim(ys[0], ys[-1])
    page = _Page(axes, xs, ys)
    handles = [_region(page, survey, place) for place in survey.shares if place != IMPOSSIBLE]
    if survey.close.any():
        handles.append(_close_calls(page, survey))
    if survey.inside:
        _here(page, survey)
    for place, share in survey.shares.items():
        if place != IMPOSSIBLE and share >= SMALLEST_NAMED:
            page.name(survey.best == place, region_name(place, survey.methods))
    for code, reason in enumerate(survey.reasons):
        if (survey.why == code).mean() >= SMALLEST_NAMED:
            page.name(survey.why == code, f"cannot be: {reason}", style="italic")
    _scales(axes, survey)
    axes.set_title("\n".join(title(survey)), fontsize=9.5, loc="left", linespacing=1.2)
    figure.legend(
        handles=handles, loc="lower center", ncols=2, frameon=False, fontsize=9.5, handlelength=2.2, handleheight=1.4
    )


class _Page:
    """The frame of the map, and where there is still room for words on it."""

    def __init__(self, axes: Any, xs: Column, ys: Column) -> None:
        self.axes, self.xs, self.ys = axes, xs, ys
        self.free = numpy.ones((len(ys), len(xs)), dtype=bool)
        self.columns_a_point = len(xs) / (FRAME[2] * INCHES[0] * 72)
        self.rows_a_point = len(ys) / (FRAME[3] * INCHES[1] * 72)

    def fill(self, mask: Flags, **looks: Any) -> None:
        """Fill where a mask holds."""
        self.axes.contourf(self.xs, self.ys, mask.astype(float), levels=[0.5, 1.5], **looks)

    def outline(self, mask: Flags, **looks: Any) -> None:
        """Draw a line round where a mask holds."""
        self.axes.contour(self.xs, self.ys, mask.astype(float), levels=[0.5], colors=[INK], **looks)

    def box(self, words: str, size: float, upright: bool) -> tuple[int, int]:
        """Rows and columns that some lines of words take."""
        lines = words.split("\n")
        long, high = max(map(len, lines)) * 0.56 * size + 6, len(lines) * 1.28 * size + 4
        if upright:
            long, high = high, long
        return int(high * self.rows_a_point) + 1, int(long * self.columns_a_point) + 1

    def take(self, row: int, column: int, box: tuple[int, int]) -> None:
        """Keep other words out of a box."""
        rows, columns = box
        self.free[
            max(row - rows // 2, 0) : row + rows // 2 + 1, max(column - columns // 2, 0) : column + columns // 2 + 1
        ] = False

    def name(self, mask: Flags, words: str, style: str = "normal") -> None:
        """Write words where a region has room for them, across, in lines or upright; beside it with a line to it if
        nowhere.
        """
        depth = mapping.deepest(mask & self.free, row_height=self.columns_a_point / self.rows_a_point)
        for size in (TEXT, 9.0):
            for width, upright in ((60, False), (18, False), (12, False), (60, True)):
                lines = _wrapped(words, width)
                box = self.box(lines, size, upright)
                room = mapping.room_for(mask & self.free, rows=box[0], columns=box[1])
                if room.any():
                    spot = _largest(numpy.where(room, depth, -1))
                    self.write(lines, spot, size, upright, style)
                    self.take(*spot, box)
                    return
        self.point_at(_largest(depth), _wrapped(words, 18), style)

    def point_at(self, spot: Sequence[int], words: str, style: str) -> None:
        """Write words in the nearest free place and draw a line from them to a spot."""
        box = self.box(words, 9.0, False)
        room = mapping.room_for(self.free, rows=box[0], columns=box[1])
        rows, columns = numpy.indices(room.shape)
        away = numpy.hypot((rows - spot[0]) / self.rows_a_point, (columns - spot[1]) / self.columns_a_point)
        near_enough = room & (numpy.abs(rows - spot[0]) > box[0] * 0.8)
        if not near_enough.any():
            return
        place = _largest(-numpy.where(near_enough, away, numpy.inf))
        ends = [self.xs[place[1]], self.xs[spot[1]]], [self.ys[place[0]], self.ys[spot[0]]]
        self.axes.plot(*ends, color=INK, linewidth=0.9, zorder=4)
        self.axes.plot(ends[0][1:], ends[1][1:], color=INK, marker="o", markersize=3, zorder=4)
        self.write(words, place, 9.0, False, style)
        self.take(*place, box)

    def write(
        self, words: str, spot: Sequence[int], size: float, upright: bool, style: str = "normal", weight: str = "normal"
    ) -> None:
        """Words about a spot, on a veil of white so that no hatch runs through them."""
        self.axes.text(
            self.xs[spot[1]],
            self.ys[spot[0]],
            words,
            ha="center",
            va="center",
            rotation=90 if upright else 0,
            fontsize=size,
            fontstyle=style,
            fontweight=weight,
            linespacing=1.15,
            bbox={"boxstyle": "round,pad=0.18", "facecolor": "white", "edgecolor": "none", "alpha": 0.85},
            zorder=6,
        )


def _largest(values: Column) -> tuple[int, int]:
    """Row and column of the largest value, the first of several."""
    row, column = numpy.unravel_index(numpy.argmax(values), values.shape)
    return int(row), int(column)


def _wrapped(words: str, width: int) -> str:
    import textwrap

    return "\n".join(textwrap.wrap(words, width, break_long_words=False))


def _region(page: _Page, survey: Map, place: int) -> Any:
    """Fill and hatch a region; its entry in the legend."""
    from matplotlib import rc_context
    from matplotlib.patches import Patch

    mask, name = survey.best == place, region_name(place, survey.methods)
    fill, hatch = LOOKS.get(name, NO_METHOD_LOOK)
    page.fill(mask, colors=[fill])
    with rc_context({"hatch.color": HATCH_INK}):
        page.fill(mask, colors="none", hatches=[hatch])
    page.outline(mask, linewidths=0.8)
    return Patch(facecolor=fill, hatch=hatch, edgecolor=INK, linewidth=0.8, label=name)


def _close_calls(page: _Page, survey: Map) -> Any:
    """Shade the close calls; their entry in the legend."""
    from matplotlib.patches import Patch

    page.fill(survey.close, colors=[INK], alpha=SHADE)
    page.outline(survey.close, linewidths=0.7, linestyles="dashed")
    return Patch(facecolor=(*_rgb(INK), SHADE), edgecolor=INK, linestyle="dashed", linewidth=0.8, label="close call")


def _rgb(colour: str) -> tuple[float, ...]:
    return tuple(int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))


def _here(page: _Page, survey: Map) -> None:
    """Mark this callout, with its words where they stay inside the frame."""
    place = _place_of(survey)
    if place is None:
        return
    row, column = place
    box = page.box("this callout", TEXT, False)
    page.take(row, column, (int(16 * page.rows_a_point), int(16 * page.columns_a_point)))
    places = [(row + up * box[0], column + along * (box[1] // 2 + 4)) for up in (0.8, -0.8) for along in (1, -1)]
    rows, columns = page.free.shape
    fits = [(r, c) for r, c in places if box[0] / 2 < r < rows - box[0] / 2 and box[1] / 2 < c < columns - box[1] / 2]
    spot = tuple(int(v) for v in (fits or places)[0])
    x, y = page.xs[column], page.ys[row]
    page.axes.plot(
        [x],
        [y],
        marker="o",
        markersize=9,
        markerfacecolor="white",
        markeredgecolor=INK,
        markeredgewidth=2,
        zorder=7,
        linestyle="",
    )
    spot = (min(max(spot[0], 0), rows - 1), min(max(spot[1], 0), columns - 1))
    page.write("this callout", spot, TEXT, False, weight="bold")
    page.take(*spot, box)


def _scales(axes: Any, survey: Map) -> None:
    """Round numbers on both scales, and what they are."""
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter

    for axis, on, name in ((survey.x, axes.xaxis, "x"), (survey.y, axes.yaxis, "y")):
        getattr(axes, f"set_{name}label")(axis_title(axis, survey.units), fontsize=TEXT)
        on.set_major_locator(FixedLocator(mapping.round_values(axis, factor=factor(axis, survey.units))))
        on.set_major_formatter(FuncFormatter(lambda value, _: mapping.nice(float(f"{value:.6g}"))))
        on.set_minor_formatter(NullFormatter())
    axes.tick_params(labelsize=9.5)
    axes.set_axisbelow(False)
