"""The lengths of a callout, held against each other: what each of the six shapes needs, and what must hold.

Checks compare the radius that is aimed at. The fields come as `given`, which reads a length by its name, shows it
as the user wrote it, and keeps what was assumed (see callout.py).
"""

from advisor.errors import CalloutError
from advisor.geometry import chord_of_arc, depth_of_arc
from advisor.numeric import maximum, minimum

# Sizes that only some shapes have. A length may stand anywhere: the turned diameter must then be long enough.
SIZES = {
    ("corner", "convex"): (),
    ("corner", "concave"): ("shoulder_height",),
    ("end", "convex"): ("width", "depth"),
    ("end", "concave"): ("width", "depth", "rim"),
    ("outside diameter", "convex"): ("width", "depth", "from_end"),
    ("outside diameter", "concave"): ("width", "depth", "from_end"),
}
CLEARANCE = 15.0  # mm from the feature to the chuck in the stickout that is assumed
USUAL_STICKOUT = 1.5  # diameters
LONGEST_PAST = 70.0  # mm that thick work is let out past the feature where nobody says more
DEPTH_AGREES = (0.01, 0.005)  # mm, and share of the depth, by which a stated depth may differ from its width's
ROUNDING = 1e-9  # share by which two sizes may differ on their way from inches and still be alike


def read_sizes(given, *, radius, location, form):
    """Every length of the callout but the radius, name -> mm, None where the shape has no such size.

    radius [mm]; location, form: words. Raises CalloutError with the numbers that clash.
    """
    for key in ("width", "depth", "from_end", "shoulder_height", "rim"):
        if given[key] is not None and key not in SIZES[location, form]:
            problem = f"is not a size of a {form} radius at the {location}"
            raise CalloutError(key, given.show(key), problem, "Leave it out, or change form or location.")
    sizes = {key: given.length(key) for key in ("diameter", "width", "depth", "shoulder_height", "length")}
    sizes |= {key: given.length(key, zero=True) for key in ("from_end", "rim", "bore")}
    if sizes["bore"] is None:
        sizes["bore"] = given.assume("bore", 0.0, "no bore is stated")
    if _reaches(sizes["bore"], sizes["diameter"]):
        problem = f"is not smaller than the {given.show('diameter')} diameter"
        raise CalloutError("bore", given.show("bore"), problem, "Give a smaller bore, or leave it out for solid work.")
    check = {"corner": _corner, "end": _end, "outside diameter": _outside_diameter}[location]
    reach, feature = check(given, sizes, radius, form)
    if sizes["length"] is not None and _exceeds(reach, sizes["length"]):
        problem = f"is less than the {given.size(reach)} from the free end to the far side of the {feature}"
        raise CalloutError(
            "length", given.show("length"), problem, f"Give at least {given.size(reach)}, or leave it out."
        )
    return sizes | {"stickout": _stickout(given, sizes, radius, reach, feature)}


def _exceeds(a, b):
    """True if a is more than b, by more than rounding."""
    return a > b * (1 + ROUNDING)


def _reaches(a, b):
    """True if a is as much as b or more, but for rounding."""
    return a >= b * (1 - ROUNDING)


def _r(given, radius):
    return "R" + given.size(radius).split(" ")[0]


def _corner(given, sizes, radius, form):
    """Reach of a corner from the free end [mm], and what it is called."""
    if form == "convex":
        wall = (sizes["diameter"] - sizes["bore"]) / 2
        if _exceeds(radius, wall):
            over = "half the diameter" if not sizes["bore"] else "the wall between bore and diameter"
            problem = f"is more than {given.size(wall)}, {over}"
            raise CalloutError("radius", _r(given, radius), problem, f"Give a radius of at most {given.size(wall)}.")
        return radius, "rounded corner"
    height = sizes["shoulder_height"]
    if height is not None and _exceeds(radius, height):
        problem = f"is lower than the fillet {_r(given, radius)} is high"
        fix = f"Give at least {given.size(radius)}, or a smaller radius."
        raise CalloutError("shoulder_height", given.show("shoulder_height"), problem, fix)
    return max(radius, sizes["length"] or 0.0), "fillet"


def _end(given, sizes, radius, form):
    diameter = sizes["diameter"]
    if form == "convex":
        if _exceeds(diameter / 2, radius):
            problem = f"is less than half the {given.show('diameter')} diameter, and a dome has to cover the whole face"
            fix = f"Give a radius of at least {given.size(diameter / 2)}, or the location corner."
            raise CalloutError("radius", _r(given, radius), problem, fix)
        width = sizes["width"]
        if width is not None and (_exceeds(width, diameter) or _exceeds(diameter, width)):
            problem = f"is not the {given.show('diameter')} diameter, which a dome covers from edge to edge"
            raise CalloutError("width", given.show("width"), problem, "Leave it out.")
        sizes["width"] = diameter
        return _agreed_depth(given, sizes, radius), "dome"
    widest = _mouth_of_dish(given, sizes, radius)
    if sizes["width"] is None:
        sizes["width"] = given.assume("width", widest, "diameter less the rim on both sides")
    if _reaches(sizes["bore"], sizes["width"]):
        problem = f"leaves nothing of a dish {given.size(sizes['width'])} wide"
        raise CalloutError("bore", given.show("bore"), problem, "Give a smaller bore, or leave it out for solid work.")
    return _agreed_depth(given, sizes, radius), "dish"


