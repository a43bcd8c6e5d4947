"""Published values through the whole program: what the user types against what the books print.

Where a source is named "from memory" it was not opened; "first principles" means computed independently.
"""

import math

import pytest
from command import advise

from advisor.answer import advice
from advisor.asked.shop import read_shop
from advisor.commands import register
from advisor.commands.on_a_callout import read_job

SPEEDS = read_shop("training-shop").lathes[0].spindle_speeds


def asked(*words, **options):
    """The Advice behind a command line."""
    arguments = ["advise", *words, *(f"--{name.replace('_', '-')}={value}" for name, value in options.items())]
    return advice.advise(*read_job(register.read(arguments)))


# ---- segments of circles


@pytest.mark.parametrize(
    ("radius", "width", "depth", "sweep", "arc", "within"),
    [
        # Machinery's Handbook 31st ed. p. 79: radius 60, height 8, chord 59.86 (exactly 59.8665).
        (60, 59.8665, 8, None, None, 1e-5),
        # Machinery's Handbook 31st ed. p. 79: chord 16, height 6, radius 8 1/3.
        (25 / 3, 16, 6, None, None, 1e-9),
        # Machinery's Handbook 31st ed. p. 50: radius 12, depth 2: chord 13.27, angle 67.1146°, arc 14.0565.
        (12, 13.2665, 2, 67.1146, 14.0565, 2e-5),
        # Machinery's Handbook 31st ed. p. 78: radius 35, 60°: arc 36.652 (36.645 printed).
        (35, 35, None, 60, 36.652, 2e-5),
    ],
)
def test_segments_of_circles(radius, width, depth, sweep, arc, within):
    data = advise(
        "--json",
        radius=f"R{radius:.9f} ±0.3 mm",
        location="outside diameter",
        form="concave",
        diameter="60 mm",
        width=f"{width} mm",
    ).data["geometry"]
    assert data["chord_mm"] == width
    if depth:
        assert data["depth_mm"] == pytest.approx(depth, rel=within)
    if sweep:
        assert data["sweep_deg"] == pytest.approx(sweep, rel=within)
        assert data["arc_length_mm"] == pytest.approx(arc, rel=within)


def test_a_depth_stands_for_a_width():
    """Machinery's Handbook 31st ed. p. 79: radius 60, height 8, chord 59.86."""
    data = advise(
        "--json", radius="R60 ±0.3", location="outside diameter", form="concave", diameter="80 mm", depth="8 mm"
    ).data
    assert data["geometry"]["chord_mm"] == pytest.approx(59.8665, abs=1e-4)


# ---- speeds


def highest_not_above(rpm):
    return max(speed for speed in SPEEDS if speed <= rpm)


@pytest.mark.parametrize(
    ("material", "hardness", "feet"),
    [
        # Recommended speeds for turning with high-speed steel, older Machinery's Handbook table.
        ("low-carbon steel", "150 HB", 110),
        ("low-carbon steel", "110 HB", 120),
        ("low-carbon steel", "250 HB", 70),
        ("medium-carbon steel", "200 HB", 85),
    ],
)
@pytest.mark.parametrize("diameter", [20, 25, 40, 100])
def test_the_spindle_speed_comes_from_the_published_cutting_speed(material, hardness, feet, diameter):
    """1000 v / (π D), then the highest speed of the lathe that does not exceed it."""
    found = asked(
        "R3 ±0.3", form="convex", location="corner", diameter=f"{diameter} mm", material=material, hardness=hardness
    )
    speed = feet * 0.3048
    setup = found.methods["form tool"].setup
    assert setup["straight_turning_rpm"] == highest_not_above(1000 * speed / (math.pi * diameter) * 1.01)
    assert setup["surface_speed_m_min"] == pytest.approx(math.pi * diameter * setup["spindle_rpm"] / 1000)


def test_a_form_tool_starts_at_half_the_straight_turning_speed():
    """Common practice. TC 9-524 files at about four times the speed of turning; the house holds half of that, common
    practice, and never past what the lathe can run."""
    found = asked("R6 ±0.1", form="convex", location="corner", diameter="40 mm")
    straight = 110 * 0.3048 * 1000 / (math.pi * 40)
    assert found.methods["form tool"].setup["spindle_rpm"] == highest_not_above(straight / 2)
    assert found.methods["freehand"].setup["filing_rpm"] in SPEEDS
    assert straight < found.methods["freehand"].setup["filing_rpm"] <= 2.05 * straight


# ---- tolerances


