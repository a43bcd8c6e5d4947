"""Correcting a setting on its trial piece: an Advice and what was measured in, what to move and what comes of it out.

Plain data; the words are in show/correct.py. What is known of the error is carried through to what is promised of the next
piece, 19 times out of 20.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

from advisor.answer.wording import as_marked
from advisor.asked.measured import WORDS
from advisor.asked.radius_text import DEFAULT_GENERAL_TOLERANCE, general_tolerance
from advisor.formulas import gauging, geometry, minutes
from advisor.formulas import trial_piece as from_reading
from advisor.formulas.rod import seat_height_allowance
from advisor.ground import dials
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.methods import methods
from advisor.ground.units import INCH, read_quantity, show_length, shown

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice


ALIKE = {"shoulder": "face", "ends": "both ends", "in the middle": "middle", "at both ends": "both ends", "no": "none"}
# Each way of gauging: what it takes, and what it may take besides.
WAYS = {
    "radius": (("measured_radius",), ()),
    "two depths": (("measured_depth", "measured_width", "inner_depth", "inner_width"), ()),
    "depth": (("measured_depth",), ("measured_width",)),
    "diameters": (("crest", "edge", "measured_width"), ()),
    "slanting": (("across", "slanting"), ()),
    "across": (("across",), ()),
    "ball": (("ball", "over_ball"), ("small_diameter", "light")),
    "pins": (("pins", "over_pins"), ()),
    "leaf": (("light",), ("leaf", "gap", "moved")),
    "middle": (("middle",), ("ring", "pip", "moved")),
    "step": (("step",), ("gap", "moved")),
    "ridge": (("ridge",), ("starts", "gap", "moved")),
}
ON = {  # the shapes that a way is for: corner, end or outside diameter, convex or concave
    "two depths": ("dome", "dish"),
    "depth": ("dome", "dish", "crown", "groove"),
    "diameters": ("crown", "groove"),
    "slanting": ("dome",),
    "across": ("dome",),
    "ball": ("fillet",),
    "pins": ("groove",),
    "middle": ("dome", "dish"),
    "step": ("rounded corner", "fillet"),
    "ridge": ("rounded corner", "fillet"),
}
# Of a normal error seen by its sign only: the share that lies within the bracket. With what the move itself spreads, 19
# times out of 20 remain.
BRACKET = NormalDist().inv_cdf(0.9875)
TWO_SIDED = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True, kw_only=True)
class Measured:
    """What was measured on the trial piece: lengths [mm] and words, None where it was not. The names are those of
    `measured.OPTIONS`."""

    measured_radius: float | None = None
    measured_depth: float | None = None
    measured_width: float | None = None
    inner_depth: float | None = None
    inner_width: float | None = None
    crest: float | None = None
    edge: float | None = None
    across: float | None = None
    slanting: float | None = None
    ball: float | None = None
    over_ball: float | None = None
    small_diameter: float | None = None
    pins: float | None = None
    over_pins: float | None = None
    leaf: float | None = None
    gap: float | None = None
    ring: float | None = None
    pip: float | None = None
    starts: float | None = None
    good_to: float | None = None
    moved: float | None = None
    light: str | None = None
    middle: str | None = None
    step: str | None = None
    ridge: str | None = None

    @property
    def stated(self) -> tuple[str, ...]:
        """Names of what was measured."""
        return tuple(field.name for field in fields(self) if getattr(self, field.name) is not None)

    def known(self, name: str) -> float:
        """A length that the way of gauging needs [mm]. Raises ValueError where it was not measured."""
        length = getattr(self, name)
        if length is None:
            raise ValueError(f"{name} was not measured")
        return length


@dataclass(frozen=True)
class Move:
    """One thing to move.

    part: what ("tip", "slide", "rod", "centre", "edge", "tool", "height", "file"); way: which way or where, as a word;
    amount: how far [mm], or by what angle [deg] where part is "tool"; None where it is not known; reading: of
    its dial (dials.Reading), None where there is none; left: what half a line leaves [mm]; halves:
    whether the amount is half of what it may be.
    """

    part: str
    way: str
    amount: float | None
    reading: dials.Reading | None = None
    left: float = 0.0
    halves: bool = False

    @property
    def turned(self) -> Any:
        """How far it really goes: the amount, to what its dial or indicator shows [mm]."""
        return None if self.amount is None else self.amount - self.left


@dataclass(frozen=True)
class Next:
    """What the next piece should measure: way of gauging, reading [mm], how far it may be off 19 times in 20 [mm]."""

    way: str
    reading: float
    within: float


@dataclass(frozen=True, kw_only=True)
class Correction:
    """What a trial piece says. Lengths in mm; None where not known.

    way: of gauging (a key of WAYS); verdict: "move", "check" (so far off that gauge and reading are doubted first; a
    form tool is ground anew), "by halves" (only the direction is known), "leave" (the error is within the doubt, or
    under what a dial shows), "right" (nothing shows), "unknown" (this measurement cannot tell); why: one of a few words
    for it; radius: of the trial piece, within: how far that may be off 19 times in 20; bracket: where only the
    direction is known, the most that it may be off, with its sign; off_axis, off_axis_within: of the centre from its
    place, toward the tool's side or away from the axis or toward the headstock more than nothing; error: what the
    radius is off, too large more than nothing; either: what the radius is off, or else the centre stands off the axis
    by, where the reading does not say which; at_most: what the radius is at most, where no more is known; width,
    width_within: the drawing's width where none was measured, and the limits of its error; profile: the most that the
    surface is off; chase: an error under it says nothing of the setting; moves: Moves in order; then_radius,
    then_within: of the next piece, 19 times in 20; then_off_axis_within: of its centre; then_gap: widest light that it
    may show; next: Nexts; rounds: of the hand; saved: whether the trial piece can be cut right, None where that is not
    known; flats_down: how far both flats of it would have to come back to make it right; seat_height: difference of a
    rod's seats, tip_height: of a form tool from centre, that would explain the radius as well; limits: whether the
    trial piece lies "inside" or "outside" its limits for sure, or in "doubt", '' where not known; coarse: whether the
    gauge tells no more than the tolerance.
    """

    method: str
    way: str
    verdict: str
    why: str = ""
    radius: float | None = None
    within: float | None = None
    bracket: float | None = None
    off_axis: float | None = None
    off_axis_within: float | None = None
    error: float | None = None
    either: float | None = None
    at_most: float | None = None
    width: float | None = None
    width_within: float | None = None
    profile: float | None = None
    chase: float | None = None
    moves: tuple[Move, ...] = ()
    then_radius: float | None = None
    then_within: float | None = None
    then_off_axis_within: float | None = None
    then_gap: float | None = None
    next: tuple[Next, ...] = ()
    rounds: int | None = None
    flats_down: float | None = None
    saved: bool | None = None
    seat_height: float | None = None
    tip_height: float | None = None
    limits: str = ""
    coarse: bool = False

    def known(self, name: str) -> float:
        """A length that goes with another that is known [mm]. Raises ValueError where it is not."""
        length = getattr(self, name)
        if length is None:
            raise ValueError(f"{name} is not known")
        return length


# ---- reading what was measured


def read_measured(texts: Mapping[str, str | None], *, units: str) -> Measured:
    """What was measured, from texts by the names of measured.OPTIONS, a bare number in the drawing's unit -> Measured."""
    found: dict[str, Any] = {}
    for name, text in texts.items():
        if text is None:
            continue
        if name in WORDS:
            found[name] = _word(name, text)
        else:
            found[name.replace("-", "_")] = read_quantity(
                text, field=name, dimension="length", default_unit="in" if units == "inch" else "mm", positive=True
            )
    return Measured(**found)


