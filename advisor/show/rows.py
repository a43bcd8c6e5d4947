"""What to set, as rows of words for any page: label, value, and what the dial shows where a dial is turned."""

from typing import NamedTuple

from advisor.answer import wording
from advisor.ground import dials
from advisor.ground.units import FOOT, INCH, nearest_fraction

MOST_EDGE_ROWS = 7
WORD = {"mm": "mm", "inch": "inch"}  # never "in", which reads as a direction
LINE = "Line: "  # how the label of a layout line begins


class Row(NamedTuple):
    """One line of the setup: what it is, its value in the drawing's unit, and the dial reading or ''."""

    label: str
    value: str
    dial: str = ""


class Table(NamedTuple):
    """A table: its title, a note on how it counts, the headings, and the rows of text."""

    title: str
    note: str
    headings: list
    rows: list


def setup_rows(method, advice):
    """The numbers to set for a method, most important first; empty where the geometry does not permit it."""
    if method.setup is None:
        return []
    return _Rows(method, advice).rows()


class _Rows:
    def __init__(self, method, advice):
        self.setup = method.setup
        self.name = method.name
        self.advice = advice
        self.units = advice.callout.units
        self.values = advice.values
        self.prefix = method.prefix

    def rows(self):
        own = {
            "form tool": self.form_tool,
            "freehand": self.freehand,
            "pivot attachment": self.pivot,
            "radius rod": self.rod,
            "swung compound": self.compound,
        }[self.name]
        return [row for row in (*own(), *self.common()) if row.value]

    def marked(self, mm):
        """A size taken from the shelf, as it is marked."""
        return "" if mm is None else wording.as_marked(mm, self.units)

    def length(self, mm, *, fraction=True):
        if mm is None:
            return ""
        text = wording.length(mm, self.units)
        if self.units == "inch" and fraction and "(" not in text:
            near = nearest_fraction(mm / INCH)
            off = abs(mm / INCH - round(mm / INCH * 64) / 64)
            if "/" in near and off <= 0.002:
                text += f" (near {near})"
        return text

    def least(self, mm):
        """A least length, without the fraction near by, which may lie under it."""
        return self.length(wording.at_least(mm, self.units), fraction=False)

    def dial(self, name, *, only_otherwise=False):
        """What the dial shows that a number of the rule base is set by; '' where none is.

        only_otherwise: only where it shows another figure than the number itself.
        """
        reading = dials.reading_of(name, self.advice)
        if reading is None or not dials.tells(reading, self.units):
            return ""
        same = not dials.differs(reading, self.units) and not dials.left_over(reading)
        return "" if only_otherwise and same else dials.words(reading)

    def angle(self, degrees):
        return "" if degrees is None else f"{wording.number(degrees, 2)}°"

    def speed(self, key="spindle_rpm"):
        rpm = self.setup.get(key)
        return "" if rpm is None else wording.speed(rpm)

    def surface(self):
        speed = self.setup["surface_speed_m_min"]
        if speed is None:
            return ""
        if self.units == "inch":
            return f"{wording.number(speed / FOOT, 0)} ft/min"
        return f"{wording.number(speed, 1)} m/min"

    def common(self):
        layout = [
            Row(f"{LINE}{line['line']}", placed(line, self.length, self.advice))
            for line in ([] if self.nothing_marked() else self.setup["layout"])
        ]
        return [
            Row("Spindle", f"{self.speed()}, {self.surface()} at the largest diameter" if self.speed() else ""),
            Row("Straight turning", self.speed("straight_turning_rpm")),
            *layout,
        ]

    def nothing_marked(self):
        """Whether the arc is made without any line on the work: by the file alone, or by the nose that turns the
        diameter."""
        unmarked = {"freehand": "touched_with_a_file", "form tool": "any_nose_serves"}
        return self.name in unmarked and self.values[unmarked[self.name]]

    def form_tool(self):
        s = self.setup
        down, up = self.values["form_tool_rpm_down"], self.values["form_tool_rpm_up"]
        others = []
        if down == down:
            others.append(f"{wording.speed(down)} if the edge overheats")
        if up == up:
            others.append(f"{wording.speed(up)} if the finish is torn")
        feed = s["feed_mm_rev"]
        if feed is not None:
            feed = (
                f"{feed / INCH:.4f} in/rev".lstrip("0") if self.units == "inch" else f"{wording.number(feed, 3)} mm/rev"
            )
        at_hand = ", at hand" if self.values["ready_tool"] else ""
        half = ", from the middle to the rim" if self.values["end"] else ""
        if self.values["fillet_turned"]:
            any_nose = self.values["any_nose_serves"]
            up_to = f"; any up to {self.length(self.values['radius_high'])} serves" if any_nose else ""
            own = (self.marked if at_hand else self.length)(s["edge_radius_mm"])
            return [
                Row("Edge radius", f"{own}, round nose{at_hand}{up_to}"),
                Row("Feed", f"{feed} along the work" if feed else ""),
            ]
        return [
            Row("Edge radius", f"{self.length(s['edge_radius_mm'])}, {s['edge_form']} edge{at_hand}"),
            Row("Edge width", f"{'at least ' if at_hand else ''}{self.least(s['edge_width_mm'])} with the run-out"),
            Row("Edge in the cut", f"{self.length(self.values['edge_in_cut'], fraction=False)}{half}"),
            Row("Feed in", self.length(s["infeed_mm"]), self.dial("form_tool_infeed")),
            Row("From the touch", *self.from_touch()),
            Row(
                "Relief and rake",
                f"{self.angle(s['relief_deg'])} relief all round, {self.angle(s['rake_deg'])} top rake",
            ),
            Row("Plain arc instead", "" if at_hand else self.plain_arc()),
            Row("Feed", feed or ""),
            Row("Other speeds", "; ".join(others)),
            Row("Force, power", self.load()),
        ]

    def from_touch(self):
        """How far from where the foremost point touched, where a horn reaches deeper than the arc: value and dial."""
        feed, infeed = self.values["feed_from_touch"], self.setup["infeed_mm"]
        if infeed is None or not feed > infeed:
            return "", ""
        return f"{self.length(feed)}, the horn ahead of the arc", self.dial("feed_from_touch")

    def plain_arc(self):
        """What grinding the plain arc square to the flank would leave in the work."""
        error = self.length(self.values["plain_arc_error"], fraction=False)
        return f"up to {error} off, if it is ground square to the flank"

    def load(self):
        s, inch = self.setup, self.units == "inch"
        if s["force_n"] is None or s["power_kw"] is None:
            return ""
        force = wording.in_unit(s["force_n"], "N", inch=inch)
        power = wording.in_unit(s["power_kw"], "kW", inch=inch)
        spring = (
            ""
            if s["deflection_mm"] is None
            else f"; the bar alone bends {self.length(s['deflection_mm'], fraction=False)}, and cuts free again"
        )
        return f"{force}, {power} with the whole edge in{spring}"

    def freehand(self):
        s, v = self.setup, self.values
        chamfer = Row("First chamfer", f"{self.length(s['chamfer_leg_mm'])} leg, at 45°" if s["chamfer_leg_mm"] else "")
        filing = Row("Filing", f"{self.speed('filing_rpm')} at most" if s["filing_rpm"] and self.filed() else "")
        if v["touched_with_a_file"]:
            return [filing]
        if _tiny(v):
            return [chamfer, filing]
        if v["freehand_way"] == "stepped off":
            own = [
                Row("Way", f"stepped off by the dials, {wording.number(v['steps_off'])} steps{self.rounds()}"),
                Row("Round nose", self.marked(s["nose_radius_mm"])),
                Row("Cusps left", self.length(s["cusp_mm"], fraction=False)),
            ]
        else:
            own = [
                Row("Way", f"by eye{self.rounds()}"),
                chamfer,
                *self.facets(),
                Row("Round nose", self.marked(s["nose_radius_mm"]) if v["led_by_hand"] else ""),
            ]
        return [*own, filing]

    def rounds(self):
        """How often it will be gauged and corrected."""
        rounds = self.values["freehand_rounds"]
        if not rounds:
            return ""
        return f", then about {wording.number(rounds)} round{'s' if rounds > 1 else ''} of gauging and correcting"

    def facets(self):
        """Facets of a corner by halving, or of another round shape by the compound's angle."""
        found, v = self.setup["facets"], self.values
        if not found:
            return []
        if self.setup["chamfer_leg_mm"]:
            angles = ", ".join(f"{wording.number(f['angle_deg'], 2)}°" for f in found[1:3])
            standing = self.length(found[2]["standing_mm"], fraction=False) if v["corner"] else None
            return [Row("Then facets", f"{angles}; {standing} still stands" if standing else "")]
        angles = ", ".join(f"{wording.number(f['angle_deg'], 1)}°" for f in found)
        return [
            Row("Facets", f"{len(found)}, each {self.length(v['facet_width'])} wide"),
            Row("Compound at", f"{angles} from the axis"),
            Row("Facets leave", self.length(v["facet_standing"], fraction=False)),
        ]

    def filed(self):
        """Whether a file has a place in this work at all."""
        v = self.values
        near = not v["convex"] and v["jaw_gap"] < v["filing_room"]
        return v["file_serves"] and not near

    def swung(self, centre):
        s, aside = self.setup, self.values[f"{self.prefix}_aside_allowance"]
        limits = [
            (s["height_allowance_mm"], "tip off centre height at most"),
            (s["offset_allowance_mm"], f"{centre} off its place at most"),
            (aside if aside == aside else None, f"nose beside the line through the {centre} at most"),
        ]
        return [Row(words.capitalize(), self.length(mm, fraction=False)) for mm, words in limits if mm is not None]

    def pivot(self):
        s = self.setup
        reading = s["post_reading_mm"]
        post = thimble = ""
        if reading is not None:
            far = f"{self.length(self.values['post_far_reading'])} from its far side: the tip stands over it"
            thimble = self.dial("post_reading" if reading > 0 else "post_far_reading", only_otherwise=True)
            post = self.length(reading) + ("" if thimble else " by depth micrometer") if reading > 0 else far
        return [
            Row("Tip to pivot", f"{self.length(s['tip_to_pivot_mm'])}, {s['tip_side']}"),
            Row("From the post", post, thimble),
            Row("Pivot from the axis", self.signed(s["pivot_from_axis_mm"], "beyond the axis")),
            Row("Pivot from the face", *self.along_from_face("pivot_from_face")),
            Row("Swing", self.swing()),
            Row("Passes", "" if s["passes"] is None else str(s["passes"])),
            self.stickout("pivot_stickout"),
            self.overhang("pivot"),
            self.to_the_axis("pivot"),
            *self.swung("pivot"),
        ]

    def along_from_face(self, name):
        """Where a centre stands along the bed, and what the dial shows there; no number where nobody said where the arc
        lies."""
        if self.advice.callout.position_open:
            return wording.NO_POSITION, ""
        return self.along(self.values[name]), self.dial(name)

    def along(self, mm):
        """A place along the bed from the end face, or from the shoulder of a fillet, which has the tool in front of
        it."""
        if self.values["corner"] and not self.values["convex"]:
            return self.signed(mm, "behind the shoulder", "in front of the shoulder")
        return self.signed(mm, "in front of the face", "behind the face")

    def swing(self):
        """The sweep to swing through; on an end the tip goes from the rim to the middle only."""
        sweep = self.setup["sweep_deg"]
        if sweep is None:
            return ""
        whole = wording.swing(sweep)
        if not self.values["end"]:
            return whole
        return f"{wording.swing(sweep / 2)} from the rim to the middle, half the arc's {whole}"

    def stickout(self, name):
        """The stickout to let the work out to; nothing where it stands out far enough already."""
        needed = self.values[name]
        if name in wording.BY_POSITION and needed > self.values["stickout"] and self.advice.callout.position_open:
            return Row("Stickout", wording.NO_POSITION)
        return Row("Stickout", f"at least {self.least(needed)}" if needed > self.values["stickout"] else "")

    def overhang(self, prefix):
        """How far the tool stands out of its holder; nothing where that is as usual."""
        near = self.values[f"{prefix}_reach"] == "just misses"
        return Row("Tool overhang", self.length(self.values[f"{prefix}_overhang"]) if near else "")

    def to_the_axis(self, prefix):
        """On an end: the way of the cross slide from the touch on the diameter to the centre under the axis."""
        way = self.values[f"{prefix}_wind_to_axis"]
        if not self.values["end"] or not way > 0:
            return Row("Cross slide from the touch", "")
        out = "out" if self.values["convex"] else "in"
        return Row("Cross slide from the touch", f"{self.length(way)} {out}", self.dial(f"{prefix}_wind_to_axis"))

    def signed(self, mm, when_negative, when_positive=""):
        if mm is None:
            return ""
        text = self.length(abs(mm))
        words = when_negative if mm < 0 else when_positive
        if mm == 0 and not when_positive:
            return "on the axis"
        return f"{text} {words}".strip()

    def rod(self):
        s = self.setup
        return [
            Row("Rod, seat to seat", f"{self.length(s['seat_to_seat_mm'])}{self.from_the_shelf()}"),
            Row("Over the ball ends", self.length(s["overall_mm"])),
            Row("Tool nose", self.marked(s["nose_radius_mm"])),
            Row("Rod between", s["rod_between"]),
            Row("Tilt at the rim", self.angle(s["tilt_deg"])),
            Row("Cross travel", self.length(s["cross_travel_mm"]), self.dial("rod_cross_travel")),
            Row("Carriage travel", self.length(s["carriage_travel_mm"]), self.dial("rod_carriage_travel")),
            Row("Passes", "" if s["passes"] is None else str(s["passes"])),
            Row("Seats out of line at most", self.length(s["offset_allowance_mm"], fraction=False)),
        ]

    def from_the_shelf(self):
        return (
            f", from the shelf: turns R {self.length(self.values['rod_radius'])}" if self.values["rod_on_shelf"] else ""
        )

    def compound(self):
        s = self.setup
        return [
            Row(
                "Tip to swivel", f"{self.length(s['tip_to_swivel_mm'])}, {s['tip_side']}", self.dial("compound_radius")
            ),
            Row("Swivel from the axis", self.signed(self.values["compound_from_axis"], "beyond the axis")),
            Row("Swivel from the face", *self.along_from_face("compound_from_face")),
            Row("Swing", self.swing()),
            Row("Passes", "" if s["passes"] is None else str(s["passes"])),
            self.stickout("compound_stickout"),
            self.overhang("compound"),
            self.to_the_axis("compound"),
            *self.swung("swivel"),
        ]


