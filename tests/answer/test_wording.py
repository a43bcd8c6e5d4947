"""How closely a length is told, and that rounding never puts it on another side of what it is held against."""

import math

import pytest

from advisor.answer import advice, wording
from advisor.asked import callout, materials, shop


def answered(**values):
    """Advice on a plain corner, some of its values put in the place of its own."""
    fields = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"}
    units = values.pop("units", "mm")
    fields = fields if units == "mm" else fields | {"radius": "R1/4 ±.004", "diameter": "1-1/2 in", "units": "inch"}
    found = advice.advise(
        callout.read_callout(fields, materials=materials.materials()), shop.read_shop("training-shop")
    )
    found.outcome.values.update(values)
    return found


@pytest.mark.parametrize(
    ("edge", "clean", "told"),
    [
        (18.546, 11.2, "18.5 mm of 11.2 mm"),
        (18.546, 18.5, "18.546 mm of 18.5 mm"),  # as 18.5 it would be no more than what runs clean
        (18.46, 18.5, "18.46 mm of 18.5 mm"),
        (18.546, 18.52, "18.546 mm of 18.52 mm"),
        (18.5, 18.5, "18.5 mm of 18.5 mm"),
        (2.046, 11.2, "2.046 mm of 11.2 mm"),  # short ones to the last digit
    ],
)
def test_a_length_is_rounded_but_never_past_a_limit(edge, clean, told):
    found = answered(edge_in_cut=edge, widest_clean_contact=clean)
    assert wording.say("{edge_in_cut} of {widest_clean_contact}", found) == told


def test_a_step_tells_what_is_set_to_its_last_digit():
    found = answered(rod_length=221.603)
    assert wording.say("{rod_length}", found) == "221.6 mm"
    assert wording.say("{rod_length}", found, told_to_do=True) == "221.603 mm"


def test_work_is_let_out_by_a_rule_wherever_it_is_told():
    found = answered(compound_stickout=91.906)
    for told_to_do in (True, False):
        assert wording.say("{compound_stickout}", found, told_to_do=told_to_do) == "92 mm"


def test_inches_are_rounded_to_a_hundredth():
    found = answered(edge_in_cut=18.546, widest_clean_contact=math.inf, units="inch")
    assert wording.say("{edge_in_cut}", found) == ".73 in"
    short = answered(edge_in_cut=5.123, units="inch")  # less than thirty hundredths: to its last digit
    assert wording.say("{edge_in_cut}", short) == ".2017 in"
