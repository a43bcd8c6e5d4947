"""The numbers of a form tool in words, and the table of its edge."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.formulas import form_tool
from advisor.ground.units import INCH
from advisor.show.derived import derived
from advisor.show.rows import WORD, Table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.formulas.numeric import Values
    from advisor.show.rows import Rows
    from advisor.study.derive import Derivation

MOST_EDGE_ROWS = 7


def shown(r: Rows) -> set[str] | None:
    """A fillet turned by a round nose along the work has that nose and its feed alone."""
    return {"edge_radius_mm", "feed_mm_rev"} if r.values["fillet_turned"] else None


def _at_hand(r: Rows) -> str:
    return ", at hand" if r.values["ready_tool"] else ""


def edge_radius_mm(r: Rows) -> str:
    """The radius of the edge, and whether such a tool is at hand."""
    if not r.values["fillet_turned"]:
        return f"{r.length(r.setup['edge_radius_mm'])}, {r.setup['edge_form']} edge{_at_hand(r)}"
    up_to = f"; any up to {r.length(r.values['radius_high'])} serves" if r.values["any_nose_serves"] else ""
    own = (r.marked if _at_hand(r) else r.length)(r.setup["edge_radius_mm"])
    return f"{own}, round nose{_at_hand(r)}{up_to}"


def edge_width_mm(r: Rows) -> str:
    """How wide the edge is at least."""
    return f"{'at least ' if _at_hand(r) else ''}{r.least(r.setup['edge_width_mm'])} with the run-out"


def edge_in_cut(r: Rows) -> str:
    """How much of the edge cuts."""
    half = ", from the middle to the rim" if r.values["end"] else ""
    return f"{r.finely(r.values['edge_in_cut'])}{half}"


def from_the_touch(r: Rows) -> tuple[str, str]:
    """How far from where the foremost point touched, where a horn reaches deeper than the arc."""
    feed, infeed = r.values["feed_from_touch"], r.setup["infeed_mm"]
    if infeed is None or not feed > infeed:
        return "", ""
    return f"{r.length(feed)}, the horn ahead of the arc", r.dial("feed_from_touch")


def plain_arc(r: Rows) -> str:
    """What grinding the plain arc square to the flank would leave in the work."""
    if _at_hand(r):
        return ""
    return f"up to {r.finely(r.values['plain_arc_error'])} off, if it is ground square to the flank"


def feed_mm_rev(r: Rows) -> str:
    """The feed, along the work for a fillet that is turned."""
    feed = r.setup["feed_mm_rev"]
    if feed is None:
        return ""
    inch = r.units == "inch"
    feed = f"{feed / INCH:.4f} in/rev".lstrip("0") if inch else f"{wording.number(feed, 3)} mm/rev"
    return f"{feed} along the work" if r.values["fillet_turned"] else feed


def other_speeds(r: Rows) -> str:
    """A speed below and one above, and when."""
    down, up = r.values["form_tool_rpm_down"], r.values["form_tool_rpm_up"]
    others = []
    if down == down:
        others.append(f"{wording.speed(down)} if the edge overheats")
    if up == up:
        others.append(f"{wording.speed(up)} if the finish is torn")
    return "; ".join(others)


def force_n(r: Rows) -> str:
    """What the whole edge takes."""
    s, inch = r.setup, r.units == "inch"
    if s["force_n"] is None or s["power_kw"] is None:
        return ""
    force = wording.in_unit(s["force_n"], "N", inch=inch)
    power = wording.in_unit(s["power_kw"], "kW", inch=inch)
    spring = (
        ""
        if s["deflection_mm"] is None
        else f"; the bar alone bends {r.finely(s['deflection_mm'])}, and cuts free again"
    )
    return f"{force}, {power} with the whole edge in{spring}"


def table(method: MethodAdvice, advice: Advice, cell: Callable[[float], str]) -> Table | None:
    """The edge to grind, thinned for reading; None where a tool lies ready."""
    if not method.to_set["profile"] or advice.values["ready_tool"]:
        return None
    keys = ("z_mm", "work_depth_mm", "face_depth_mm", "flank_depth_mm")
    rows = [[cell(p[k]) for k in keys] for p in _thinned(method.to_set["profile"])]
    heads = ["along", "in the work", "on the face", "square to flank"]
    return Table(
        "Edge to grind", f"{WORD[advice.callout.units]}, depths from the foremost point of its arc", heads, rows
    )


def _thinned(points: Sequence[Mapping[str, float]], most: int = MOST_EDGE_ROWS) -> Sequence[Mapping[str, float]]:
    if len(points) <= most:
        return points
    last = len(points) - 1
    return [points[round(i * last / (most - 1))] for i in range(most)]


def table_numbers(method: MethodAdvice, advice: Advice) -> list[tuple[str, list[Derivation]]]:
    """One point of the edge, worked out."""
    profile = method.to_set["profile"]
    if not profile:
        return []
    point = profile[len(profile) // 4]
    title = f"Edge to grind: the point {wording.length(point['z_mm'], advice.callout.units)} along"
    return [(title, _edge_point(point, advice.values, advice))]


def _edge_point(point: Mapping[str, float], v: Values, advice: Advice) -> list[Derivation]:
    along = point["z_mm"]
    convex, corner, end = v["convex"], v["corner"], v["end"]
    shape = {"convex": convex, "corner": corner, "end": end}
    work = derived(
        form_tool.work_depth,
        "in the work",
        point["work_depth_mm"],
        advice,
        radius=v["radius"],
        depth=v["depth"],
        z=along,
        **shape,
    )
    if end:
        return [work]
    r1 = form_tool.smallest_radius(depth=v["depth"], half_diameter=v["half_diameter"], **shape)
    face = derived(
        form_tool.face_depth,
        "on the face",
        point["face_depth_mm"],
        advice,
        r1=r1,
        r2=r1 + point["work_depth_mm"],
        rake=v["edge_rake"],
    )
    angles = {"relief": v["form_relief"], "rake": v["edge_rake"]}
    flank = derived(
        form_tool.flank_depth, "square to flank", point["flank_depth_mm"], advice, face=point["face_depth_mm"], **angles
    )
    return [work, face, flank]