def _word(name: str, text: str) -> str:
    words = WORDS[name][1]
    spoken = " ".join(str(text).replace("-", " ").replace("_", " ").lower().split())
    spoken = ALIKE.get(spoken, spoken)
    if spoken not in words:
        fix = f"{did_you_mean(spoken, words)}Give {', '.join(words[:-1])} or {words[-1]}."
        raise CalloutError(name, shown(text), "is not a word for it", fix)
    return spoken


def way_of(measured: Measured, values: Mapping[str, float]) -> str:
    """The way of gauging that the measurements make: a key of WAYS. CalloutError where they make none, or more."""
    stated = set(measured.stated) - {"good_to"}
    if not stated:
        fix = "Say what the trial piece measured, such as --measured-radius, --measured-depth or --light."
        raise CalloutError("correct", "", "has nothing measured to go by", fix)
    fits = [way for way, (needs, may) in WAYS.items() if set(needs) <= stated <= {*needs, *may}]
    if not fits:
        raise _no_way(stated)
    way, shape = fits[0], shape_of(values)
    if way in ON and shape not in ON[way]:
        option = f"--{WAYS[way][0][0].replace('_', '-')}"
        problem = f"says nothing on a {shape}"
        raise CalloutError(option, "", problem, f"It is for a {' or '.join(ON[way])}.")
    return way


def _no_way(stated: Any) -> Any:
    """What is missing from the way that comes nearest, or which two do not go together."""

    def option(name: str) -> Any:
        return f"--{name.replace('_', '-')}"

    def strange(way: Any) -> Any:
        needs, may = WAYS[way]
        return len(stated - {*needs, *may}), len(set(needs) - stated)

    way = min((w for w in WAYS if stated & {*WAYS[w][0], *WAYS[w][1]}), key=strange)
    needs, may = WAYS[way]
    missing = [option(name) for name in needs if name not in stated]
    if missing:
        return CalloutError(missing[0], "", "is missing", f"{option(sorted(stated)[0])} says nothing without it.")
    more = sorted(stated - {*needs, *may})
    return CalloutError(
        option(more[0]), "", f"does not go with {option(needs[0])}", "Correct by one of them at a time."
    )


def shape_of(values: Mapping[str, float]) -> str:
    """The shape by its one word."""
    convex = values["convex"]
    if values["corner"]:
        return "rounded corner" if convex else "fillet"
    if values["end"]:
        return "dome" if convex else "dish"
    return "crown" if convex else "groove"


# ---- the correction