def _mouth_of_dish(given, sizes, radius):
    """Fill in what width and depth say of the mouth; the widest that the rim leaves [mm]."""
    diameter, stated_rim = sizes["diameter"], sizes["rim"] is not None
    if stated_rim and _reaches(2 * sizes["rim"], diameter):
        problem = f"on both sides leaves nothing of the {given.show('diameter')} face"
        raise CalloutError("rim", given.show("rim"), problem, f"Give less than {given.size(diameter / 2)}.")
    widest = diameter - 2 * (sizes["rim"] or 0.0)
    _width_from_depth(given, sizes, radius)
    if sizes["width"] is None:
        if _exceeds(widest, 2 * radius):
            problem = f"is missing: a dish {given.size(widest)} wide does not fit {_r(given, radius)}"
            fix = f"Give a width of at most {given.size(2 * radius)}, a wider rim, or a larger radius."
            raise CalloutError("width", "", problem, fix)
    elif _exceeds(sizes["width"], widest):
        key = "width" if given["width"] is not None else "depth"
        room = f"the {given.show('diameter')} face" + (f" less a rim of {given.show('rim')}" if stated_rim else "")
        dish = "is" if key == "width" else f"makes a dish {given.size(sizes['width'])} wide,"
        problem = f"{dish} wider than {room}"
        raise CalloutError(key, given.show(key), problem, f"The width may be at most {given.size(widest)}.")
    if not stated_rim:
        rim = (diameter - sizes["width"]) / 2 if sizes["width"] is not None else 0.0
        origin = "no rim is stated" if sizes["width"] is None else "what the width leaves of the face"
        sizes["rim"] = given.assume("rim", max(rim, 0.0), origin)
    return widest


def _outside_diameter(given, sizes, radius, form):
    feature = "groove" if form == "concave" else "crown"
    if sizes["width"] is None and sizes["depth"] is None:
        fix = f"Give the width of the {feature}, at most {given.size(2 * radius)}, or its depth."
        raise CalloutError("width", "", "is missing", fix)
    _width_from_depth(given, sizes, radius)
    depth = _agreed_depth(given, sizes, radius)
    deepest = (sizes["diameter"] - sizes["bore"]) / 2
    if _reaches(depth, deepest):
        key = "width" if given["width"] is not None else "depth"
        inside = f"the {given.show('bore')} bore" if sizes["bore"] else "the axis"
        problem = (
            f"makes the {feature} {given.size(depth)} deep, and {inside} lies {given.size(deepest)} below the surface"
        )
        raise CalloutError(key, given.show(key), problem, "Give a narrower or shallower one, or a larger diameter.")
    if sizes["from_end"] is None:
        sizes["from_end"] = given.assume(
            "from_end", sizes["width"], f"one width of the {feature}, for lack of a distance"
        )
    return sizes["from_end"] + sizes["width"], feature


def _width_from_depth(given, sizes, radius):
    """Hold width and depth against the circle; where only the depth is given, work out the width."""
    if sizes["width"] is not None and _exceeds(sizes["width"], 2 * radius):
        problem = f"is wider than the {given.size(2 * radius)} circle of {_r(given, radius)}"
        fix = f"Give a width of at most {given.size(2 * radius)}, or a larger radius."
        raise CalloutError("width", given.show("width"), problem, fix)
    if sizes["depth"] is None:
        return
    if _exceeds(sizes["depth"], radius):
        problem = f"is deeper than half the circle of {_r(given, radius)}"
        fix = f"Give a depth of at most {given.size(radius)}, or a larger radius."
        raise CalloutError("depth", given.show("depth"), problem, fix)
    if sizes["width"] is None:
        sizes["width"] = chord_of_arc(radius=radius, depth=min(sizes["depth"], radius))


def _agreed_depth(given, sizes, radius):
    """Depth of the arc under its width [mm]; a depth that is given too must agree with it (DEPTH_AGREES)."""
    depth = depth_of_arc(radius=radius, chord=min(sizes["width"], 2 * radius))
    stated = sizes["depth"]
    if stated is not None and abs(stated - depth) > max(DEPTH_AGREES[0], DEPTH_AGREES[1] * depth):
        width = given.show("width") if given["width"] is not None else given.size(sizes["width"])
        problem = (
            f"does not agree with the width {width} and {_r(given, radius)}, which make {given.size(depth)} of depth"
        )
        raise CalloutError(
            "depth", given.show("depth"), problem, "Correct width, depth or radius, or leave the depth out."
        )
    return depth


def usual_stickout(*, diameter, far_side):
    """The stickout that is assumed [mm]: one and a half diameters, but from 15 to 70 mm past the feature.

    diameter [mm]; far_side: from the free end to the far side of the feature [mm]. Numbers or arrays. Nobody lets a
    large piece out by its diameter to round its edge.

    >>> usual_stickout(diameter=40.0, far_side=6.0), usual_stickout(diameter=10.0, far_side=6.0)
    (60.0, 21.0)
    >>> usual_stickout(diameter=180.0, far_side=10.0)
    80.0
    """
    return maximum(minimum(USUAL_STICKOUT * diameter, far_side + LONGEST_PAST), far_side + CLEARANCE)


def _stickout(given, sizes, radius, reach, feature):
    stickout = given.length("stickout")
    if stickout is None:
        far_side = radius + (sizes["length"] or radius) if feature == "fillet" else reach
        origin = "one and a half diameters, but from 15 to 70 mm past the feature"
        return given.assume("stickout", usual_stickout(diameter=sizes["diameter"], far_side=far_side), origin)
    if _exceeds(reach, stickout):
        problem = f"does not reach the far side of the {feature}, {given.size(reach)} from the free end"
        raise CalloutError("stickout", given.show("stickout"), problem, f"Give at least {given.size(reach)}.")
    return stickout
