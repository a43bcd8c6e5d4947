"""What a trial piece says of the setting, as words for the terminal and as plain data for JSON."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.formulas.trial_piece import TANGENT_SHARE
from advisor.ground import dials
from advisor.ground.methods import methods
from advisor.ground.units import INCH
from advisor.show.as_json import plain
from advisor.show.blocks import head, paragraph
from advisor.study.correction import shape_of

if TYPE_CHECKING:
    from typing import Any

    from rich.console import RenderableType

    from advisor.answer.advice import Advice
    from advisor.study.correction import Correction, Move


def screen(told: Correction, advice: Advice) -> Group:
    """The whole answer: what was measured, what to move, what the next piece should measure."""
    method = Text(f"\nTRIAL PIECE BY {wording.the(told.method).upper()}", style="bold reverse")
    parts: list[RenderableType] = [Text(wording.callout_line(advice)), method]
    for title, lines in sections(told, advice):
        parts += [head(title), *(paragraph(line) for line in lines)]
    return Group(*parts)


def sections(told: Correction, advice: Advice) -> list[tuple[str, list[str]]]:
    """The answer in words: list of (heading, sentences)."""
    return [(title, lines) for title, lines in _Words(told, advice).sections() if lines]


class _Words:
    def __init__(self, told: Correction, advice: Advice) -> None:
        self.told, self.advice, self.v = told, advice, advice.values
        self.kind = methods()[told.method]
        self.units, self.dial_units = advice.callout.units, advice.shop.units
        self.convex, self.corner, self.end = (bool(self.v[n]) for n in ("convex", "corner", "end"))
        self.face = "face" if self.convex else "shoulder"

    def size(self, mm: float, units: str | None = None) -> str:
        return wording.length(mm, units or self.units).split(" (")[0]

    def step(self, mm: float) -> float:
        """The last decimal that a value with such a doubt is worth, a unit of its second figure [mm]."""
        inch = INCH if self.units == "inch" else 1.0
        finest = 1e-4 if self.units == "inch" else 1e-3
        return max(10.0 ** (math.floor(math.log10(max(mm / inch, 1e-9))) - 1), finest) * inch

    def doubt(self, mm: float) -> str:
        """A doubt to two figures, rounded up."""
        step = self.step(mm)
        return f"±{self.size(math.ceil(mm / step - 1e-9) * step)}"

    def known(self, mm: float, doubt: float) -> str:
        """A value with its doubt, to the same decimals."""
        step = self.step(doubt)
        return f"{self.size(round(mm / step) * step)} {self.doubt(doubt)}"

    def amount(self, move: Move) -> str:
        """How far, as the dial shows it where there is one, and in the drawing's unit where that is another."""
        far = self.size(move.turned)
        if move.reading is None:
            shop = self.size(move.turned, self.dial_units)
            return shop if self.dial_units == self.units else f"{shop} ({far})"
        other = f" ({far} of the slide)" if dials.differs(move.reading, self.units) else ""
        return f"{dials.aside(move.reading)}{other}"

    def sections(self) -> list[tuple[str, list[str]]]:
        """What is to be done first, and what it stands on after."""
        told, piece = self.told, self.this_piece()
        scrap = told.verdict == "move" and told.limits == "outside" and told.saved is False and not self.kind.by_hand
        return [
            *([("Scrap", piece)] if scrap else []),
            (self.title(), self.moves()),
            *([] if scrap else [("This piece", piece)]),
            ("Measured", self.measured()),
            ("The next round" if self.kind.by_hand else "The next piece", self.next()),
        ]

    def title(self) -> str:
        told = self.told
        if told.verdict == "check":
            return "Check first"
        if told.limits == "outside" and self.lost_by_hand():
            return "Scrap"
        return "Move" if told.moves else "Leave it" if told.verdict in ("leave", "right") else "Not known"

    def lost_by_hand(self) -> bool:
        """Whether the metal of a piece finished by hand is gone, so that nothing more is to be taken off."""
        return any((move.part, move.way) == ("file", "nothing") for move in self.told.moves)

    # -- what was measured

    def measured(self) -> list[str]:
        told, lines = self.told, []
        if told.radius is not None:
            lines.append(f"R is {self.known(told.radius, told.known('within'))}: {self.too_much()}.")
        elif told.bracket is not None and told.way in ("leaf", "ball"):
            side = "too large" if told.bracket > 0 else "too small"
            lines.append(f"R is {side}; light does not say by how much.")
        if told.width is not None:
            lines.append(
                f"No width was measured: {self.size(told.width)} of the drawing is taken, ±{self.size(told.known('width_within'))}. "
                "Give --measured-width, and R is known better."
            )
        if told.off_axis is not None:
            lines.append(f"{self.place(told.off_axis)}, {self.doubt(told.known('off_axis_within'))}.")
        elif told.bracket is not None and told.way in ("middle", "step", "ridge"):
            lines.append(f"{self.place(told.bracket, far=False)}; by how much is not known.")
        if told.coarse:
            lines.append(
                f"This gauge is coarser than the ±{self.size(self.v['tolerance'])} that R may be off. Measure finer if you can."
            )
        return lines

    def too_much(self) -> str:
        told = self.told
        if told.error is None:
            return "no light shows"
        if not told.error:
            return "as it should be"
        way = "too large" if told.error > 0 else "too small"
        where = " at 45°" if self.corner else ""
        return f"{self.off()} {way}, {self.size(told.known('profile'))} of profile{where}"

    def off(self) -> str:
        """What R is off, to the decimals that its doubt is worth."""
        step = self.step(self.told.known("within"))
        return self.size(max(round(abs(self.told.known("error")) / step), 1) * step)

    def centre(self) -> str:
        return self.kind.centre

    def place(self, off: float, *, far: bool = True) -> str:
        """Where the centre stands, in words; off as in Correction."""
        by = f" {self.size(abs(off))}" if far else ""
        if self.end:
            where = "short of the axis, on the tool's side" if off > 0 else "beyond the axis"
        elif self.told.moves and self.told.moves[0].way in ("toward", "away"):
            where = "too near to the headstock" if off > 0 else "too far from the headstock"
        else:
            where = "too far from the axis" if off > 0 else "too near to the axis"
        return f"The {self.centre()} stands{by} {where}"

    # -- what to move

    def moves(self) -> list[str]:
        told = self.told
        first = [self.check()] if told.verdict == "check" else []
        if not told.moves:
            return first or [self.no_move()]
        lines = first + [self.move(move) for move in told.moves]
        if told.verdict == "by halves" and told.bracket is not None:
            seen = "light shows still, on whichever side" if told.way in ("leaf", "ball") else "it shows still"
            lines.append(
                f"That is half of what it may be: as it usually comes out, the setting is no more than "
                f"{self.size(abs(told.bracket))} off. Gauge again; if {seen}, halve again with --moved "
                f'"{self.size(told.moves[0].turned)}".'
            )
            if told.way == "middle" and self.kind.placed == "cross slide":
                lines.append(
                    "Surer than halving: touch the diameter anew, swung square to the axis, and wind to the axis."
                )
        elif told.chase is not None and told.radius is not None and not self.lost_by_hand():
            lines.append(
                f"Do not chase less than {self.least(told.known('chase'))}: so much the reading, and one piece against the next, may be "
                "off."
            )
        return lines

    def check(self) -> str:
        """What comes before anything is moved where R is farther off than a setting goes wrong."""
        told = self.told
        line = (
            f"{self.off()} is more than a setting goes wrong by. Check {_GAUGES[told.way]} and the reading, "
            "each figure with its unit, and gauge again. "
        )
        if self.kind.formed:
            return line + "If it reads the same, grind the edge anew: honing does not take that off."
        return line + "If it reads the same, set it anew, or:"

    def least(self, mm: float) -> str:
        return self.doubt(mm).removeprefix("±")

    def no_move(self) -> str:
        told = self.told
        if told.verdict == "right":
            return "No light is what is wanted. Go on."
        if told.verdict == "leave":
            off = told.error if told.error is not None else told.known("off_axis")
            if told.why == "under a line":
                return f"{self.size(abs(off))} is less than half a line of the dial, or than an indicator is read to."
            return (
                f"{self.size(abs(off))} is less than the {self.least(told.known('chase'))} that the reading, and one piece against the "
                "next, may be off: it says nothing of the setting. Moving it now would only stir it."
            )
        return {
            "past the depth's sweep": (
                "The rim of so deep an arc is nearly a tangent, and its depth says next to nothing of R. Take a leaf, a "
                "comparator, or a micrometer over the ball square to the axis and at 45° (--across, --slanting)."
            ),
            "step or ridge": (
                f"Light at one end of a corner comes of a place that is off, not of R. Look at both flats. A step cut into the "
                f"diameter or the {self.face}: give it with --step. Metal left standing, or an edge where arc and flat meet: "
                "--ridge."
            ),
            "across alone": self.across_alone(),
            "look at the middle": (
                "An end is the same all the way round, so a leaf laid across its middle cannot show light at one end only: it "
                "was held askew. Lay it across the middle again, and say with --middle if a dimple, a point or a pip stands there."
            ),
            "a swing leaves no such arc": (
                "A swing leaves a true arc wherever its centre stands; that only moves it along the work. Look for a leaf held "
                "askew, a swing that stops short, or work that gives way."
            ),
            "ball at one point": self.at_one_point(),
            "behind the ball": (
                "The ball rests on the diameter, so R is no more than its own. Only light behind the ball shows a smaller R: "
                "look, and say --light none or --light middle."
            ),
        }[told.why]

    def across_alone(self) -> str:
        """What a ball measured square to the axis alone may be, and how to tell."""
        off = self.told.either
        if off is None:
            return ""
        size, slanting = self.size(abs(off)), self.size(2 * TANGENT_SHARE * abs(off))
        which, side, less = ("large", "short of the axis", "less") if off > 0 else ("small", "beyond the axis", "more")
        return (
            f"Either R is {size} too {which}, or the {self.centre()} stands {size} {side}: square to the axis both measure the "
            f"same. Measure at 45° too, and give it with --slanting. If R is wrong it reads the same as across; if the "
            f"{self.centre()} is off it reads {slanting} {less}. Move nothing before."
        )

    def at_one_point(self) -> str:
        most, target = self.told.at_most, self.size(self.v["radius"])
        if most is None:
            return ""
        return (
            f"The ball touches the diameter at one point: R would be {self.size(most)} at most, far from {target}, and how much "
            f"less is not known. Check diameter and ball, hold the ball into the corner and gauge again; a ball of "
            f"{wording.as_marked(2 * self.v['radius'], self.units)} tells more. Move nothing before."
        )

    def move(self, move: Move) -> str:
        return getattr(self, f"_{move.part}")(move)

    def _tip(self, move: Move) -> str:
        nearer = move.way == "toward"
        post = "less" if nearer else "more"
        again = {True: "diameter and face anew" if self.convex else "diameter and shoulder anew"}.get(
            self.corner, "face anew" if self.end else "diameter anew"
        )
        return (
            f"Tip {self.amount(move)} {'nearer to' if nearer else 'farther from'} the pivot, with an indicator on it; over the "
            f"post the micrometer then reads that much {post}. Touch the {again}: the tip has moved."
        )

    def _slide(self, move: Move) -> str:
        nearer = (move.way == "in") == self.convex
        backlash = ", wound out past it and in again" if move.way == "out" else ""
        comes = "nearer to" if nearer else "farther from"
        return (
            f"Compound slide {move.way}, {self.amount(move)}{backlash}: the tip comes {comes} the swivel. Lock it, and touch off "
            "anew."
        )

    def _rod(self, move: Move) -> str:
        told = self.told
        line = f"Rod {self.amount(move)} {move.way} from seat to seat: R changes by as much."
        if self.v["rod_on_shelf"]:
            line += " It came from the shelf: take another, or one with an end that screws."
        length = self.advice.methods[told.method].to_set["seat_to_seat_mm"]
        if told.seat_height is not None and told.seat_height < length / 5:
            line += (
                f" First see that both seats are of one height: {self.size(told.seat_height)} between them would make R as "
                "small."
            )
        return line

    def _centre(self, move: Move) -> str:
        far, inward = self.amount(move), move.way == "in"
        if move.way in ("toward", "away"):
            how = "toward" if move.way == "toward" else "away from"
            return f"Carriage {far} {how} the headstock, by an indicator; lock it there."
        if self.kind.placed == "seat":
            where = "away from you" if inward else "toward you"
            far = self.size(move.turned, self.dial_units)
            return f"Fixed seat of the rod {far} {where}, or the tool as far the other way in its post."
        if self.kind.placed == "feed" and not self.end:
            return f"Feed {far}, {'deeper' if inward else 'less deep'}."
        way = "in, away from you" if inward else "out, toward you, wound past it and in again"
        return f"Cross slide {way}: {far}."

    def _edge(self, move: Move) -> str:
        where = "in its middle" if move.way == "middle" else "at both ends"
        far = "a little, "
        if move.amount is not None:
            amount = self.size(move.amount)
            far = f"a little, {amount} to begin with, " if move.halves else f"{amount} at most, "
        touches = "the ends" if move.way == "middle" else "the middle"
        height = ""
        if self.told.tip_height is not None:
            height = f": {self.size(self.told.tip_height)} off it would make R as large"
        return (
            f"Hone the edge {where}, where the work shows light: {far}running out to nothing toward {touches}. Honing takes off "
            f"the edge only, so it leaves more on the work there. See first that the edge is square and on centre height{height}."
        )

    def _tool(self, move: Move) -> str:
        angle = "" if move.amount is None else f", by {wording.number(move.amount, 2)}°"
        return (
            f"Swing the tool square{angle}: the end of the edge where the work shows light stands too far in. Both ends have to "
            "touch the turned diameter at once."
        )

    def _height(self, move: Move) -> str:
        far = "" if move.amount is None else f" by {self.size(move.amount, self.dial_units)}, half the pip"
        return (
            f"Tip to centre height{far}. Pinch a rule upright between tip and diameter: where its top leans toward you the tip "
            "stands low, where it leans away the tip stands high."
        )

    def _file(self, move: Move) -> str:
        if move.way == "nothing":
            back = "" if move.amount is None else f" by {self.size(move.amount)} each"
            return (
                f"Take nothing more off the arc: light shows at 45°, where the metal is gone, and both flats are finished. Only "
                f"diameter and {self.face} coming back{back} would make it right."
            )
        if move.way == "flat":
            back = "" if move.amount is None else f" by {self.size(move.amount)}"
            return (
                f"Nothing can be put back where the arc cuts in: only that flat coming down{back} would make it right."
            )
        if move.way == "ridge":
            return "Take the ridge down until arc and flat run into one another, and gauge as you go."
        where = {"both ends": "at both ends of the arc", "middle": "in the middle of the arc"}.get(
            move.way, "where the gauge touches"
        )
        far = (
            ""
            if move.amount is None
            else f" About {self.size(move.amount)}, half of what stands there, and gauge again."
        )
        return f"Take off {where}: the gauge touches there, and light shows where there is nothing to take.{far}"

    # -- what comes of it

    def next(self) -> list[str]:
        told, lines = self.told, []
        if told.then_radius is not None and told.verdict != "right":
            lines.append(f"R {self.known(told.then_radius, told.known('then_within'))}, 19 times in 20.")
        for reading in told.next:
            if reading.way != "radius":
                lines.append(f"{_READS[reading.way]} reads {self.known(reading.reading, reading.within)}.")
        if told.then_gap is not None and self.kind.by_hand:
            rounds = f"About {told.rounds} round{'s' if told.rounds > 1 else ''} more. " if told.rounds else ""
            lines.append(f"{rounds}After the next one no more than {self.size(told.then_gap)} of light.")
        elif told.then_gap is not None and told.verdict in ("move", "leave"):
            lines.append(f"A leaf shows {self.size(told.then_gap)} of light at most.")
        if told.then_off_axis_within is not None and told.moves:
            lines.append(f"The {self.centre()} stands within {self.size(told.then_off_axis_within)} of its place.")
        return lines

    def this_piece(self) -> list[str]:
        told, lines = self.told, []
        if told.limits == "inside":
            after = " The move is for the pieces after it." if told.moves and not self.kind.by_hand else ""
            return [f"It lies within its limits as it is.{after}"]
        if told.limits == "outside":
            by_itself = told.verdict == "leave" and not self.kind.by_hand
            after = (
                ", though the setting may be right: one piece and the next come out so far apart" if by_itself else ""
            )
            lines.append(f"It lies outside its limits{after}.")
        if told.limits == "doubt":
            lines.append("The reading is not sure whether it lies within its limits.")
        if told.saved and not self.kind.by_hand:
            at = " at 45°" if self.corner else ""
            lines.append(f"Metal still stands on it{at}: it can be cut again once the setting is right.")
        elif told.saved is False and not self.kind.by_hand:
            lines.append(self.scrap())
        return lines

    def scrap(self) -> str:
        told, down = self.told, self.told.flats_down
        at, flats = ("At 45° the", f"diameter and {self.face} may both come back") if self.corner else ("The", None)
        if not self.corner:
            flats = "the face may come back" if self.end else "the diameter may come down"
            down = down if self.end or down is None else 2 * down
        unless = "" if down is None else f", unless {flats} by {self.size(down)}"
        lost = "is scrap" if told.limits == "outside" else "cannot be cut right"
        return f"{at} metal is gone: it {lost}{unless}."


