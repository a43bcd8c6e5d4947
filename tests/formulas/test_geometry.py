"""Arcs and the six shapes: published tables, exact arithmetic, numerical integration, arrays against numbers."""

import inspect
import math
from decimal import Decimal, getcontext

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx
from scipy.integrate import quad
from shapes import CROWN, DISH, DOME, FILLET, GROOVE, NAMES, ROUND_CORNER, SHAPES, each_shape

from advisor.formulas import geometry

NAN = math.nan
INCH = 25.4


# Unit radius: angle, arc, height, chord, area of the segment. Computed from first principles; the handbooks print
# the same table.
UNIT_RADIUS = [
    (10, 0.174533, 0.003805, 0.174311, 0.000442),
    (15, 0.261799, 0.008555, 0.261052, 0.001490),
    (20, 0.349066, 0.015192, 0.347296, 0.003523),
    (30, 0.523599, 0.034074, 0.517638, 0.011799),
    (45, 0.785398, 0.076120, 0.765367, 0.039146),
    (60, 1.047198, 0.133975, 1.000000, 0.090586),
    (90, 1.570796, 0.292893, 1.414214, 0.285398),
    (120, 2.094395, 0.500000, 1.732051, 0.614185),
    (150, 2.617994, 0.741181, 1.931852, 1.058997),
    (180, 3.141593, 1.0, 2.0, 1.570796),
]


@pytest.mark.parametrize("angle, arc, height, chord, area", UNIT_RADIUS)
def test_unit_radius_table(angle, arc, height, chord, area):
    exact_chord = 2 * math.sin(math.radians(angle / 2))
    assert exact_chord == approx(chord, abs=6e-7)
    assert geometry.length_of_arc(radius=1.0, sweep=angle) == approx(arc, abs=6e-7)
    assert geometry.depth_of_arc(radius=1.0, chord=exact_chord) == approx(height, abs=6e-7)
    assert geometry.sweep_of_arc(radius=1.0, chord=exact_chord) == approx(angle, rel=1e-9)
    assert geometry.segment_area(radius=1.0, chord=exact_chord) == approx(area, abs=6e-7)


def test_machinerys_handbook_segments():
    """Machinery's Handbook, 31st edition, pages 50, 78 and 79."""
    assert geometry.chord_of_arc(radius=60.0, depth=8.0) == approx(59.8665, abs=5e-5)
    assert geometry.chord_of_arc(radius=8 + 1 / 3, depth=6.0) == approx(16.0)
    chord = geometry.chord_of_arc(radius=12.0, depth=2.0)
    sweep = geometry.sweep_of_arc(radius=12.0, chord=chord)
    assert chord == approx(13.27, abs=0.005)
    assert sweep == approx(67.13, abs=0.02)  # the book rounds an arc tangent; exact 67.1146
    assert geometry.length_of_arc(radius=12.0, sweep=sweep) == approx(14.06, abs=0.005)
    assert geometry.segment_area(radius=12.0, chord=chord) == approx(18.01, abs=0.005)
    assert geometry.length_of_arc(radius=35.0, sweep=60.0) == approx(36.645, abs=0.008)  # exact 36.652


def test_sagitta_computed_from_first_principles():
    assert geometry.depth_of_arc(radius=4.0625, chord=2.0) == approx(0.125)
    assert geometry.depth_of_arc(radius=100.0, chord=50.0) == approx(3.175416, abs=5e-7)
    assert geometry.depth_of_arc(radius=4.0, chord=2.0) == approx(0.127017, abs=5e-7)


def test_half_circle_and_beyond():
    assert geometry.depth_of_arc(radius=6.0, chord=12.0) == 6.0
    assert geometry.sweep_of_arc(radius=6.0, chord=12.0) == approx(180.0)
    for function in (geometry.depth_of_arc, geometry.sweep_of_arc, geometry.segment_area):
        assert math.isnan(function(radius=6.0, chord=14.0))


def test_a_chord_rounded_past_the_diameter_is_the_diameter():
    radius = 0.35 * INCH
    chord = math.nextafter(2 * radius, math.inf)
    assert geometry.depth_of_arc(radius=radius, chord=chord) == approx(radius)
    assert geometry.sweep_of_arc(radius=radius, chord=chord) == approx(180)


