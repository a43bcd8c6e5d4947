"""What would change the answer: nothing is called a change that does not change it, and no nearer one is passed
over."""

import dataclasses
import functools
import math

import pytest
from often import often
from shown import WORKED, worked

from advisor.answer import advice as advising
from advisor.answer.wording import length
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.study import changes

SOME = WORKED[1 :: often(8, 4)]
CORNER = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm", "quantity": 12}
GROOVE = {"radius": "R12", "form": "concave", "location": "outside diameter", "diameter": "40 mm", "width": "14 mm"}
DISH = {"radius": "R40 ±0.2", "form": "concave", "location": "end", "diameter": "50 mm", "quantity": 3}
DOME = {"radius": "SR30 ±0.15", "form": "convex", "location": "end", "diameter": "50 mm", "quantity": 2}
FILLET = {"radius": "R4", "form": "concave", "location": "corner", "diameter": "30 mm", "shoulder_height": "9 mm"}
CROWN = {"radius": "R80", "form": "convex", "location": "outside diameter", "diameter": "60 mm", "depth": "1.4 mm"}
BY_DEPTH = {"radius": "R20 ±0.3", "form": "concave", "location": "end", "diameter": "60 mm", "depth": "6 mm"}
SHAPES = {
    "corner": CORNER,
    "groove": GROOVE,
    "dish": DISH,
    "dome": DOME,
    "fillet": FILLET,
    "crown": CROWN,
    "by depth": BY_DEPTH,
}


def read(fields, shop):
    return callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)


def advised(fields, shop="training-shop"):
    found = shops.read_shop(shop)
    return advising.advise(read(fields, found), found, executor=generated.run)


def choice_as_written(fields, name, value, advice):
    """What the program recommends when the value is written in the callout, from the text on."""
    mm = f"{value!r} mm"
    written = {
        "radius": lambda: {"radius": f"R{value!r} mm ±{changes.varied(advice.callout, 'radius', value).tolerance!r}"},
        "tolerance": lambda: {"radius": f"R{advice.callout.radius!r} mm ±{value!r}"},
        "hardness": lambda: {"hardness": f"{value!r} HB"},
        "quantity": lambda: {"quantity": value},
    }.get(name, lambda: {name: mm})()
    shop = advice.shop
    return advising.advise(read(fields | written, shop), shop, executor=generated.run).recommended


@functools.cache
def changes_of(case):
    """What would change the answer to a worked case."""
    return changes.changes(worked(case))


@pytest.mark.parametrize("case", SOME, ids=lambda path: path.stem)
def test_every_change_flips_just_there(case):
    advice = worked(case)
    for point in changes_of(case).points:
        _, fine = changes.steps(advice, point.name)
        assert changes.choice_at(advice, point.name, point.value) == point.method != advice.recommended, point
        assert changes.choice_at(advice, point.name, point.last) == advice.recommended, point
        assert abs(point.value - point.last) <= 1.5 * fine, point
        if point.until is not None:
            outward = math.copysign(fine, point.value - point.now)
            assert changes.choice_at(advice, point.name, point.until) == point.method, point
            farther = round(point.until + outward, 9)
            beyond = changes.varied(advice.callout, point.name, farther)
            assert beyond is None or changes.choice_at(advice, point.name, farther) != point.method, point


@pytest.mark.parametrize("case", SOME[::2], ids=lambda path: path.stem)
def test_no_nearer_change_is_passed_over(case):
    """Between the present value and the change, and over all of a range said to change nothing, every value tried
    agrees."""
    advice = worked(case)
    found = changes_of(case)
    spans = [(p.name, p.now, p.last) for p in found.points]
    spans += [(s.name, s.now, end) for s in found.steady for end in (s.low, s.high)]
    for name, now, end in spans:
        for share in (0.013, 0.21, 0.37, 0.5, 0.77, 0.93, 1):
            value = now + (end - now) * share
            value = round(value) if name == "quantity" else value
            if changes.varied(advice.callout, name, value) is not None:
                assert changes.choice_at(advice, name, value) == advice.recommended, (name, value)


