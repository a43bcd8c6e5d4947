"""A map of where each method wins: as letters on a terminal, as a picture in a PNG or SVG file."""

from pathlib import Path

import numpy
from rich.console import Group
from rich.text import Text

from advisor import explain, mapping
from advisor.errors import CalloutError
from advisor.mapping import IMPOSSIBLE, NO_METHOD

LETTERS = {"form tool": "F", "freehand": "H", "pivot attachment": "P", "radius rod": "R", "swung compound": "S"}
NO_METHOD_LETTER, IMPOSSIBLE_LETTER, HERE_LETTER = "-", " ", "@"
# Fill and hatch of each region. The fills differ in lightness as well as in hue, the hatches without any colour.
LOOKS = {
    "form tool": ("#f3d9a4", "///"),
    "freehand": ("#b9d7d3", "..."),
    "pivot attachment": ("#6f8fb5", "\\\\\\"),
    "radius rod": ("#e7e2f0", "|||"),
    "swung compound": ("#c88f7a", "xxx"),
}
STYLES = {"form tool": "yellow", "freehand": "cyan", "pivot attachment": "blue", "radius rod": "magenta", "swung compound": "red"}
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
KINDS = (".png", ".svg")
INCHES, DOTS = (5.2, 5.6), 200  # of the picture; text stays readable when 1040 dots are shown on a phone's 390


def region_name(place, methods):
    """What a region is called."""
    return methods[place] if place >= 0 else "no method stands" if place == NO_METHOD else "cannot be"


def title(survey):
    """What is drawn, in two lines."""
    callout, units = survey.callout, survey.units
    parts = [f"{callout.symbol}{explain.length(callout.radius, units)} ±{explain.length(callout.tolerance, units)}"]
    parts.append(f"{callout.form}, {callout.location}")
    if callout.width is not None:
        parts.append(f"{explain.length(callout.width, units)} across")
    first = ", ".join(parts)
    second = f"{explain.length(callout.diameter, units)} {callout.material}, {callout.quantity} off, {survey.shop}"
    return first, second


def axis_title(axis, units):
    """The name of an axis with its unit."""
    unit = "" if axis.name == "quantity" else " [in]" if units == "inch" else " [mm]"
    return TITLES[axis.name] + unit


def _scale(axis, values, units):
    """Values of an axis in the unit in which it is drawn."""
    return values / 25.4 if units == "inch" and axis.name != "quantity" else values


# ---- terminal


def screen(survey):
    """The map as letters, with its axes and what the letters mean."""
    rows, columns = survey.best.shape
    x, y = survey.x, survey.y
    labels = [mapping.nice(float(f"{v:.3g}")) for v in _scale(y, survey.ys, survey.units)]
    pad = max(map(len, labels))
    lines = [Text(line, style="bold") for line in title(survey)]
    lines += [Text(""), Text(axis_title(y, survey.units))]
    mark = _place_of(survey)
    for row in reversed(range(rows)):
        label = labels[row] if (rows - 1 - row) % 4 == 0 or row == 0 else ""
        line = Text(f"{label:>{pad}} |")
        for column in range(columns):
            line.append(*_letter(survey, row, column, mark))
        lines.append(line)
    lines += _under(survey, columns, pad)
    return Group(*lines, Text(""), *_legend(survey))


def _place_of(survey):
    if not survey.inside:
        return None
    return tuple(int(numpy.argmin(numpy.abs(numpy.log(v) - numpy.log(own)))) for v, own in ((survey.ys, survey.here[1]), (survey.xs, survey.here[0])))


def _letter(survey, row, column, mark):
    if (row, column) == mark:
        return HERE_LETTER, "bold"
    place = int(survey.best[row, column])
    if place < 0:
        return (NO_METHOD_LETTER if place == NO_METHOD else IMPOSSIBLE_LETTER), "dim"
    name = survey.methods[place]
    letter = LETTERS.get(name, name[:1].upper())
    return (letter.lower() if survey.close[row, column] else letter), STYLES.get(name, "")