def _tiny(values):
    """Whether a rounded corner is so small that a chamfer and a file make it, without facets or steps."""
    return values["corner"] and values["convex"] and values["radius"] <= values["tiny_corner"]


def placed(line, length, advice):
    """How far a layout line lies from where, in words; '' where it cannot be told. length: function (mm) -> words."""
    if line["distance_mm"] is None:
        return wording.NO_POSITION if advice.callout.position_open else ""
    return f"{length(line['distance_mm'])} {from_where(line)}"


def from_where(line):
    """From where a layout line is measured, in words."""
    start = line["from"]
    return f"from {start}" if start.startswith("one ") else f"from the {start}"


def table_rows(method, advice):
    """The step-off table of hand work or the edge table of a form tool -> Table; None without one.

    An edge table is thinned for reading (the whole of it is in the JSON); a step-off never, since every step counts.
    """
    if method.setup is None:
        return None
    units = advice.callout.units

    def cell(mm):
        if mm is None:
            return "-"
        return dials.figure(mm, units, dials.USUAL_DECIMALS[units])

    if method.name == "freehand" and advice.values["freehand_way"] == "stepped off" and method.setup["step_off"]:
        return _step_off(method.setup["step_off"], advice, cell)
    if method.name == "form tool" and method.setup["profile"] and not advice.values["ready_tool"]:
        keys = ("z_mm", "work_depth_mm", "face_depth_mm", "flank_depth_mm")
        rows = [[cell(p[k]) for k in keys] for p in _thinned(method.setup["profile"])]
        heads = ["along", "in the work", "on the face", "square to flank"]
        return Table("Edge to grind", f"{WORD[units]}, depths from the foremost point of its arc", heads, rows)
    return None