@pytest.mark.parametrize("chord", [1e-3, 0.5, 12.0, 90.0, 1999.0, 1999.9999])
def test_digits_hold_on_flat_and_on_deep_arcs(chord):
    """Against fifty-digit arithmetic, relative 1e-12."""
    getcontext().prec = 50
    radius = 1000.0
    half, r = Decimal(chord) / 2, Decimal(radius)
    leg = (r * r - half * half).sqrt()
    depth = r - leg
    assert geometry.depth_of_arc(radius=radius, chord=chord) == approx(float(depth), rel=1e-12)
    assert geometry.depth_per_radius(radius=radius, chord=chord, corner=False) == approx(float(r / leg - 1), rel=1e-12)
    assert geometry.segment_area(radius=radius, chord=chord) == approx(float(_segment(r, half)), rel=1e-12)


def _segment(radius, half):
    """Area of a segment in fifty digits, from the half chord."""
    leg = (radius * radius - half * half).sqrt()
    x = half / radius
    if x * x > Decimal("0.5"):
        return radius * radius * (PI / 2 - _asin(leg / radius)) - half * leg
    return radius * radius * _asin(x) - half * leg


PI = Decimal("3.14159265358979323846264338327950288419716939937510582")


def _asin(x):
    term, total, n = x, x, 0
    while abs(term) > Decimal(10) ** -48:
        term *= x * x * (2 * n + 1) / (2 * n + 2)
        n += 1
        total += term / (2 * n + 1)
    return total


@given(radius=some.floats(0.1, 1000), share=some.floats(1e-4, 1))
def test_depth_and_chord_lead_back(radius, share):
    depth = share * radius
    chord = geometry.chord_of_arc(radius=radius, depth=depth)
    assert chord * chord / (8 * depth) + depth / 2 == approx(radius, rel=1e-9)
    assert geometry.depth_of_arc(radius=radius, chord=chord) == approx(depth, rel=1e-6)


@some.composite
def arcs(draw, shape):
    """An arc of this shape that can be turned: radius, chord, depth, diameter."""
    radius = draw(some.floats(0.5, 200))
    share, extra = draw(some.floats(0.05, 1)), draw(some.floats(0.01, 300))
    if shape["corner"]:
        chord, depth = NAN, radius
        diameter = 2 * radius + extra if shape["convex"] else extra
    else:
        chord = 2 * radius * share
        depth = geometry.depth_of_arc(radius=radius, chord=chord)
        diameter = chord if shape == DOME else chord + extra if shape == DISH else 2 * depth + extra
    return {"radius": radius, "chord": chord, "depth": depth, "diameter": diameter}


def integrated(arc, shape):
    """Removed volume and finished area by numerical integration round the arc."""
    radius, depth, a = arc["radius"], arc["depth"], arc["diameter"] / 2
    half = math.pi / 2 if shape["corner"] else math.asin(min(1, arc["chord"] / 2 / radius))
    if shape["end"]:
        rough = arc["chord"] / 2 if shape["convex"] else 0.0
        limits = (0, half)

        def from_axis(phi):
            return radius * math.sin(phi)

        def along_axis(phi):
            return radius * math.sin(phi)

    else:
        rough = a + radius if shape == FILLET else a
        limits = (0 if shape["corner"] else -half, half)

        def from_axis(phi):
            fall = radius * math.cos(phi)
            if shape["convex"]:
                return a - radius + fall
            return a + radius - fall if shape["corner"] else a - depth + radius - fall

        def along_axis(phi):
            return radius * math.cos(phi)

    volume = quad(lambda phi: math.pi * abs(rough**2 - from_axis(phi) ** 2) * along_axis(phi), *limits)[0]
    area = quad(lambda phi: 2 * math.pi * from_axis(phi) * radius, *limits)[0]
    return volume, area


@each_shape
@given(data=some.data())
@settings(max_examples=60, deadline=None)
def test_volume_and_area_against_integration(shape, data):
    arc = data.draw(arcs(shape))
    volume, area = integrated(arc, shape)
    assert geometry.removed_volume(**arc, **shape) == approx(volume, rel=1e-8)
    assert geometry.finished_area(**arc, **shape) == approx(area, rel=1e-8)


def test_volumes_known_in_closed_form():
    """Ball, hemispherical bowl and torus."""
    ball_end = geometry.removed_volume(radius=10.0, chord=NAN, depth=10.0, diameter=20.0, **ROUND_CORNER)
    assert ball_end == approx(math.pi * 1000 / 3)  # cylinder less hemisphere
    assert geometry.removed_volume(radius=10.0, chord=20.0, depth=10.0, diameter=20.0, **DOME) == approx(ball_end)
    bowl = geometry.removed_volume(radius=10.0, chord=20.0, depth=10.0, diameter=30.0, **DISH)
    assert bowl == approx(2 / 3 * math.pi * 1000)
    half_torus = geometry.removed_volume(radius=3.0, chord=6.0, depth=3.0, diameter=40.0, **GROOVE)
    assert half_torus == approx(2 * math.pi * (20 - 4 / math.pi) * math.pi * 4.5)