def _under(survey, columns, pad):
    values = _scale(survey.x, survey.xs, survey.units)
    marks, labels = [" "] * columns, [" "] * (columns + pad)
    step = max(columns // 5, 9)
    for column in range(0, columns, step):
        text = mapping.nice(float(f"{values[column]:.3g}"))
        marks[column] = "|"
        labels[column : column + len(text)] = text
    gap = " " * (pad + 2)
    return [
        Text(f"{gap[:-1]}+{'-' * columns}"),
        Text(gap + "".join(marks).rstrip()),
        Text(gap + "".join(labels).rstrip()),
        Text(f"{axis_title(survey.x, survey.units):>{pad + 2 + columns}}"),
    ]


def _legend(survey):
    lines = []
    for place, share in survey.shares.items():
        if place == IMPOSSIBLE:
            reasons = [survey.reasons[code] for code in numpy.unique(survey.why[survey.why >= 0])]
            lines.append(Text(f"blank  cannot be: {'; '.join(reasons)}"))
        elif place == NO_METHOD:
            lines.append(Text(f"{NO_METHOD_LETTER}      no method stands"))
        else:
            name = survey.methods[place]
            letter = LETTERS.get(name, name[:1].upper())
            close = f", {letter.lower()} where it is a close call" if (survey.close & (survey.best == place)).any() else ""
            lines.append(Text(f"{letter}      {name}{close}; {explain.percent(share)} of the map", style=STYLES.get(name, "")))
    lines.append(Text(f"{HERE_LETTER}      this callout: {here_words(survey)}"))
    return lines


def here_words(survey):
    """What wins at the callout's own point, and where that lies when it is not on the map."""
    name = region_name(survey.here[2], survey.methods)
    return name if survey.inside else f"{name}, outside this map"


# ---- picture


def check_picture(path, *, replace):
    """Refuse a name that no picture can have before anything is worked out. Raises CalloutError."""
    where = Path(path)
    if where.suffix.lower() not in KINDS:
        raise CalloutError("--output", path, "has an ending that is no kind of picture", "Give a file named .png or .svg.")
    if where.exists() and not replace:
        raise CalloutError("--output", path, "is there already", "Give another name, or --replace.")
    if not where.absolute().parent.is_dir():
        raise CalloutError("--output", path, "lies in a folder that is not there", "Make the folder first.")


def picture(survey, path):
    """Draw the map into a PNG or SVG file. Raises CalloutError where the library for pictures is not installed."""
    try:
        from matplotlib import rc_context
        from matplotlib.figure import Figure
    except ImportError:
        fix = "Install it with: pip install 'turn-radius[pictures]', or leave --output out for a map in letters."
        raise CalloutError("--output", path, "needs the library matplotlib, which is not installed", fix) from None
    settings = {
        "font.size": 10.5,
        "hatch.linewidth": 0.6,
        "svg.hashsalt": "turn-radius",
        "svg.fonttype": "none",
        "axes.edgecolor": INK,
        "text.color": INK,
    }
    with rc_context(settings):
        figure = Figure(figsize=INCHES, dpi=DOTS, layout="constrained", facecolor="white")
        _draw(survey, figure)
        metadata = {"Date": None} if path.lower().endswith(".svg") else {"Software": None}
        figure.savefig(path, metadata=metadata)


def _draw(survey, figure):
    axes = figure.add_subplot()
    xs, ys = _scale(survey.x, survey.xs, survey.units), _scale(survey.y, survey.ys, survey.units)
    for axis, name in ((survey.x, "x"), (survey.y, "y")):
        if axis.logarithmic:
            getattr(axes, f"set_{name}scale")("log")
    axes.set_xlim(xs[0], xs[-1])
    axes.set_ylim(ys[0], ys[-1])
    ratio = INCHES[1] / INCHES[0] * survey.best.shape[1] / survey.best.shape[0] * 0.8
    handles = []
    for place in survey.shares:
        if place != IMPOSSIBLE:
            handles.append(_region(axes, xs, ys, survey, place, ratio))
    if survey.close.any():
        handles.append(_close_calls(axes, xs, ys, survey))
    _impossible(axes, xs, ys, survey, ratio)
    _here(axes, survey)
    _scales(axes, survey)
    axes.set_title("\n".join(title(survey)), fontsize=10.5, loc="left")
    handles = [handle for handle in handles if handle is not None]
    figure.legend(handles=handles, loc="outside lower center", ncols=2, frameon=False, fontsize=9.5, handlelength=2.2, handleheight=1.4)


def _filled(axes, xs, ys, mask, **looks):
    """Fill where a mask holds, edges half way between points."""
    axes.contourf(xs, ys, mask.astype(float), levels=[0.5, 1.5], **looks)


def _region(axes, xs, ys, survey, place, ratio):
    from matplotlib.patches import Patch

    mask = survey.best == place
    name = region_name(place, survey.methods)
    fill, hatch = LOOKS.get(name, NO_METHOD_LOOK)
    _filled(axes, xs, ys, mask, colors=[fill])
    from matplotlib import rc_context

    with rc_context({"hatch.color": HATCH_INK}):
        _filled(axes, xs, ys, mask, colors="none", hatches=[hatch])
    axes.contour(xs, ys, mask.astype(float), levels=[0.5], colors=[INK], linewidths=0.8)
    _named(axes, xs, ys, mask, name, ratio)
    return Patch(facecolor=fill, hatch=hatch, edgecolor=INK, linewidth=0.8, label=name)


def _named(axes, xs, ys, mask, name, ratio, *, style="normal"):
    """Write a name where its region is widest: across, upright or in two lines, and beside it with a line where it is narrow."""
    from matplotlib.patheffects import withStroke

    found = mapping.anchor(mask, shape_ratio=ratio)
    if found is None:
        return
    row, column, room = found
    share = room / mask.shape[1]
    halo = [withStroke(linewidth=3, foreground="white")]
    words = name if share > 0.02 * len(name) else name.replace(" ", "\n", 1)
    if share > 0.035:
        size = 10.5 if share > 0.08 else 8.5
        axes.text(xs[column], ys[row], words, ha="center", va="center", fontsize=size, fontstyle=style, path_effects=halo, zorder=5)
        return
    left = column > mask.shape[1] / 2
    place = (-46 if left else 46, 26 if row < mask.shape[0] / 2 else -26)
    arrow = {"arrowstyle": "-", "color": INK, "linewidth": 0.9}
    axes.annotate(
        words,
        (xs[column], ys[row]),
        xytext=place,
        textcoords="offset points",
        ha="center",
        va="center",
        fontsize=8.5,
        fontstyle=style,
        path_effects=halo,
        arrowprops=arrow,
        zorder=5,
    )


def _close_calls(axes, xs, ys, survey):
    from matplotlib.patches import Patch

    _filled(axes, xs, ys, survey.close, colors=["#1d2430"], alpha=0.28)
    axes.contour(xs, ys, survey.close.astype(float), levels=[0.5], colors=[INK], linewidths=0.7, linestyles="dashed")
    return Patch(facecolor="#1d243047", edgecolor=INK, linestyle="dashed", linewidth=0.8, label="close call")


def _impossible(axes, xs, ys, survey, ratio):
    for code, reason in enumerate(survey.reasons):
        mask = survey.why == code
        _named(axes, xs, ys, mask, _broken_up(f"cannot be: {reason}"), ratio, style="italic")


def _broken_up(sentence):
    """A sentence in lines of a few words."""
    import textwrap

    return "\n".join(textwrap.wrap(sentence, 16))


def _here(axes, survey):
    if not survey.inside:
        return
    from matplotlib.patheffects import withStroke

    x, y = _scale(survey.x, survey.here[0], survey.units), _scale(survey.y, survey.here[1], survey.units)
    axes.plot([x], [y], marker="o", markersize=9, markerfacecolor="white", markeredgecolor=INK, markeredgewidth=2, zorder=7, linestyle="")
    right = survey.xs[-1] / survey.here[0] < (survey.here[0] / survey.xs[0] if survey.x.logarithmic else 2)
    axes.annotate(
        "this callout",
        (x, y),
        xytext=(-9 if right else 9, 9),
        textcoords="offset points",
        ha="right" if right else "left",
        fontweight="bold",
        fontsize=10,
        path_effects=[withStroke(linewidth=3.5, foreground="white")],
        zorder=8,
    )


def _scales(axes, survey):
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    for axis, on, name in ((survey.x, axes.xaxis, "x"), (survey.y, axes.yaxis, "y")):
        getattr(axes, f"set_{name}label")(axis_title(axis, survey.units), fontsize=10.5)
        if axis.logarithmic:
            on.set_major_locator(LogLocator(subs=(1, 2, 5)))
            on.set_minor_formatter(NullFormatter())
        on.set_major_formatter(FuncFormatter(lambda value, _: mapping.nice(float(f"{value:.6g}"))))
    axes.tick_params(labelsize=9.5)
    axes.set_axisbelow(False)