def _step_off(points, advice, cell):
    """The step-off table: the readings of both dials, and the coordinates as the drawing counts them where those
    differ."""
    values, units = advice.values, advice.callout.units
    readings = dials.step_off(points, advice)
    heads, columns = [""], [[str(n) for n in range(1, len(points) + 1)]]
    across, along = _ways(values)
    for way, key, place in ((across, "x_in_mm", 0), (along, "z_in_mm", 1)):
        found = [reading[place] for reading in readings]
        if dials.differs(found[0], units) or not found[0].dial.graduation > 0:
            heads.append(f"{way}, {WORD[units]}")
            columns.append([cell(point[key]) for point in points])
            if not dials.differs(found[0], units):
                continue
            way = ""
        dial = found[0].dial
        heads.append(", ".join(filter(None, (way, dial.name, "diameter" if dial.doubled else "", WORD[dial.units]))))
        columns.append([dials.figure(r.counts, dial.units, dials.decimals(dial)) for r in found])
        if any(r.turns for r in found):
            heads.append("turns + divisions")
            columns.append([f"{r.turns} + {r.lines:g}" if r.turns else "" for r in found])
    edge = "" if values["end"] or values["corner"] else "; along the bed zero by the edge nearer the tailstock"
    note = f"counted from where the nose touched{edge}{_rounded(readings)}"
    return Table("Step-off", note, heads, list(zip(*columns, strict=True)))