@pytest.mark.parametrize(
    ("letter", "limits"),
    [
        # ISO 2768-1:1989 table 2, external radii: 0.5 to 3, over 3 to 6, over 6.
        ("f", (0.2, 0.5, 1)),
        ("m", (0.2, 0.5, 1)),
        ("c", (0.4, 1, 2)),
        ("v", (0.4, 1, 2)),
    ],
)
def test_general_tolerances(letter, limits):
    for radius, limit in zip((3, 6, 6.5), limits, strict=True):
        data = advise("--json", radius=f"R{radius}", general_tolerance=f"ISO 2768-{letter}").data
        assert data["geometry"]["tolerance_mm"] == limit
        assert "ISO 2768" in data["callout"]["tolerance_from"]


def test_hardness_in_rockwell():
    """HRC 40 is 371 HB, ASTM E140, from memory."""
    assert advise("--json", hardness="40 HRC").data["callout"]["hardness_hb"] == pytest.approx(371, abs=0.5)


def test_the_depth_tolerance_of_a_flat_face():
    """First principles: R8 in ±.020 over 3 1/2 in asks for only about ±.0005 in of dome."""
    data = advise("--json", radius="R8 ±.020", location="end", diameter="3-1/2", units="inch", shop="jobbing-shop").data
    assert data["geometry"]["depth_tolerance_mm"] / 25.4 == pytest.approx(0.0005, abs=0.00002)


# ---- the edge of a form tool


@pytest.mark.parametrize(
    ("radius", "diameter", "crest"),
    [
        # First principles, bead of R .25 in on r1 .5 in, no rake, relief 8°: crest ground .247567 in.
        (".25", "1.5", 0.247567),
        # The same with twice the bead on r1 .375 in: ground depth R cos 8°.
        (".5", "1.75", 0.5 * math.cos(math.radians(8))),
    ],
)
def test_the_edge_of_a_bead(radius, diameter, crest):
    found = asked(
        f"R{radius} ±.02",
        units="inch",
        form="convex",
        location="outside diameter",
        diameter=diameter,
        width=f"{2 * float(radius)}",
    )
    setup = found.methods["form tool"].setup
    assert (setup["relief_deg"], setup["rake_deg"]) == (8, 0)
    assert max(point["flank_depth_mm"] for point in setup["profile"]) / 25.4 == pytest.approx(crest, abs=1e-6)


# ---- facets, tool marks, spring


def test_facets_of_a_rounded_corner():
    """First principles: chamfer leg .585786 R; 45° alone leaves .082392 R, with 22.5° and 67.5° .019591 R."""
    setup = asked("R6 ±0.1", form="convex", location="corner", diameter="40 mm").methods["freehand"].setup
    assert setup["chamfer_leg_mm"] == pytest.approx(6 * 0.585786, abs=6e-6)
    standing = [facet["standing_mm"] for facet in setup["facets"]]
    assert standing[0] == pytest.approx(6 * 0.082392, abs=6e-6)
    assert standing[1] == pytest.approx(6 * 0.019591, abs=6e-6)


def test_work_springs_as_a_beam():
    """First principles, F L³ / 3 E I: between two stickouts of bare bar the spring grows as the cube of the free
    length."""
    near, far = (
        asked("R6 ±0.1", form="convex", location="corner", diameter="40 mm", stickout=f"{length} mm")
        for length in (60, 80)
    )
    for found in (near, far):
        force, overhang, modulus = (found.values[name] for name in ("form_tool_force", "free_overhang", "modulus"))
        expected = force * overhang**3 / (3 * modulus * math.pi * 40**4 / 64)
        assert found.methods["form tool"].setup["deflection_mm"] == pytest.approx(expected, rel=1e-9)
    assert far.values["free_overhang"] - near.values["free_overhang"] == pytest.approx(20)


# ---- minutes


def test_three_point_estimates():
    """PERT (Wideman): (O + 4M + P)/6 and (P − O)/6: 4, 6 and 12 give 6.6667."""
    for method in advise("--json", quantity="5").data["methods"].values():
        for part in ("tooling", "setup", "per_piece"):
            low, likely, high, mean = (method["minutes"][part][key] for key in ("low", "likely", "high", "mean"))
            assert mean == pytest.approx((low + 4 * likely + high) / 6)


def test_a_shops_own_three_minutes(tmp_path):
    """4, 6 and 12 minutes to set the pivot, nothing else changed, come out as a mean of 6.6667."""
    shop = tmp_path / "mine.toml"
    given = {
        "form": "concave",
        "location": "outside diameter",
        "diameter": "40 mm",
        "width": "10 mm",
        "from_end": "10 mm",
        "shop": shop,
    }
    means = []
    for minutes in ('["0 min", "0 min", "0 min"]', '["4 min", "6 min", "12 min"]'):
        shop.write_text(f'like = "training-shop"\n[minutes]\npivot_setup_time = {minutes}\n', encoding="utf-8")
        found = asked("R10 ±0.3", **given)
        means.append(found.methods["pivot attachment"].minutes["setup"]["mean"])
    assert (means[1] - means[0]) / found.values["pivot_setup_factor"] == pytest.approx(6.6667, abs=5e-5)
