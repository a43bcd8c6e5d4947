"""One test a fault that was found when the program was attacked, named by its number."""

import pytest

from advisor import callout as callouts
from advisor import materials, many
from advisor import shop as shops
from advisor.advice import lathe_for
from advisor.errors import InputError, ShopError
from command import run
from test_house_faults import MATERIALS, SHOP, read, refused

A = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"}
GROOVE = {"radius": "R6 ±0.1", "form": "concave", "location": "outside diameter", "diameter": "40 mm", "width": "8 mm"}


def words(fields):
    """The fields of a callout as the command line takes them."""
    options = [(f"--{key.replace('_', '-')}", value) for key, value in fields.items() if key != "radius"]
    return [fields["radius"], *(word for option in options for word in option)]


def advised(fields, *more):
    """What `advise` does with these fields."""
    return run("advise", *words(fields), *more)


# ---- 1: no advice from sizes that cannot be


@pytest.mark.parametrize("stickout", ["401 mm", "3000 mm", "100000 mm"])
def test_fault_1_work_far_out_of_the_chuck_alone_is_refused(stickout):
    told = refused(A | {"stickout": stickout})
    assert told == (
        f"stickout: {stickout} is farther than the chuck alone holds work of 40 mm, 400 mm. "
        "Give at most 400 mm, or support it with a tailstock or a steady rest."
    )
    done = advised(A | {"stickout": stickout})
    assert done.status == 2 and "rpm" not in done.out


def test_fault_1_work_at_the_limit_and_supported_work_are_taken():
    assert read(A | {"stickout": "400 mm"}).stickout == 400
    assert read(A | {"stickout": "900 mm", "support": "tailstock"}).stickout == 900
    assert read(A | {"diameter": "12.5 mm", "stickout": "125 mm"}).stickout == 125
    assert read(A | {"radius": "R1 ±0.1", "diameter": "4 mm", "stickout": "60 mm"}).stickout == 60


@pytest.mark.parametrize("support", ["tailstock", "steady rest"])
def test_fault_1_work_longer_than_the_bed_is_refused(support):
    one = read(A | {"stickout": "1000.001 mm", "support": support})
    with pytest.raises(ShopError, match="is longer than the engine lathe takes between its centres, 1000 mm"):
        lathe_for(one, SHOP)
    assert lathe_for(read(A | {"stickout": "1000 mm", "support": support}), SHOP)
    done = advised(A | {"stickout": "50 m", "support": support})
    assert done.status == 2 and "between its centres" in done.complaint


def test_fault_1_a_groove_beyond_the_end_of_the_bed_is_refused():
    assert "lies 50008 mm from the free end" in refused(GROOVE | {"from_end": "50000 mm"})
    done = advised(GROOVE | {"from_end": "50000 mm", "support": "tailstock"})
    assert done.status == 2 and "between its centres, 1000 mm" in done.complaint


def test_fault_1_a_dished_disc_has_to_swing():
    dish = {"radius": "R60 ±0.5", "form": "concave", "location": "end", "diameter": "900 mm", "width": "40 mm"}
    done = advised(dish)
    assert done.status == 2 and "does not swing over the bed" in done.complaint


def test_fault_1_lists_take_no_other_work(tmp_path):
    listed = tmp_path / "list.csv"
    listed.write_text(
        "radius,form,location,diameter,stickout,support,width,from_end\n"
        "R6 ±0.1,convex,corner,40 mm,100 m,,,\n"
        "R6 ±0.1,convex,corner,40 mm,50 m,tailstock,,\n"
        "R6 ±0.1,concave,outside diameter,40 mm,,tailstock,8 mm,50000 mm\n"
        "R60 ±0.5,concave,end,900 mm,,,40 mm,\n"
        "R6 ±0.1,convex,corner,40 mm,60 mm,,,\n",
        encoding="utf-8",
    )
    import csv
    import io

    rows = list(csv.DictReader(io.StringIO(run("batch", listed, "--without-records").out)))
    assert [bool(row["error"]) for row in rows] == [True, True, True, True, False]
    assert all(row["method"] == row["spindle_rpm"] == "" for row in rows[:4])


def with_lathe(tmp_path, old, new):
    """The path of a training shop with one line changed."""
    text = (shops.SHOPS / "training-shop.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "shop.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ("chuck_highest_speed = 2500", "chuck_highest_speed = 30", "is slower than the slowest spindle speed"),
        ("spindle_speeds = [", "spindle_speeds = [50000, 100000] # [", "50000 rpm is no speed of a lathe"),
    ],
)
def test_fault_1_no_speed_past_what_a_shop_can_run(tmp_path, old, new, problem):
    shop = with_lathe(tmp_path, old, new)
    for command in (["check", shop], ["advise", *words(A), "--shop", shop]):
        done = run(*command)
        assert done.status == 2 and problem in " ".join((done.out + done.complaint).split()), done