_GAUGES = {
    "pins": "the pins",
    "ball": "the ball",
    "leaf": "the leaf",
    "radius": "the gauge",
    "two depths": "the gauge",
    "depth": "the gauge",
    "diameters": "the micrometer",
    "slanting": "the micrometer",
    "across": "the micrometer",
}
_READS = {
    "depth": "The depth over the same width",
    "across": "The micrometer across the ball",
    "ball": "The micrometer over the ball",
    "pins": "The rise of two pins over one",
}


def answer(told: Correction, advice: Advice) -> dict[str, Any]:
    """The same as plain data: lengths _mm, never rounded."""
    words = _Words(told, advice)
    return plain(
        {
            "method": told.method,
            "shape": shape_of(advice.values),
            "gauged_by": told.way,
            "verdict": told.verdict,
            "why": told.why or None,
            "radius_mm": told.radius,
            "radius_within_mm": told.within,
            "error_mm": told.error,
            "radius_or_centre_off_mm": told.either,
            "radius_at_most_mm": told.at_most,
            "at_most_off_mm": told.bracket,
            "profile_mm": told.profile,
            "width_taken_mm": told.width,
            "width_taken_within_mm": told.width_within,
            "off_axis_mm": told.off_axis,
            "off_axis_within_mm": told.off_axis_within,
            "do_not_chase_less_than_mm": told.chase,
            "gauge_coarser_than_tolerance": told.coarse,
            "moves": [
                {
                    "part": move.part,
                    "way": move.way,
                    ("amount_deg" if move.part == "tool" else "amount_mm"): move.amount,
                    "dial": move.reading and dials.plain(move.reading),
                    "set_to_mm": None if move.part == "tool" else move.turned,
                    "half_of_what_it_may_be": move.halves,
                    "says": words.move(move),
                }
                for move in told.moves
            ],
            "next_piece": {
                "radius_mm": told.then_radius,
                "radius_within_mm": told.then_within,
                "light_at_most_mm": told.then_gap,
                "centre_within_mm": told.then_off_axis_within,
                "reads": [
                    {"by": reading.way, "reading_mm": reading.reading, "within_mm": reading.within}
                    for reading in told.next
                ],
            },
            "rounds": told.rounds,
            "lies_within_its_limits": {"inside": True, "outside": False}.get(told.limits),
            "can_be_cut_again": told.saved,
            "flats_down_mm": told.flats_down,
        }
    )