@pytest.mark.parametrize("radius, chord, diameter", [(1e4, 10.0, 20.0), (1e3, 10.0, 20.0), (6.0, 11.9, 40.0)])
def test_digits_hold_on_flat_grooves_and_crowns(radius, chord, diameter):
    """Against fifty-digit arithmetic, relative 1e-12, up to R of 500 diameters."""
    getcontext().prec = 50
    r, c, a = Decimal(radius), Decimal(chord), Decimal(diameter) / 2
    depth = r - (r * r - c * c / 4).sqrt()
    segment = _segment(r, c / 2)
    from_centre = c**3 / (12 * segment)
    groove = 2 * PI * segment * (a - depth + r - from_centre)
    crown = 2 * PI * (c * depth * (a - depth / 2) - segment * (a - r + from_centre))
    arc = {"radius": radius, "chord": chord, "depth": float(depth), "diameter": diameter}
    assert geometry.removed_volume(**arc, **GROOVE) == approx(float(groove), rel=1e-12)
    assert geometry.removed_volume(**arc, **CROWN) == approx(float(crown), rel=1e-12)


@pytest.mark.parametrize(
    "shape, from_axis, from_face",
    [
        (ROUND_CORNER, 14.0, 6.0),
        (FILLET, 26.0, 6.0),
        (DOME, 0.0, 6.0),
        (DISH, 0.0, -4.0),
        (CROWN, 14.0, 35.0),
        (GROOVE, 24.0, 35.0),
    ],
    ids=NAMES,
)
def test_centre_of_the_arc(shape, from_axis, from_face):
    """Worked by hand: R 6 with a depth of 2 on a 40 mm bar, 30 from the end."""
    arc = {"radius": 6.0, "depth": 2.0, **shape}
    assert geometry.centre_from_axis(diameter=40.0, **arc) == from_axis
    assert geometry.centre_from_face(chord=10.0, from_end=30.0, **arc) == from_face


@each_shape
def test_unknown_place_along_the_work(shape):
    on_face = shape["corner"] or shape["end"]
    centre = geometry.centre_from_face(radius=6.0, depth=2.0, chord=10.0, from_end=NAN, **shape)
    assert math.isnan(centre) != on_face


def test_depth_and_sweep_of_a_corner_need_no_chord():
    assert geometry.feature_depth(radius=6.0, chord=NAN, corner=True) == 6.0
    assert geometry.feature_sweep(radius=6.0, chord=NAN, corner=True) == 90.0


def test_depth_tolerance_of_a_flat_dome():
    """R8 ± .020 in over a 3½ in face is about ± .0005 in of dome."""
    allowed = geometry.depth_tolerance(radius=8 * INCH, tolerance=0.02 * INCH, chord=3.5 * INCH, corner=False)
    assert allowed / INCH == approx(0.0005, abs=0.00003)


@given(radius=some.floats(1, 500), share=some.floats(0.01, 0.99))
def test_depth_per_radius_is_the_slope(radius, share):
    chord, step = 2 * radius * share, radius * 1e-5
    deep = geometry.depth_of_arc(radius=radius - step, chord=chord)
    flat = geometry.depth_of_arc(radius=radius + step, chord=chord)
    slope = geometry.depth_per_radius(radius=radius, chord=chord, corner=False)
    assert slope == approx((deep - flat) / (2 * step), rel=1e-3, abs=1e-8)


@given(radius=some.floats(1, 500), share=some.floats(0.01, 1), tolerance=some.floats(0.001, 0.5))
def test_depth_tolerance_stays_finite(radius, share, tolerance):
    allowed = geometry.depth_tolerance(radius=radius, tolerance=tolerance, chord=2 * radius * share, corner=False)
    # No depth can move by more than the square root that the half circle gives.
    assert 0 <= allowed <= math.sqrt(2 * tolerance * (radius + tolerance))


