"""What could be bought: each saving against the list priced in a shop that has the thing, and nothing that is there already."""

import json
from pathlib import Path

import pytest
from command import run

from advisor.asked import shop as shops
from advisor.ground.folders import rule_tables
from advisor.lists import files, pricing, worth
from advisor.show import worth as page

LISTS = Path(__file__).parent.parent / "lists"


def found(shop, path=LISTS / "enquiry.xlsx"):
    source = files.open_source(str(path))
    return worth.worth(source, pricing.order_for(source, shop=shop))


def test_a_pivot_attachment_saves_what_the_shop_with_it_saves(tmp_path):
    """The training shop without a pivot attachment against one that is like it and has the attachment of rules/worth.toml."""
    bought = rule_tables("worth.toml")["pivot_attachment"]["put"]["pivot_attachment"]
    sizes = {key: value for key, value in bought.items() if key not in ("lathes", "largest_work_over")}
    lathe = shops.read_shop("training-shop").lathes[0]
    text = 'like = "training-shop-no-pivot"\n[pivot_attachment]\nlathes = ["engine lathe"]\n'
    text += f'largest_work_over = "{0.26 * lathe.swing_over_bed:.0f} mm"\n'
    text += "".join(f'{key} = "{value}"\n' for key, value in sizes.items())
    (tmp_path / "with.toml").write_text(text, encoding="utf-8")
    first = found("training-shop-no-pivot").worth[0]
    assert first.says.startswith("a pivot attachment for the engine lathe, 3 mm to 60 mm convex")
    told = " ".join(
        run(
            "batch", LISTS / "enquiry.xlsx", "-o", tmp_path / "out.csv", "--shop", "training-shop-no-pivot",
            "--against", tmp_path / "with.toml",
        ).out.split()
    )  # fmt: skip
    assert f"saves {first.minutes:.0f} min and saves {first.money:,.2f} EUR; {first.changed} of them" in told


def test_a_wider_blank_saves_what_the_form_tool_saves(tmp_path):
    """A bench with blanks up to 8 mm and a corner R9, whose edge is 10 mm wide: `why --instead` tells what the form tool
    would take there, the only rule against it being the blank."""
    path = tmp_path / "list.csv"
    path.write_text("radius,feature,dia,material,qty\nR9 ±0.5,rounded corner,40,brass,100\n", encoding="utf-8")
    result = found("bench-shop", path)
    helps = {one.says: one for one in result.worth}
    assert "form tool blanks 6 mm wide" not in {*helps, *result.nothing}
    case = ["R9 ±0.5", "--form", "convex", "--location", "corner", "--diameter", "40", "--material", "brass"]
    ran = run("estimate", *case, "--quantity", "100", "--shop", "bench-shop", "--json").data["prices"]["methods"]
    minutes = {name: ran[name]["minutes"]["batch"]["mean"] for name in ("swung compound", "form tool")}
    saved = helps["form tool blanks 10 mm wide"].minutes
    assert saved == pytest.approx(minutes["swung compound"] - minutes["form tool"], abs=0.02) and saved > 200
    assert [says for says in helps if says.startswith("form tool blanks")] == ["form tool blanks 10 mm wide"]


@pytest.mark.parametrize("shop", ["training-shop", "training-shop-no-pivot", "bench-shop", "jobbing-shop"])
def test_nothing_is_offered_that_is_there_already(shop):
    has, offered = shops.read_shop(shop), [one.says for one in worth.purchases(shop)]
    assert len(set(offered)) == len(offered)
    assert any(says.startswith("a pivot attachment") for says in offered) == (has.pivot_attachment is None)
    for lathe in has.lathes:
        assert (f"rod seats for the {lathe.name}" in offered) == (lathe.rod is None)
    for one in worth.purchases(shop):
        assert one.shop != has


def test_best_first_and_signs(tmp_path):
    result = found("bench-shop")
    money = [one.money for one in result.worth]
    assert money == sorted(money, reverse=True) and all(one.more or one.changed for one in result.worth)
    assert not {one.says for one in result.worth} & set(result.nothing)
    told = " ".join(run("worth", LISTS / "enquiry.xlsx", "--shop", "bench-shop").out.split())
    assert result.worth[0].says in told and f"{result.worth[0].money:,.2f}" in told
    data = json.loads(run("worth", LISTS / "enquiry.xlsx", "--shop", "bench-shop", "--json").out)
    assert [one["what"] for one in data["worth"]] == [one.says for one in result.worth] and data == json.loads(
        json.dumps(page.answer(result))
    )


def test_a_shop_without_a_rate_is_told_in_minutes(tmp_path):
    (tmp_path / "shed.toml").write_text(
        'like = "training-shop-no-pivot"\nwithout = ["hourly_rate"]\n', encoding="utf-8"
    )
    told = run("worth", LISTS / "enquiry.xlsx", "--shop", tmp_path / "shed.toml").out
    assert "466 min" in told and "EUR" not in told
