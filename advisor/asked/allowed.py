"""Between which values a size may lie, the rest of the callout as stated: by trying what `sizes.agreed` says."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy

from advisor.asked.sizes import NAN, SIZES, STATED, agreed
from advisor.formulas.numeric import either

if TYPE_CHECKING:
    from typing import Any


POINTS = 4000
SMALLEST = 0.05  # mm, from where a range is looked for


def sizes_of(location: Any, form: Any) -> Any:
    """The sizes that a shape has beside its diameter: tuple of names."""
    return SIZES[location, form]


def allowed(name: str, stated: Any, *, radius: Any, location: Any, form: Any, largest: Any) -> Any:
    """Least and most that a size may be [mm], None where no value will do.

    stated: name -> [mm] of what is written, without the size itself; radius [mm]; location, form: words of the shape;
    largest: the most that is looked at, such as the swing of the lathe [mm]. The range begins and ends at the last value
    that was tried and holds; a range down to the least or up to the most that was tried has None there.

    >>> low, high = allowed("diameter", {}, radius=6.0, location="corner", form="convex", largest=300.0)
    >>> round(low, 6), high
    (12.0, None)
    >>> low, high = allowed("width", {"diameter": 40.0}, radius=6.0, location="outside diameter", form="concave", largest=300.0)
    >>> low, round(high, 6)
    (None, 12.0)
    """
    shape = {"convex": form == "convex", "corner": location == "corner", "end": location == "end", "radius": radius}

    def holds(values: Any) -> Any:
        given = {key: numpy.full(values.shape, stated.get(key, NAN)) for key in STATED} | {name: values}
        if location == "outside diameter" and name == "diameter":
            given["depth"] = numpy.full(values.shape, min(SMALLEST, radius / 2))  # no width is known yet
            given["width"] = numpy.full(values.shape, stated.get("width", NAN))
            if "width" in stated or "depth" in stated:
                given["depth"] = numpy.full(values.shape, stated.get("depth", NAN))
        with numpy.errstate(all="ignore"):
            _, checks = agreed(given, alone=False, **shape)
        broken = numpy.zeros(values.shape, dtype=bool)
        for _, here in checks:
            broken = either(broken, here)
        return ~numpy.broadcast_to(numpy.asarray(broken, dtype=bool), values.shape)

    tried = numpy.geomspace(SMALLEST, largest, POINTS)
    good = numpy.flatnonzero(holds(tried))
    if not len(good):
        return None
    first, last = good[0], good[-1]
    low = None if first == 0 else _edge(holds, tried[first - 1], tried[first])
    high = None if last == POINTS - 1 else _edge(holds, tried[last + 1], tried[last])
    return low, high


def _edge(holds: Any, bad: Any, good: Any) -> Any:
    """The last value on the way from a good one to a bad one that holds."""
    for _ in range(60):
        middle = (bad + good) / 2
        if holds(numpy.array([middle]))[0]:
            good = middle
        else:
            bad = middle
    return float(good)