def _ways(values):
    """Which way the two columns of a step-off count, in words."""
    if values["end"]:
        return "toward the axis", "behind the face"
    if not values["corner"]:
        return "toward the axis", "toward the headstock"
    return ("toward the axis", "behind the face") if values["convex"] else ("out from the axis", "off the shoulder")


def _rounded(readings):
    """Which slide goes along the bed, and what the rounding of a whole table leaves at most, in words."""
    every = [reading for pair in readings for reading in pair if reading.dial.graduation > 0]
    most = max((abs(r.left) for r in every), default=0.0)
    text = dials.left_over(max(every, key=lambda r: abs(r.left))) if most else ""
    slide = (
        "; along the bed by the compound slide, set parallel to it"
        if readings[0][1].dial.name == dials.COMPOUND
        else ""
    )
    return slide + (f"; dials to half a graduation, which leaves at most {text.rsplit(' ', 1)[0]}" if text else "")


def _thinned(points, most=MOST_EDGE_ROWS):
    if len(points) <= most:
        return points
    last = len(points) - 1
    return [points[round(i * last / (most - 1))] for i in range(most)]


def check_lines(method, advice, *, usable=False):
    """Ways to prove the radius as lines: what with, what it reads, what it can see, whether that proves.

    usable: without those that cannot be used here, where there are others.
    """
    units = advice.callout.units
    lines = []
    can = [check for check in method.checks if check["use"] != "cannot be used here"]
    for check in can if usable and can else method.checks:
        words = wording.how(check["way"], advice.values)
        sized = wording.as_marked if check["way"] in wording.GAUGES else wording.length
        size = "" if check["size_mm"] is None else f", {sized(check['size_mm'], units)}"
        reading = "" if check["reading_mm"] is None else f", reads {wording.length(check['reading_mm'], units)}"
        why_not = wording.cannot_be_used(check, advice)
        sees = "" if check["sees_mm"] is None else f"sees {wording.length(check['sees_mm'], units).split(' (')[0]}: "
        verdict = _VERDICTS[check["use"]] + (f", {why_not}" if why_not else "")
        lines.append((f"{words[:1].upper()}{words[1:]}{size}{reading}", f"{sees}{verdict}"))
    return lines


_VERDICTS = {"proves": "proves it", "compares": "compares only", "cannot be used here": "cannot be used here"}
