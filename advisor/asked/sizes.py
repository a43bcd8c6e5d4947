"""The lengths of a callout, held against each other: what each of the six shapes needs, and what must hold.

`agreed` is the one statement of it, for one callout as for columns of them; `read_sizes` words what does not hold for
one callout. Checks compare the radius that is aimed at. The fields come as `given`, which reads a length by its name,
shows it as the user wrote it, and keeps what was assumed (see callout.py).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.formulas.geometry import chord_of_arc, depth_of_arc, swung_diameter
from advisor.formulas.in_the_lathe import longest_alone
from advisor.formulas.numeric import NAN, absolute, both, either, known, maximum, minimum, negate, otherwise, where
from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from advisor.formulas.numeric import Numeric, Truth
    from advisor.ground.errors import InputError


# Sizes that only some shapes have. A length may stand anywhere: the turned diameter must then be long enough.
SIZES = {
    ("corner", "convex"): (),
    ("corner", "concave"): ("shoulder_height",),
    ("end", "convex"): ("width", "depth"),
    ("end", "concave"): ("width", "depth", "rim"),
    ("outside diameter", "convex"): ("width", "depth", "from_end"),
    ("outside diameter", "concave"): ("width", "depth", "from_end"),
}
STATED = ("diameter", "width", "depth", "shoulder_height", "length", "stickout", "from_end", "rim", "bore")
INFINITE = float("inf")
CLEARANCE = 15.0  # mm from the feature to the chuck in the stickout that is assumed
USUAL_STICKOUT = 1.5  # diameters
LONGEST_PAST = 70.0  # mm that thick work is let out past the feature where nobody says more
DEPTH_AGREES = (0.01, 0.005)  # mm, and share of the depth, by which a stated depth may differ from its width's
ROUNDING = 1e-9  # share by which two sizes may differ on their way from inches and still be alike


def agreed(
    stated: Mapping[str, Numeric], *, radius: Numeric, convex: Truth, corner: Truth, end: Truth, alone: Truth
) -> tuple[dict[str, Numeric], list[tuple[str, Truth]]]:
    """What a callout's lengths come to with every default that they leave, and what must hold between them.

    stated: name of STATED -> length [mm], not a number where nothing is written; radius [mm]; convex, corner, end: the
    shape; alone: whether the chuck alone holds the work. Numbers and truth values, or arrays of them. Returns the
    sizes (diameter, chord, from_end, shoulder_height, length, bore, stickout; reach: of the feature from the free
    end; swung: largest diameter) and the checks: list of (what is wrong, where it is), in the order in which they are told.
    """
    checks = []
    outside = negate(either(corner, end))
    fillet, dome, dish = both(corner, negate(convex)), both(end, convex), both(end, negate(convex))
    has = {
        "width": negate(corner),
        "depth": negate(corner),
        "rim": dish,
        "from_end": outside,
        "shoulder_height": fillet,
    }
    for name in ("width", "depth", "from_end", "shoulder_height", "rim"):
        checks.append(("not a size of this shape", both(known(stated[name]), negate(has[name]))))
    diameter, width, depth = stated["diameter"], stated["width"], stated["depth"]
    bore, rim = otherwise(stated["bore"], 0.0), otherwise(stated["rim"], 0.0)
    length, height, from_end = stated["length"], stated["shoulder_height"], stated["from_end"]
    wall = (diameter - bore) / 2
    checks += [
        ("bore as wide as the work", reaches(bore, diameter)),
        ("radius over half the diameter", both(both(corner, convex), exceeds(radius, wall))),
        ("shoulder too low", both(fillet, exceeds(radius, height))),
        ("radius under half the diameter", both(dome, exceeds(diameter / 2, radius))),
        ("dome not across the face", both(dome, either(exceeds(width, diameter), exceeds(diameter, width)))),
        ("rim over the face", both(dish, reaches(2 * rim, diameter))),
        ("width missing", both(outside, negate(either(known(width), known(depth))))),
    ]
    chorded = either(dish, outside)
    checks += [
        ("wider than the circle", both(chorded, exceeds(width, 2 * radius))),
        ("deeper than half the circle", both(chorded, exceeds(depth, radius))),
    ]
    by_depth = chord_of_arc(radius=radius, depth=minimum(depth, radius))
    chord = where(dome, diameter, otherwise(width, by_depth))
    widest = diameter - 2 * rim
    open_mouth = both(dish, negate(known(chord)))
    checks += [
        ("width missing from a dish", both(open_mouth, exceeds(widest, 2 * radius))),
        ("wider than the face", both(dish, exceeds(chord, widest))),
    ]
    chord = where(corner, NAN, where(open_mouth, widest, chord))
    deep = depth_of_arc(radius=radius, chord=minimum(chord, 2 * radius))
    apart = absolute(depth - deep) > maximum(DEPTH_AGREES[0], DEPTH_AGREES[1] * deep)
    checks += [
        ("bore as wide as the dish", both(dish, reaches(bore, chord))),
        ("depth against width", both(negate(corner), apart)),
        ("deeper than the work", both(outside, reaches(deep, wall))),
    ]
    # What is assumed stays within what is stated: a short stickout or length brings the feature nearer to the end.
    room = minimum(otherwise(stated["stickout"], INFINITE), otherwise(length, INFINITE)) - chord
    from_end = where(outside, otherwise(from_end, maximum(minimum(chord, room), 0.0)), NAN)
    in_front = otherwise(length, 0.0)
    at_corner = where(convex, radius, maximum(radius, in_front))
    reach = where(corner, at_corner, where(end, deep, from_end + chord))
    far_side = where(fillet, radius + where(in_front > 0, in_front, radius), reach)
    stickout = otherwise(stated["stickout"], usual_stickout(diameter=diameter, far_side=far_side))
    across = swung_diameter(diameter=diameter, radius=radius, shoulder_height=height, convex=convex, corner=corner)
    checks += [
        ("length too short", exceeds(reach, length)),
        ("stickout too short", exceeds(reach, stated["stickout"])),
        ("too far out of the chuck alone", both(alone, exceeds(stickout, longest_alone(diameter=across)))),
    ]
    sizes = {"diameter": diameter, "chord": chord, "from_end": from_end, "shoulder_height": height, "length": length}
    return sizes | {"bore": bore, "stickout": stickout, "reach": reach, "swung": across}, checks


def exceeds(a: Numeric, b: Numeric) -> Truth:
    """True where a is more than b, by more than rounding; untrue where either is unknown."""
    return a > b * (1 + ROUNDING)


def reaches(a: Numeric, b: Numeric) -> Truth:
    """True where a is as much as b or more, but for rounding; untrue where either is unknown."""
    return a >= b * (1 - ROUNDING)


def usual_stickout(*, diameter: Numeric, far_side: Numeric) -> Numeric:
    """The stickout that is assumed [mm]: one and a half diameters, but from 15 to 70 mm past the feature.

    diameter [mm]; far_side: from the free end to the far side of the feature [mm]. Numbers or arrays. Nobody lets a
    large piece out by its diameter to round its edge.

    >>> usual_stickout(diameter=40.0, far_side=6.0), usual_stickout(diameter=10.0, far_side=6.0)
    (60.0, 21.0)
    >>> usual_stickout(diameter=180.0, far_side=10.0)
    80.0
    """
    return maximum(minimum(USUAL_STICKOUT * diameter, far_side + LONGEST_PAST), far_side + CLEARANCE)


# ---- one callout


def read_sizes(
    given: Any, *, radius: float | None, location: str | None, form: str | None, alone: bool
) -> dict[str, Any]:
    """Every length of the callout but the radius, name -> mm, None where the shape has no such size.

    radius [mm]; location, form: words; each of the three None where it could not be read; alone: whether the chuck alone
    holds the work. What clashes goes with its numbers into the problems of `given`.
    """
    for key in ("width", "depth", "from_end", "shoulder_height", "rim"):
        if given[key] is not None and form and location and key not in SIZES[location, form]:
            problem = f"is not a size of a {form} radius at the {location}"
            given.problems.append(
                CalloutError(key, given.show(key), problem, "Leave it out, or change form or location.")
            )
    if location == "outside diameter" and radius is None and given["width"] is None and given["depth"] is None:
        named = "groove or crown" if form is None else feature(location, form)
        given.problems.append(CalloutError("width", "", "is missing", f"Give the width of the {named}, or its depth."))
    sizes: dict[str, Any] = dict.fromkeys(STATED)
    before = len(given.problems)
    for key in sizes:
        with given.kept():
            sizes[key] = given.length(key, zero=key in ("from_end", "rim", "bore"))
    stickout = sizes.pop("stickout")
    if given.unclear or len(given.problems) > before or sizes["diameter"] is None:
        return sizes
    if radius is None or form is None or location is None:
        return sizes
    if any(problem.field in sizes for problem in given.problems):
        return sizes
    stated = {key: NAN if value is None else value for key, value in (sizes | {"stickout": stickout}).items()}
    shape = {"convex": form == "convex", "corner": location == "corner", "end": location == "end"}
    found, checks = agreed(stated, radius=radius, alone=alone, **shape)
    clash = _Clash(given, sizes, sizes["diameter"], radius, found, location, form)
    blamed = {problem.field for problem in given.problems}
    for check, broken in checks:
        if broken and check in _WORDED and not blamed & _HANGS_ON[check]:  # what hangs on a wrong size says nothing
            error = _WORDED[check](clash)
            blamed.add(error.field)
            given.problems.append(error)
    return _with_assumed(given, sizes, found, location, form) | {"stickout": _stickout(given, found)}


def _with_assumed(
    given: Any, sizes: Mapping[str, float | None], found: Mapping[str, Any], location: str, form: str
) -> dict[str, float | None]:
    """The sizes with what nobody stated filled in and listed as assumed."""
    sizes = dict(sizes)
    if sizes["bore"] is None:
        sizes["bore"] = given.assume("bore", found["bore"], "no bore is stated")
    if location == "corner":
        return sizes
    by_width = sizes["width"] is not None or sizes["depth"] is not None
    if (location, form) == ("end", "concave"):
        if sizes["rim"] is None:
            rim = max((sizes["diameter"] - found["chord"]) / 2, 0.0)
            origin = "what the width leaves of the face" if by_width else "no rim is stated"
            sizes["rim"] = given.assume("rim", rim, origin)
        if not by_width:
            given.assume("width", found["chord"], "diameter less the rim on both sides")
    sizes["width"] = found["chord"]
    if location == "outside diameter" and sizes["from_end"] is None:
        named = feature(location, form)
        origin = f"one width of the {named}, for lack of a distance"
        if exceeds(found["chord"], found["from_end"]):
            origin = f"as far from the end as the {named} can lie in what was stated, for lack of a distance"
        sizes["from_end"] = given.assume("from_end", found["from_end"], origin)
    return sizes


def _stickout(given: Any, found: Mapping[str, Any]) -> float:
    if given["stickout"] is not None:
        return found["stickout"]
    origin = "one and a half diameters, but from 15 to 70 mm past the feature"
    return given.assume("stickout", found["stickout"], origin)


def feature(location: str, form: str) -> str:
    """What a shop calls a shape."""
    return {
        ("corner", "convex"): "rounded corner",
        ("corner", "concave"): "fillet",
        ("end", "convex"): "dome",
        ("end", "concave"): "dish",
        ("outside diameter", "convex"): "crown",
        ("outside diameter", "concave"): "groove",
    }[location, form]


# ---- what does not hold, in words


class _Clash:
    """Sizes that do not go together, as the user wrote them. found: as `agreed` gives them."""

    def __init__(
        self,
        given: Any,
        sizes: Mapping[str, float | None],
        diameter: float,
        radius: float,
        found: Mapping[str, Any],
        location: str,
        form: str,
    ) -> None:
        self.given, self.sizes, self.radius, self.found = given, sizes, radius, found
        self.diameter = diameter
        self.feature = feature(location, form)
        self.show, self.size = given.show, given.size

    @property
    def r(self) -> str:
        """The radius as R and its number."""
        return "R" + self.size(self.radius).split(" ")[0]

    @property
    def chord_key(self) -> str:
        """The field that states the width: width or depth."""
        return "width" if self.given["width"] is not None else "depth"

    def error(self, key: str, problem: str, fix: str) -> InputError:
        """The error about a length that is given."""
        return CalloutError(key, self.r if key == "radius" else self.show(key), problem, fix)


def _bore_as_wide(c: _Clash) -> InputError:
    problem = f"is not smaller than the {c.show('diameter')} diameter"
    return c.error("bore", problem, "Give a smaller bore, or leave it out for solid work.")


def _radius_over_half(c: _Clash) -> InputError:
    wall = c.size((c.diameter - (c.sizes["bore"] or 0.0)) / 2)
    over = "half the diameter" if not c.sizes["bore"] else "the wall between bore and diameter"
    return c.error("radius", f"is more than {wall}, {over}", f"Give a radius of at most {wall}.")


def _shoulder_too_low(c: _Clash) -> InputError:
    problem = f"is lower than the fillet {c.r} is high"
    return c.error("shoulder_height", problem, f"Give at least {c.size(c.radius)}, or a smaller radius.")


def _radius_under_half(c: _Clash) -> InputError:
    problem = f"is less than half the {c.show('diameter')} diameter, and a dome has to cover the whole face"
    half = c.size(c.diameter / 2)
    return c.error("radius", problem, f"Give a radius of at least {half}, or the location corner.")


def _dome_not_across(c: _Clash) -> InputError:
    problem = f"is not the {c.show('diameter')} diameter, which a dome covers from edge to edge"
    return c.error("width", problem, "Leave it out.")


def _rim_over_face(c: _Clash) -> InputError:
    problem = f"on both sides leaves nothing of the {c.show('diameter')} face"
    return c.error("rim", problem, f"Give less than {c.size(c.diameter / 2)}.")


def _width_missing(c: _Clash) -> InputError:
    fix = f"Give the width of the {c.feature}, at most {c.size(2 * c.radius)}, or its depth."
    return CalloutError("width", "", "is missing", fix)


def _wider_than_circle(c: _Clash) -> InputError:
    problem = f"is wider than the {c.size(2 * c.radius)} circle of {c.r}"
    return c.error("width", problem, f"Give a width of at most {c.size(2 * c.radius)}, or a larger radius.")


def _deeper_than_half(c: _Clash) -> InputError:
    problem = f"is deeper than half the circle of {c.r}"
    return c.error("depth", problem, f"Give a depth of at most {c.size(c.radius)}, or a larger radius.")


def _width_missing_from_dish(c: _Clash) -> InputError:
    widest = c.size(c.diameter - 2 * (c.sizes["rim"] or 0.0))
    problem = f"is missing: a dish {widest} wide does not fit {c.r}"
    fix = f"Give a width of at most {c.size(2 * c.radius)}, a wider rim, or a larger radius."
    return CalloutError("width", "", problem, fix)


def _wider_than_face(c: _Clash) -> InputError:
    widest = c.size(c.diameter - 2 * (c.sizes["rim"] or 0.0))
    room = f"the {c.show('diameter')} face"
    if c.sizes["rim"] is not None:
        room += f" less a rim of {c.show('rim')}"
    dish = "is" if c.chord_key == "width" else f"makes a dish {c.size(c.found['chord'])} wide,"
    return c.error(c.chord_key, f"{dish} wider than {room}", f"The width may be at most {widest}.")


def _bore_as_wide_as_dish(c: _Clash) -> InputError:
    problem = f"leaves nothing of a dish {c.size(c.found['chord'])} wide"
    return c.error("bore", problem, "Give a smaller bore, or leave it out for solid work.")


def _depth_against_width(c: _Clash) -> InputError:
    width = c.show("width") if c.given["width"] is not None else c.size(c.found["chord"])
    deep = depth_of_arc(radius=c.radius, chord=min(c.found["chord"], 2 * c.radius))
    problem = f"does not agree with the width {width} and {c.r}, which make {c.size(deep)} of depth"
    return c.error("depth", problem, "Correct width, depth or radius, or leave the depth out.")


def _deeper_than_work(c: _Clash) -> InputError:
    deep = depth_of_arc(radius=c.radius, chord=min(c.found["chord"], 2 * c.radius))
    deepest = c.size((c.diameter - (c.sizes["bore"] or 0.0)) / 2)
    inside = f"the {c.show('bore')} bore" if c.sizes["bore"] else "the axis"
    problem = f"makes the {c.feature} {c.size(deep)} deep, and {inside} lies {deepest} below the surface"
    return c.error(c.chord_key, problem, "Give a narrower or shallower one, or a larger diameter.")


def _length_too_short(c: _Clash) -> InputError:
    reach = c.size(c.found["reach"])
    problem = f"is less than the {reach} from the free end to the far side of the {c.feature}"
    return c.error("length", problem, f"Give at least {reach}, or leave it out.")


def _stickout_too_short(c: _Clash) -> InputError:
    reach = c.size(c.found["reach"])
    problem = f"does not reach the far side of the {c.feature}, {reach} from the free end"
    return c.error("stickout", problem, f"Give at least {reach}.")


def _too_far_out(c: _Clash) -> InputError:
    stated = c.given["stickout"] is not None
    shown = c.show("stickout") if stated else c.size(c.found["stickout"])
    across = c.size(c.found["swung"])
    longest = c.size(longest_alone(diameter=c.found["swung"]))
    problem = f"is farther than the chuck alone holds work of {across}, {longest}"
    if not stated:
        problem += f", and the far side of the {c.feature} lies {c.size(c.found['reach'])} from the free end"
    fix = f"Give at most {longest}, or support it with a tailstock or a steady rest."
    return CalloutError("stickout", shown, problem, fix)


_WORDED = {
    "bore as wide as the work": _bore_as_wide,
    "radius over half the diameter": _radius_over_half,
    "shoulder too low": _shoulder_too_low,
    "radius under half the diameter": _radius_under_half,
    "dome not across the face": _dome_not_across,
    "rim over the face": _rim_over_face,
    "width missing": _width_missing,
    "wider than the circle": _wider_than_circle,
    "deeper than half the circle": _deeper_than_half,
    "width missing from a dish": _width_missing_from_dish,
    "wider than the face": _wider_than_face,
    "bore as wide as the dish": _bore_as_wide_as_dish,
    "depth against width": _depth_against_width,
    "deeper than the work": _deeper_than_work,
    "length too short": _length_too_short,
    "stickout too short": _stickout_too_short,
    "too far out of the chuck alone": _too_far_out,
}
_SHAPED_BY = {"radius", "width", "depth", "from_end", "length"}
# The fields that each of them hangs on: where one of those is wrong already, nothing more is said of it.
_HANGS_ON = {
    "bore as wide as the work": {"bore"},
    "radius over half the diameter": {"radius", "bore"},
    "shoulder too low": {"shoulder_height", "radius"},
    "radius under half the diameter": {"radius"},
    "dome not across the face": {"width"},
    "rim over the face": {"rim"},
    "width missing": {"width", "depth"},
    "wider than the circle": {"width", "radius"},
    "deeper than half the circle": {"depth", "radius"},
    "width missing from a dish": {"width", "depth", "rim"},
    "wider than the face": {"width", "depth", "rim"},
    "bore as wide as the dish": {"bore", "width", "depth", "rim"},
    "depth against width": {"depth", "width", "radius"},
    "deeper than the work": {"width", "depth", "radius", "bore"},
    "length too short": _SHAPED_BY,
    "stickout too short": _SHAPED_BY | {"stickout"},
    "too far out of the chuck alone": _SHAPED_BY | {"stickout"},
}