@pytest.mark.parametrize("shape", ["corner", "dish", "fillet"])
def test_a_change_is_seen_when_it_is_written_in_the_callout(shape):
    fields = SHAPES[shape]
    advice = advised(fields)
    points = changes.changes(advice).points
    assert points
    for point in points:
        assert choice_as_written(fields, point.name, point.value, advice) == point.method, point
        assert choice_as_written(fields, point.name, point.last, advice) == advice.recommended, point


@pytest.mark.parametrize("shape", SHAPES)
def test_another_value_is_the_callout_with_it_written(shape):
    """The callout with one value varied is what reading it anew would give, everything assumed from it included."""
    fields = SHAPES[shape]
    advice = advised(fields)
    for name, text in {"diameter": "54 mm", "quantity": 7, "hardness": "180 HB", "stickout": "110 mm"}.items():
        value = {"diameter": 54.0, "quantity": 7, "hardness": 180.0, "stickout": 110.0}[name]
        varied = changes.varied(advice.callout, name, value)
        wanted = read(fields | {name: text}, advice.shop)
        for field in ("radius", "tolerance", "diameter", "width", "from_end", "stickout", "hardness", "quantity"):
            assert getattr(varied, field) == pytest.approx(getattr(wanted, field)), (name, field)


@pytest.mark.parametrize("radius", [0.8, 2.0, 3.0, 4.4, 6.0, 6.5, 11.0])
def test_a_general_tolerance_follows_the_radius(radius):
    for fields in (CORNER | {"radius": "R4"}, GROOVE | {"radius": "R4", "width": "1.5 mm"}):
        advice = advised(fields)
        varied = changes.varied(advice.callout, "radius", radius)
        assert varied.tolerance == read(fields | {"radius": f"R{radius}"}, advice.shop).tolerance


def test_values_that_cannot_be_turned_are_left_out():
    corner = advised(CORNER).callout
    assert changes.varied(corner, "radius", 20.1) is None  # more than half the diameter
    assert changes.varied(corner, "diameter", 11.9) is None
    assert changes.varied(corner, "tolerance", 6.0) is None  # as large as the radius
    assert changes.varied(corner, "stickout", 5.0) is None  # does not reach past the arc
    groove = advised(GROOVE).callout
    assert changes.varied(groove, "width", 24.1) is None  # wider than the circle
    assert changes.varied(groove, "radius", 6.9) is None
    fillet = advised(FILLET).callout
    assert changes.varied(fillet, "radius", 9.1) is None  # higher than its shoulder
    dome = advised(DOME).callout
    assert changes.varied(dome, "radius", 24.9) is None  # does not cover the face
    assert changes.varied(dome, "diameter", 44.0).width == 44.0


def test_the_columns_agree_with_one_callout_at_a_time():
    import numpy

    advice = advised(CORNER)
    names = [m["name"] for m in advice.rules.methods]
    values = numpy.array([1.0, 2.0, 3.98, 4.0, 5.5, 6.0, 7.251, 8.2, 12.0, 19.9, 25.0])
    for value, code in zip(values, changes._choices(advice, "radius", values), strict=True):
        if code == -2:
            assert changes.varied(advice.callout, "radius", float(value)) is None
        else:
            assert changes.choice_at(advice, "radius", float(value)) == (names[code] if code >= 0 else None)


def test_a_narrow_island_is_found():
    """A tool that lies ready serves a band of radii six hundredths wide, and it is neither stepped over nor
    misjudged."""
    ready = shops.ReadyTool(radius=3.25, form="convex", width=8.0, edge_good_for=0.17)
    tools = shops.FormTools(widths=(6.0, 8.0), grinding="bench grinder", ready=(ready,))
    shop = dataclasses.replace(shops.read_shop("bench-shop"), form_tools=tools)
    fields = {"radius": "R3 ±0.2", "form": "convex", "location": "corner", "diameter": "20 mm", "quantity": 6}
    advice = advising.advise(read(fields, shop), shop, executor=generated.run)
    point = next(p for p in changes.changes(advice).points if p.name == "radius" and p.value > 3)
    assert (point.value, point.last, point.until, point.method) == (3.22, 3.219, 3.28, "form tool")
    assert point.because[0] in ("fact", "ends")  # the tool lies ready, or what slows grinding one is over