def test_depth_tolerance_at_the_half_circle_and_on_a_corner():
    expected = 20 - (20.1 - math.sqrt(20.1**2 - 20**2))
    assert geometry.depth_tolerance(radius=20.0, tolerance=0.1, chord=40.0, corner=False) == approx(expected)
    assert geometry.depth_per_radius(radius=20.0, chord=40.0, corner=False) == math.inf
    # The tangents of a corner stay: its middle moves by √2 − 1 of the change of the radius.
    assert geometry.depth_tolerance(radius=6.0, tolerance=0.1, chord=NAN, corner=True) == approx(
        0.1 * (math.sqrt(2) - 1)
    )
    assert geometry.depth_per_radius(radius=6.0, chord=NAN, corner=True) == approx(math.sqrt(2) - 1)


def test_what_is_left_of_the_core():
    sizes = {"diameter": 30.0, "depth": 4.0}
    assert geometry.remaining_core(bore=10.0, **sizes, **GROOVE) == 12.0
    assert geometry.remaining_core(bore=NAN, **sizes, **GROOVE) == 22.0
    for shape in (ROUND_CORNER, FILLET, DOME, DISH, CROWN):
        assert geometry.remaining_core(bore=10.0, **sizes, **shape) == 20.0


@pytest.mark.parametrize(
    "shape, largest",
    [
        (ROUND_CORNER, 30.0),
        (FILLET, 42.0),
        (DOME, 30.0),
        (DISH, 10.0),
        (CROWN, 30.0),
        (GROOVE, 30.0),
    ],
    ids=NAMES,
)
def test_largest_diameter(shape, largest):
    sizes = {"diameter": 30.0, **shape}
    assert geometry.largest_diameter(radius=6.0, chord=10.0, **sizes) == largest


@pytest.mark.parametrize("shape", SHAPES, ids=NAMES)
def test_swung_diameter(shape):
    sizes = {"radius": 6.0, "diameter": 30.0, "convex": shape["convex"], "corner": shape["corner"]}
    fillet = shape == FILLET
    assert geometry.swung_diameter(**sizes, shoulder_height=NAN) == (42.0 if fillet else 30.0)
    assert geometry.swung_diameter(**sizes, shoulder_height=9.0) == (48.0 if fillet else 30.0)


@pytest.mark.parametrize("width", [1e-3, 0.3, 6.0, 11.999])
def test_inches_and_millimetres_agree(width):
    """Areas go by the square of the unit, volumes by the cube."""
    arc = {"radius": 6.0, "chord": width, "depth": geometry.depth_of_arc(radius=6.0, chord=width), "diameter": 30.0}
    larger = {name: 25.4 * value for name, value in arc.items()}
    for shape in SHAPES:
        ratio = geometry.removed_volume(**larger, **shape) / geometry.removed_volume(**arc, **shape)
        assert ratio == approx(25.4**3, rel=1e-7)
        ratio = geometry.finished_area(**larger, **shape) / geometry.finished_area(**arc, **shape)
        assert ratio == approx(25.4**2, rel=1e-7)


def column_of_arcs():
    """Many arcs of all six shapes at once, some of them impossible."""
    random = numpy.random.default_rng(5)
    count = 600
    radius = random.uniform(0.5, 100, count)
    corner = random.random(count) < 0.3
    end = ~corner & (random.random(count) < 0.5)
    chord = numpy.where(corner, NAN, 2 * radius * random.uniform(0.01, 1.05, count))
    return {
        "radius": radius,
        "chord": chord,
        "depth": geometry.feature_depth(radius=radius, chord=chord, corner=corner),
        "sweep": geometry.feature_sweep(radius=radius, chord=chord, corner=corner),
        "diameter": random.uniform(1, 200, count),
        "tolerance": random.uniform(0.001, 1, count),
        "from_end": numpy.where(random.random(count) < 0.5, NAN, 12.0),
        "shoulder_height": numpy.where(random.random(count) < 0.5, NAN, 9.0),
        "bore": numpy.where(random.random(count) < 0.5, NAN, 3.0),
        "convex": random.random(count) < 0.5,
        "corner": corner,
        "end": end,
    }


FORMULAS = [thing for thing in vars(geometry).values() if getattr(thing, "__module__", "") == geometry.__name__]


@pytest.mark.parametrize("function", FORMULAS, ids=lambda function: function.__name__)
def test_arrays_agree_with_numbers(function):
    columns = column_of_arcs()
    names = inspect.signature(function).parameters
    together = function(**{name: columns[name] for name in names})
    for row in range(len(columns["radius"])):
        alone = function(**{name: columns[name][row].item() for name in names})
        assert together[row] == approx(alone, rel=1e-9, nan_ok=True)