def correct(advice: Advice, name: str, measured: Measured) -> Correction:
    """What a trial piece made by a method says of the setting -> Correction.

    advice: for the callout in its shop; name: of the method; measured: Measured. Raises CalloutError where the measurements do not belong together or to the shape, or cannot be.
    """
    method = advice.methods[name]
    if method.setup is None:
        raise CalloutError("method", name, "cannot make this shape", "Name the method that made the trial piece.")
    return _Corrected(advice, method, measured).answer()


class _Corrected:
    def __init__(self, advice: Advice, method: MethodAdvice, measured: Measured) -> None:
        self.advice, self.method, self.m = advice, method, measured
        self.v = advice.values
        self.width_given = measured.measured_width is not None
        self.dials = dials.of_lathe(advice.lathe, advice.shop.units)
        self.convex, self.corner, self.end = (bool(self.v[n]) for n in ("convex", "corner", "end"))
        self.way = way_of(measured, self.v)
        if self.way == "depth" and not self.width_given:
            self.m = replace(measured, measured_width=self.v["chord"])
        self.target = self.v["radius"]
        self.per_radius = self.v["profile_per_radius"]
        self.kind = methods()[method.name]
        self.swung, self.hand = self.kind.swung, self.kind.by_hand
        self.piece = method.piece_error / self.per_radius  # of the radius, standard deviation [mm]
        self.move = self.v[f"{method.prefix}_set_least"] / self.per_radius  # of a correction made with care

    def answer(self) -> Correction:
        strange = {"step": "starts", "ridge": "gap" if self.convex else "starts"}.get(self.way)
        if strange and getattr(self.m, strange) is not None:
            fix = "Give --gap for the height of a step, and --starts where a rounded corner meets its flat at an edge."
            raise CalloutError(f"--{strange}", "", f"says nothing of such a {self.way}", fix)
        if self.way == "middle":
            return self.by_the_middle()
        if self.way in ("step", "ridge"):
            return self.by_the_flat()
        if self.way == "leaf" and (self.m.gap is None or self.m.light == "none"):
            return self.by_the_light()
        if self.way in ("depth", "diameters", "two depths") and self.past_the_depth():
            return self.result("unknown", why="past the depth's sweep")
        if self.way == "leaf" and self.m.light == "one end":
            return self.at_one_end()
        if self.way == "ball" and self.rests_on_diameter():
            return self.by_a_resting_ball()
        if self.way == "pins" and (wrong := self.on_the_edge()):
            raise wrong
        return self.by_the_radius(*self.reading())

    def past_the_depth(self) -> Any:
        """Whether the width that a depth was measured over reaches round so far that its rim is nearly a tangent."""
        width = self.m.known("measured_width")
        if width >= 2 * self.target:
            return True
        return geometry.sweep_of_arc(radius=self.target, chord=width) > self.v["depth_sweep"]

    def refused(self, radius: float | None = None) -> CalloutError:
        """The error for readings that no such arc can have."""
        units = self.advice.callout.units
        option = f"--{(self.m.leaf and 'leaf') or WAYS[self.way][0][0].replace('_', '-')}"
        told = "" if radius is None else f" would make R {show_length(radius, units)}, which"
        fix = f"R should be near {show_length(self.target, units)}. Read the gauge again, and see that each figure has its unit."
        return CalloutError(option, "", f"{told} cannot be on such an arc".strip(), fix)

    def result(self, verdict: str, **known: Any) -> Correction:
        return Correction(method=self.method.name, way=self.way, verdict=verdict, **known)

    # -- what the reading says

    def limit(self, usual: float) -> Any:
        """The limits of a reading's error: as stated, or as usual for the gauge."""
        if self.m.good_to is not None:
            return self.m.good_to
        if usual is None or not math.isfinite(usual):
            fix = "Say how far the reading may be off, such as --good-to 0.02."
            raise CalloutError("--good-to", "", "is missing: nothing in this shop's file measures that", fix)
        return usual

    def inputs(self) -> Any:
        """What was read: name -> (reading, limits of its error) [mm]."""
        m, v, limit = self.m, self.v, self.limit
        micrometer, caliper = v["micrometer_error"], v["width_error"]
        if self.way == "radius":
            return {"radius": (m.measured_radius, limit(v["comparator_sees"] / self.per_radius))}
        if self.way in ("depth", "two depths"):
            reading = limit(v["depth_error_here"])
            found = {"depth": (m.measured_depth, reading), "width": (m.measured_width, self.width_doubt())}
            if self.way == "two depths":
                found |= {"inner_depth": (m.inner_depth, reading), "inner_width": (m.inner_width, caliper)}
            return found
        if self.way == "diameters":
            both = limit(micrometer)
            return {"crest": (m.crest, both), "edge": (m.edge, both), "width": (m.measured_width, caliper)}
        if self.way in ("across", "slanting"):
            found = {"across": (m.across, limit(micrometer))}
            return found | ({"slanting": (m.slanting, limit(micrometer))} if m.slanting else {})
        if self.way == "ball":
            diameter = (m.small_diameter or v["diameter"], micrometer)
            return {"reading": (m.over_ball, limit(micrometer)), "diameter": diameter}
        if self.way == "pins":  # the difference of two readings
            return {"rise": (m.over_pins, limit(math.sqrt(2) * micrometer))}
        return {"gap": (m.gap, limit(v["straightedge_sees"]))}

    def width_doubt(self) -> Any:
        """Limits of the width's error: a caliper's, or what the drawing allows where nobody measured it [mm]."""
        if self.width_given:
            return self.v["width_error"]
        stated, width = self.advice.callout.general_tolerance or "", self.m.known("measured_width")
        allowed = general_tolerance(stated, width, form="concave") if "2768" in stated else math.nan
        if not math.isfinite(allowed):
            allowed = general_tolerance(DEFAULT_GENERAL_TOLERANCE, width, form="concave")
        return allowed if allowed > self.v["width_error"] else self.v["width_error"]

    def radius_of(self, **read: Any) -> Any:
        """The radius from readings [mm]."""
        if self.way == "radius":
            return read["radius"]
        if self.way == "diameters":
            read = {
                "depth": from_reading.depth_of_crown(crest=read["crest"], edge=read["edge"]),
                "width": read["width"],
            }
        if self.way in ("depth", "diameters"):
            return from_reading.radius_of_depth(**read)
        if self.way == "two depths":
            off_axis = from_reading.centre_off_axis(**read)
            return from_reading.radius_off_axis(depth=read["depth"], width=read["width"], off_axis=off_axis)
        if self.way == "across":
            return from_reading.radius_of_ball(across=read["across"], off_axis=0.0)
        if self.way == "slanting":
            return from_reading.radius_of_ball(across=read["across"], off_axis=from_reading.off_axis_of_ball(**read))
        if self.way == "ball":
            return from_reading.radius_over_ball(**read, ball=self.m.known("ball"))
        if self.way == "pins":
            return from_reading.radius_over_pins(rise=read["rise"], pin=self.m.known("pins"))
        leaf, middle = self.m.leaf or self.target, self.m.light == "middle"
        if self.corner:
            return from_reading.corner_under_leaf(leaf=leaf, gap=read["gap"], middle=middle, convex=self.convex)
        chord = self.v["chord"]
        depth = from_reading.depth_under_leaf(
            leaf=leaf, width=chord, gap=read["gap"], middle=middle, convex=self.convex
        )
        return from_reading.radius_of_depth(depth=depth, width=chord)

    def off_axis_of(self, **read: Any) -> Any:
        if self.way == "two depths":
            return from_reading.centre_off_axis(**read)
        return from_reading.off_axis_of_ball(**read)

    def reading(self) -> Any:
        """Radius, its standard uncertainty, and the same of the centre off the axis where it is known, else None."""
        read = self.inputs()
        radius, doubt = _carried(self.radius_of, read)
        if radius is None:
            raise self.refused()
        if self.way in ("two depths", "slanting"):
            off_axis, off_axis_doubt = _carried(self.off_axis_of, read)
            if off_axis is None or abs(off_axis) > self.target:
                raise self.refused()
            return radius, doubt, off_axis, off_axis_doubt
        return radius, self.with_place(doubt), None, None

    def with_place(self, doubt: Any) -> Any:
        """The doubt about a radius that is read over the whole of an end. The centre may stand off the axis by as much as
        the setting allows, and leads such a reading astray."""
        if not (self.end and self.swung):
            return doubt
        allowed = self.v[f"{self.method.prefix}_offset_allowance"]
        if not math.isfinite(allowed):
            return doubt
        width, depth = self.m.measured_width or self.v["chord"], self.m.measured_depth or self.v["depth"]
        slope = 1.0 if self.way == "across" else from_reading.radius_per_off_axis(depth=depth, width=width)
        return math.hypot(doubt, slope * from_reading.standard(limit=allowed))

    def rests_on_diameter(self) -> Any:
        """Whether the ball rests on the diameter, for all that the reading tells. CalloutError where it would have to lie
        in it."""
        diameter, doubt = self.m.small_diameter or self.v["diameter"], self.ball_doubt()
        stands = self.m.known("over_ball") - diameter - self.m.known("ball")
        if stands < -(self.limit(self.v["micrometer_error"]) + self.v["micrometer_error"]):
            units = self.advice.callout.units
            over, both = (
                show_length(size, units) for size in (self.m.known("over_ball"), diameter + self.m.known("ball"))
            )
            fix = "Diameter, ball or reading is wrong: measure the small diameter, and give it with --small-diameter."
            raise CalloutError("--over-ball", over, f"is less than diameter and ball together, {both}", fix)
        return stands <= doubt

    def ball_doubt(self) -> Any:
        """How far over ball and diameter may be off, 19 times in 20 [mm]."""
        error = self.v["micrometer_error"]
        return from_reading.COVERAGE * from_reading.standard(limit=math.hypot(self.limit(error), error))

    def by_a_resting_ball(self) -> Any:
        """The ball rests on the diameter: the radius is no more than its own, and only light behind it shows a smaller
        one."""
        own = self.m.known("ball") / 2
        most = own + self.ball_doubt() / from_reading.TANGENT_SHARE
        if self.beyond(most - self.target):
            return self.result("unknown", why="ball at one point", at_most=most)
        if own < self.target - self.chase_by_light() or self.m.light not in (None, "none"):
            return self.by_sign(larger=False, why="ball rests on the diameter")
        if self.m.light is None:
            return self.result("unknown", why="behind the ball")
        return self.by_the_radius(own, from_reading.standard(limit=self.v["light_gap"] / self.per_radius))

    def chase_by_light(self) -> Any:
        """How far the radius may be off where a leaf shows no light [mm]."""
        return from_reading.COVERAGE * from_reading.standard(limit=self.v["light_gap"] / self.per_radius)

    def on_the_edge(self, radius: Any = None) -> Any:
        """The error where two pins touch a groove too near to its edges, or at a radius past them; else None."""
        half, pin = self.v["chord"] / 2, self.m.known("pins")
        room = half if radius else self.v["pin_contact_share"] * half
        radius = radius or self.target
        touches = gauging.pair_contact(radius=radius, pin=pin) if pin < radius else math.inf
        if touches <= room * (1 + 1e-9):
            return None
        units, right = self.advice.callout.units, self.v["pin"]
        if math.isfinite(right):
            fix = f"Take two of {as_marked(right, units)}, or smaller."
        else:
            fix = "Take smaller ones, or gauge the groove by its depth or a leaf."
        edge = show_length(half, units)
        problem = "are too large for a groove of this radius"
        if math.isfinite(touches):
            at = show_length(touches, units)  # type: ignore[arg-type]
            problem = f"touch the groove at {at} from its middle, and its edge lies at {edge}"
        return CalloutError("--pins", as_marked(pin, units), problem, fix)

    # -- by a known radius

    def by_the_radius(self, radius: Any, doubt: Any, off_axis: Any = None, off_axis_doubt: Any = None) -> Any:
        twice, promised = from_reading.COVERAGE, from_reading.PROMISED
        times = self.v["slip_of_the_pen"]
        if not self.target / times <= radius <= self.target * times:
            raise self.refused(radius)
        over_ball = self.way in ("across", "slanting")  # a ball may come out smaller than its bar
        if not (self.corner or over_ball) and radius < self.v["chord"] / 2 - self.v["width_error"]:
            raise self.refused(radius)
        if self.way == "pins" and (wrong := self.on_the_edge(radius)):
            raise wrong
        error = radius - self.target
        chase = twice * math.hypot(doubt, self.piece)
        known = {
            "radius": radius,
            "within": twice * doubt,
            "error": error,
            "profile": self.profile(radius),
            "chase": chase,
            "width": None if self.width_given or self.way != "depth" else self.m.measured_width,
            "width_within": None if self.width_given or self.way != "depth" else self.width_doubt(),
            "limits": self.limits(radius, twice * doubt),
            "coarse": twice * doubt > self.v["tolerance"],
        }
        moves = []
        if off_axis is not None:
            known |= {"off_axis": off_axis, "off_axis_within": twice * off_axis_doubt}
            known["then_off_axis_within"] = abs(off_axis) + promised * off_axis_doubt
            if abs(off_axis) > twice * off_axis_doubt:
                moves.append(self.centre_move("across", off_axis))
                moved = self.moving("across")
                known["then_off_axis_within"] = abs(moves[0].left) + promised * math.hypot(off_axis_doubt, moved)
        if self.way == "across" and not self.hand and abs(error) > chase:
            # 2(R + e): a centre that stands off the axis reads the same.
            alone = {name: known[name] for name in ("chase", "limits", "coarse")}
            return self.result("unknown", why="across alone", either=error, **alone)
        move = None if self.hand else self.radius_move(error)
        if abs(error) <= chase or (move and not move.turned):
            known["why"] = "" if abs(error) <= chase else "under a line"
            then = promised * math.hypot(doubt, math.sqrt(2) * self.piece)
            verdict = "move" if moves else "leave"
            return self.promised(verdict, tuple(moves), radius, then, doubt, known)
        if self.hand:
            return self.by_hand(error, known)
        beyond = self.beyond(error)
        if beyond and self.kind.formed:  # no hone takes that off: it is ground anew
            return self.result("check", **known, **self.this_piece(error, "move", known["limits"]))
        moves.append(move)
        if self.kind.formed and error > 0 and not (self.corner or self.end):
            known["tip_height"] = self.height_as_well(radius)
        if self.kind.placed == "seat" and error < 0:
            length = self.method.to_set["seat_to_seat_mm"]
            known["seat_height"] = seat_height_allowance(length=length, tolerance=-error, share=1.0)
        then = promised * math.sqrt(doubt**2 + 2 * self.piece**2 + self.move**2)
        expected = self.target + math.copysign(1.0, error) * moves[-1].left
        return self.promised("check" if beyond else "move", tuple(moves), expected, then, doubt, known)

    def beyond(self, error: Any) -> Any:
        """Whether an error is more than a correction is for."""
        share, times = self.v["correction_share"], self.v["correction_tolerances"]
        return abs(error) > max(share * self.target, times * self.v["tolerance"])

    def height_as_well(self, radius: Any) -> Any:
        """How far off centre height the tool would make as much of the radius; None where it is more than anybody would
        overlook [mm]."""
        edge, work = (geometry.depth_of_arc(radius=r, chord=self.v["chord"]) for r in (self.target, radius))
        height = from_reading.off_height_of_edge(diameter=self.v["diameter"], edge_depth=edge, work_depth=work)
        return height if height <= self.v["overlooked_height"] else None

    def limits(self, radius: Any, doubt: Any) -> Any:
        low, high = self.v["radius_low"], self.v["radius_high"]
        if low <= radius - doubt and radius + doubt <= high:
            return "inside"
        return "outside" if radius + doubt < low or radius - doubt > high else "doubt"

    def promised(self, verdict: Any, moves: Any, expected: Any, within: Any, doubt: Any, known: Any) -> Any:
        return self.result(
            verdict,
            **known,
            **self.this_piece(known["error"], verdict, known["limits"]),
            moves=moves,
            then_radius=expected,
            then_within=within,
            then_gap=(abs(expected - self.target) + within) * self.per_radius,
            next=self.next(expected, within, doubt),
        )

    def radius_move(self, error: Any, *, halves: bool = False) -> Any:
        """The move that takes so much off the radius."""
        moves, larger = self.kind.moves, error > 0
        if moves:
            way = moves["convex" if self.convex else "concave"][0 if larger else 1]
            return self.moved(moves["part"], way, abs(error), moves.get("dial"), halves)
        # An edge is the work's negative: it stands too far out where the work shows light, and only loses metal.
        where = "middle" if larger == self.convex else "both ends"
        return Move("edge", where, self.profile(self.target + error), halves=halves)

    def moved(self, part: Any, way: Any, amount: Any, slide: Any, halves: bool = False) -> Any:
        dial = self.dials.get(slide)
        if dial is None or not dial.graduation > 0:  # by an indicator, to a line of it
            step = INCH / 2000 if self.advice.shop.units == "inch" else 0.01
            lines = math.ceil(amount / step - 1e-9) if halves else round(amount / step)
            return Move(part, way, amount, None, amount - lines * step, halves)
        # A half goes no less far than half, so that no more than what was set can be left.
        reading = dials.read(dial, amount, up=halves)
        return Move(part, way, amount, reading, reading.left / (2 if dial.doubled else 1), halves)

    def moving(self, along: Any) -> Any:
        """Standard uncertainty of a centre's move: by the cross dial, or along the bed as a touch leaves it [mm]."""
        touched = self.v["step_dial_spread"]  # spread of a place found by a touch and the dials
        return touched if along == "along" else from_reading.standard(limit=max(self.half_line("cross"), touched))

    def half_line(self, slide: Any) -> Any:
        """Half a line of a slide's dial, of the slide's own way; a line of an indicator where nobody knows it [mm]."""
        dial = self.dials[slide]
        return dial.graduation / (4 if dial.doubled else 2) if dial.graduation > 0 else 0.01

    def centre_move(self, along: Any, off: Any, *, halves: bool = False) -> Any:
        """The move of the centre that takes so much off its distance: across the axis, or along it.

        across: off is more than nothing where the centre stands toward the tool's side; along: where it stands toward the
        headstock.
        """
        if along == "across":
            slide = None if self.kind.placed == "seat" else "cross"  # a rod's seat has no dial
            return self.moved("centre", "in" if off > 0 else "out", abs(off), slide, halves)
        return self.moved("centre", "away" if off > 0 else "toward", abs(off), None, halves)

    def profile(self, radius: Any) -> Any:
        """The most that the surface of such a radius lies off the drawing's, as a leaf shows it [mm]."""
        if self.corner:
            return abs(radius - self.target) * geometry.CRESCENT
        chord = self.v["chord"]
        if radius < chord / 2:
            return abs(radius - self.target)
        wrong, right = (geometry.depth_of_arc(radius=r, chord=chord) for r in (radius, self.target))
        return min(abs(wrong - right), abs(radius - self.target))

    def this_piece(self, error: float, verdict: str, limits: str = "") -> dict[str, Any]:
        """What can become of the trial piece itself. Off a corner only where it lies outside its limits: the arc runs from
        rim to rim over the given width, so a larger one leaves metal, and a smaller one has taken it."""
        known = verdict in ("move", "check")
        if verdict == "leave" or (not self.corner and (limits != "outside" or not known)):
            return {}
        gone = (error > 0) == self.convex if self.corner else error < 0
        if not gone:
            return {"saved": True}
        if self.corner:
            return {"saved": False} | ({"flats_down": from_reading.TANGENT_SHARE * abs(error)} if known else {})
        deep, right = (
            geometry.depth_of_arc(radius=r, chord=self.v["chord"]) for r in (self.target + error, self.target)
        )
        # So small an arc does not reach the rim, and there the metal does not come back.
        return {"saved": False, "flats_down": deep - right if math.isfinite(deep) else None}

    def next(self, radius: Any, within: Any, doubt: Any) -> tuple[Next, ...]:
        """What the next piece should measure, in the way in which this one was."""
        m, shape = self.m, {"radius": radius}
        again = math.hypot(within, from_reading.PROMISED * doubt)
        if self.way == "radius":
            return (Next("radius", radius, again),)
        if self.way in ("depth", "two depths", "diameters") and m.known("measured_width") < 2 * radius:
            width = m.known("measured_width")
            depth: Any = geometry.depth_of_arc(radius=radius, chord=width)
            slope: Any = abs(from_reading.radius_per_depth(depth=depth, width=width))
            return (Next("depth", depth, again / slope),)
        if self.way in ("across", "slanting"):
            return (Next("across", 2 * radius, 2 * again),)
        if self.way == "ball":
            diameter = m.small_diameter or self.v["diameter"]
            reads: Any = gauging.ball_reading(**shape, diameter=diameter, ball=m.known("ball"))
            return (Next("ball", reads, again * from_reading.TANGENT_SHARE),)
        if self.way == "pins" and m.known("pins") < radius:
            rise: Any = gauging.pair_reading(**shape, pin=m.known("pins"))
            slope = abs(from_reading.radius_per_depth(depth=rise, width=m.known("pins")))
            return (Next("pins", rise, again / slope),)
        return ()

    # -- by light alone

    def by_the_light(self) -> Correction:
        m, light = self.m, self.m.light
        if light == "none":
            leaf = m.leaf or self.target
            doubt = self.with_place(from_reading.standard(limit=self.v["light_gap"] / self.per_radius))
            if m.leaf is None or abs(leaf - self.target) <= 1e-9 * self.target:
                gone = {
                    "then_radius": leaf,
                    "then_within": from_reading.COVERAGE * doubt,
                    "then_gap": self.v["light_gap"],
                }
                return self.result("right", radius=leaf, within=from_reading.COVERAGE * doubt, **gone)
            return self.by_the_radius(leaf, doubt)
        if light == "one end":
            return self.at_one_end()
        larger = (light == "middle") == self.convex
        return self.by_sign(larger=larger)

    def by_sign(self, *, larger: bool, why: str = "") -> Correction:
        """Only the direction is known: half of what the setting may be off, and gauge again."""
        if self.hand:
            return self.by_hand(math.nan, {"why": why}, larger=larger)
        if self.m.leaf is not None and abs(self.m.leaf - self.target) > 1e-9 * self.target:
            problem = "is not the drawing's, and light alone does not say how far the work is from it"
            fix = "Find the leaf that shows no light, or give the gap by a feeler with --gap."
            raise CalloutError("--leaf", as_marked(self.m.leaf, self.advice.callout.units), problem, fix)
        bracket = self.m.moved or BRACKET * math.hypot(self.first_spread(), self.piece)
        sign = 1.0 if larger else -1.0
        move = self.radius_move(sign * bracket / 2, halves=True)
        within = bracket / 2 + abs(move.left) + TWO_SIDED * math.sqrt(self.piece**2 + self.move**2)
        return self.result(
            "by halves",
            why=why,
            bracket=sign * bracket,
            moves=(move,),
            then_radius=self.target,
            then_within=within,
            chase=self.chase_by_light(),
            **self.this_piece(sign, "by halves"),
        )

    def first_spread(self) -> Any:
        """Spread of the radius as it is first set [mm]."""
        set_spread = self.v.get(f"{self.method.prefix}_set_spread")
        if set_spread is not None and math.isfinite(set_spread):
            return set_spread
        return self.v[f"{self.method.prefix}_ground_spread"] / self.per_radius

    def at_one_end(self) -> Any:
        """Light at one end: what is off is a place, and what that is depends on shape and method."""
        if self.corner:
            return self.result("unknown", why="step or ridge")
        if self.end:
            return self.result("unknown", why="look at the middle")
        if self.kind.formed:
            gap = self.m.gap
            angle: Any = None if gap is None else from_reading.edge_off_square(gap=gap, width=self.v["chord"])
            return self.result("move", why="not square", profile=gap, moves=(Move("tool", "square", angle),))
        if self.hand:
            return self.by_hand(math.nan, {}, larger=None)
        return self.result("unknown", why="a swing leaves no such arc")

    # -- by the middle of an end, and by the flats of a corner

    def by_the_middle(self) -> Any:
        stands, m = self.m.middle, self.m
        if stands == "pip":
            height: Any = None if m.pip is None else from_reading.off_height_of_pip(pip=m.pip)
            return self.result("move", why="height", moves=(Move("height", "to the axis", height),))
        if self.hand:
            return self.by_hand(math.nan, {}, larger=None)
        # A dome has its dimple, and a dish its nib, where the centre stands on the tool's side of the axis.
        near = (stands == "dimple") == self.convex
        if m.ring is not None and not near:
            problem = "is left by a centre on the tool's side of the axis only"
            fix = "A dome has a ring about a dimple, a dish about a nib."
            raise CalloutError("--ring", show_length(m.ring, self.advice.callout.units), problem, fix)
        return self.by_the_place("across", 1.0 if near else -1.0, self.ring_off())

    def ring_off(self) -> Any:
        if self.m.ring is None:
            return None
        return from_reading.off_axis_of_ring(ring=self.m.ring), self.limit(2 * self.v["width_error"]) / 2

    def by_the_flat(self) -> Any:
        m = self.m
        flat = m.step or m.ridge
        along = "across" if flat == "diameter" else "along"
        # Into the diameter: the centre stands too near to the axis, so it has to come out. Into the face or the shoulder:
        # too near to the headstock.
        deep = -1.0 if along == "across" else 1.0
        if self.hand:
            move = Move("file", "flat" if m.step else "ridge", m.gap)
            return self.result("move", moves=(move,), profile=m.gap)
        if m.step is not None or not self.convex:
            # What is left standing at a fillet is a step as well.
            off = None if m.gap is None else (m.gap, self.limit(self.v["straightedge_sees"]))
            return self.by_the_place(along, deep if m.step is not None else -deep, off)
        return self.by_the_place(along, -deep, None if m.starts is None else self.off_by_start())

    def off_by_start(self) -> Any:
        """How far the centre of a rounded corner stands off its place, by where its arc starts on a flat: value and limits
        of its error [mm]."""
        short = self.target - self.m.known("starts")
        if not 0 < short < self.target:
            size = show_length(self.target, self.advice.callout.units)
            fix = "An arc that meets a flat at an edge starts nearer to the other flat than R."
            raise CalloutError(
                "--starts",
                show_length(self.m.known("starts"), self.advice.callout.units),
                f"is not between nothing and {size}",
                fix,
            )
        # The radius itself may be off by what a setting spreads.
        start = (
            self.m.known("starts"),
            self.limit(math.hypot(self.v["start_seen"], from_reading.ROOT_3 * self.first_spread())),
        )
        off, doubt = _carried(
            lambda start: geometry.depth_of_arc(radius=self.target, chord=2 * (self.target - start)), {"start": start}
        )
        return off, doubt * from_reading.ROOT_3

    def by_the_place(self, along: Any, sign: Any, known: Any) -> Any:
        """A centre off its place, by how much (value, limits of its error) or not known."""
        touched, moving = self.v["step_dial_spread"], self.moving(along)
        twice, promised = from_reading.COVERAGE, from_reading.PROMISED
        if known is None:
            bracket = self.m.moved or BRACKET * touched
            move = self.centre_move(along, sign * bracket / 2, halves=True)
            within = bracket / 2 + abs(move.left) + TWO_SIDED * moving
            return self.result(
                "by halves", bracket=sign * bracket, off_axis=None, moves=(move,), then_off_axis_within=within
            )
        off, limit = known
        doubt = from_reading.standard(limit=limit)
        move = self.centre_move(along, sign * off)
        why = "" if off <= twice * doubt else "under a line"
        if off <= twice * doubt or not move.turned:
            verdict, moves, within = "leave", (), off + promised * doubt
        else:
            verdict, moves, why = "move", (move,), ""
            within = abs(move.left) + promised * math.hypot(doubt, moving)
        return self.result(
            verdict,
            why=why,
            off_axis=sign * off,
            off_axis_within=twice * doubt,
            chase=twice * doubt,
            moves=moves,
            then_off_axis_within=within,
        )

    # -- by hand

    def by_hand(self, error: float, known: Mapping[str, str], larger: bool | None = None) -> Correction:
        """What the file has to take, and where: where the gauge touches."""
        larger = error > 0 if larger is None and error == error else larger
        stands = None if larger is None else ("both ends" if larger == self.convex else "middle")
        profile: Any = known.get("profile")
        rounds, gap = None, None
        if profile is not None:
            allowed, floor, spreads = (
                self.v["profile_tolerance"],
                self.v[f"{self.method.prefix}_floor"],
                self.v["wanted_spreads"],
            )
            rounds = max(
                1, int(minutes.rounds(spread=profile / spreads, allowed=allowed, floor=floor, wanted_spreads=spreads))
            )
            gap = max(profile / 2, floor)
        verdict = "move" if profile is not None else "by halves"
        sign = 1.0 if larger else -1.0
        piece = {} if larger is None else self.this_piece(sign if profile is None else error, verdict)
        move = Move("file", stands or "where it touches", None if profile is None else profile / 2)
        if piece.get("saved") is False:  # both flats are finished: there is nothing to take at the ends of the arc
            move, rounds, gap = Move("file", "nothing", piece.get("flats_down")), None, None
        return self.result(verdict, **known, **piece, moves=(move,), rounds=rounds, then_gap=gap)


def _carried(formula: Any, read: Any) -> Any:
    """A formula's value with its standard uncertainty: each reading's is carried through the slope there (JCGM 100:2008,
    5.1.2 and 5.1.3). None and None where the readings cannot be.

    read: name -> (reading, limits of its error) [mm].
    """
    values = {name: value for name, (value, _) in read.items()}
    square = 0.0
    try:
        middle = formula(**values)
        for name, (value, limit) in read.items():
            step = 1e-6 * max(abs(value), 1e-3)
            up, down = (formula(**{**values, name: value + side}) for side in (step, -step))
            square += ((up - down) / (2 * step) * from_reading.standard(limit=limit)) ** 2
    except (ValueError, ZeroDivisionError):
        return None, None
    return (middle, math.sqrt(square)) if math.isfinite(middle) and math.isfinite(square) else (None, None)