@pytest.mark.parametrize("case", SOME, ids=lambda path: path.stem)
def test_words_and_equipment_do_change_the_method(case):
    advice = worked(case)
    found = changes_of(case)
    for point in found.words:
        assert changes.choice_at(advice, point.name, point.value) == point.method != advice.recommended
    given = advising.givens(advice.callout, advice.shop, advice.lathe)
    things = {thing.what: thing.changed for thing in changes.missing(advice, given)}
    for gain in found.equipment:
        assert gain.method != advice.recommended
        if gain.what in things:
            assert changes.best(changes.measured(advice.rules, given | things[gain.what])) == gain.method
        if advice.best:
            assert gain.saved == pytest.approx(advice.best.minutes["batch"]["mean"] - gain.measure)


def test_a_missing_attachment_is_named_with_what_it_saves():
    advice = advised(DISH, "training-shop-no-pivot")
    gain = next(g for g in changes.equipment(advice) if g.what.startswith("a pivot attachment"))
    assert gain.method == "pivot attachment" and gain.saved > 0
    assert not any(g.what.startswith("a pivot attachment") for g in changes.equipment(advised(DISH)))


@pytest.mark.parametrize("case", SOME, ids=lambda path: path.stem)
def test_a_reason_that_decides_turns_the_choice_when_it_is_taken_away(case):
    advice = worked(case)
    for other in advice.methods:
        if other == advice.recommended or advice.best is None:
            continue
        found = changes.compare(advice, advice.recommended, other)
        for weight in found.weights:
            minutes = changes.without(advice, [weight.finding.rule])
            assert weight.flips == (minutes[other] < minutes[advice.recommended])
            assert weight.gap == pytest.approx(minutes[other] - minutes[advice.recommended])
        assert math.isinf(found.gap) == bool(found.obstacles)


def test_leaving_a_rule_out_is_the_rule_base_without_it():
    advice = advised(CORNER)
    rule = advice.rules.by_id["form-tool.hollow-edge"]
    left = changes.without(advice, [rule])
    tooling = {m: advice.methods[m].minutes["tooling"]["likely"] for m in advice.methods}
    assert left["form tool"] < changes.without(advice, [])["form tool"]
    assert (
        left["pivot attachment"]
        == changes.without(advice, [])["pivot attachment"]
        == pytest.approx(advice.methods["pivot attachment"].minutes["batch"]["mean"])
    )
    assert tooling["form tool"] == pytest.approx(35.0)


@pytest.mark.parametrize("units, step", [("mm", 1.0), ("inch", 0.05 * 25.4)])
def test_a_stickout_turns_at_what_a_rule_is_read_to(units, step):
    fields = {
        "radius": "R6 ±0.1 mm",
        "form": "convex",
        "location": "corner",
        "diameter": "40 mm",
        "units": units,
        "quantity": 12,
    }
    advice = advised(fields)
    (point,) = [point for point in changes.changes(advice).points if point.name == "stickout"]
    assert point.value / step == pytest.approx(round(point.value / step), abs=1e-6)
    assert advice.lathe.name and choice_as_written(fields, "stickout", point.value, advice) == point.method
    assert choice_as_written(fields, "stickout", point.last, advice) == advice.recommended
    assert 0 < point.value - point.last <= 1.5 * step


def test_inches_turn_at_the_last_digit_of_inches():
    fields = {
        "radius": "R1/4 ±.004",
        "form": "convex",
        "location": "corner",
        "diameter": "1-1/2 in",
        "units": "inch",
        "quantity": 10,
    }
    advice = advised(fields)
    for point in changes.changes(advice).points:
        if point.name in ("radius", "tolerance", "diameter", "stickout"):
            digits = point.value / 25.4 * 10_000
            assert digits == pytest.approx(round(digits), abs=1e-4), (point.name, length(point.value, "inch"))
