"""What would let a method stand where none does: found at once, and the same as one by one."""

import math

import pytest

from advisor.answer import rescue
from advisor.answer.advice import advise, choice, with_tolerance
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.asked.callout import read_callout
from advisor.engine import generated


@pytest.mark.parametrize(
    "fields",
    [{"radius": "R6 ±0.001", "shape": "rounded corner", "diameter": "40 mm"},
     {"radius": "R.250 ±.0001", "shape": "groove", "diameter": "1.5 in", "width": ".4 in"},
     {"radius": "R40 ±0.001", "shape": "dome", "diameter": "40 mm"}],
    ids=lambda fields: fields["shape"],
)  # fmt: skip
def test_the_narrowest_tolerance_that_helps_is_the_first_of_all(fields):
    shop = shops.read_shop(shops.USUAL_SHOP)
    callout = read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    advice = advise(callout, shop, executor=generated.run)
    assert advice.best is None
    steps = [callout.tolerance * rescue.WIDER**n for n in range(1, 187)]
    tried = [one for step in steps for one in (rescue._two_digits(step, callout.units), step)]
    tried = [one for one in tried if callout.tolerance < one < min(callout.tolerance * rescue.WIDEST, callout.radius)]
    stands = [choice(with_tolerance(callout, one), shop, advice.rules) is not None for one in tried]
    assert rescue._stand(advice, tried) == stands
    found = next((one for one in rescue.rescues(advice) if one.name == "tolerance"), None)
    assert (found is not None) == any(stands)
    if found:
        assert math.isclose(found.value, tried[stands.index(True)], rel_tol=1e-9)
