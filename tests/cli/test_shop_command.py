"""`turn-radius shop`: new files, the user's own shop, what a shop can do, and how a lathe is measured."""

import dataclasses
import os
import re
import tomllib

import pytest
from command import run

from advisor.answer.advice import advise
from advisor.asked import new_shop, settings
from advisor.asked import shop as shops
from advisor.asked.callout import read_callout
from advisor.asked.materials import materials
from advisor.asked.shop_keys import recipes, shop_tables
from advisor.commands import register
from advisor.commands.on_a_callout import job_so_far
from advisor.drawing import measuring
from advisor.ground import toml_text
from advisor.show import measuring as shown
from advisor.study import ability

UNITS = ("mm", "inch")


@pytest.fixture
def home(tmp_path, monkeypatch):
    """Settings of this test's own, in a folder of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv(settings.SHOP_VARIABLE, raising=False)
    monkeypatch.chdir(tmp_path)
    return tmp_path


# ---- a new file


@pytest.mark.parametrize("units", UNITS)
def test_a_new_file_passes_as_it_is_written_and_with_everything_in_it(units, tmp_path):
    for name, text in (("bare", new_shop.text(units, "bare")), ("full", new_shop.filled_in(units))):
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
        ran = run("check", str(tmp_path / f"{name}.toml"))
        assert ran.status == 0, ran.out
        assert shops.read_shop(tmp_path / f"{name}.toml").units == units
    full = shops.read_shop(tmp_path / "full.toml")
    lathe = full.lathes[0]
    assert full.pivot_attachment and full.rods and lathe.rod and lathe.compound and full.files.usable()
    assert measuring.can_be_drawn(lathe)


@pytest.mark.parametrize("units", UNITS)
def test_every_key_stands_in_a_new_file(units):
    """Each key that the reader knows, under its own heading, with its meaning."""
    text = new_shop.text(units, "x")
    parts = re.split(r"(?m)^#?(\[{1,2}[a-z_.]+\]{1,2})$", text)
    under = {"at the top": parts[0]}
    for heading, part in zip(parts[1::2], parts[2::2], strict=True):
        under[heading] = under.get(heading, "") + part
    for name, kind in shops.KINDS.items():
        table = shop_tables()[name]
        for key, (entry, needed) in shops.keys_of(kind).items():
            inside = getattr(entry.metadata["read"], "kind", None)
            if inside:
                assert shop_tables()[inside.table].heading in under, key
            elif table.keys[key].metric:
                assert re.search(rf"(?m)^#?{key} = ", under[table.heading]), (name, key)
                counts = needed and name in ("shop", "lathe")
                assert bool(re.search(rf"(?m)^{key} = ", under[table.heading])) is counts, (name, key)
            else:
                assert f"[{key}]" in under, key


def test_a_new_file_says_the_words_and_the_unit_of_each_key():
    text = new_shop.text("inch", "x")
    assert "(none, bench grinder, radius dresser)" in " ".join(text.replace("#", " ").split())
    assert "bed [in]." in text and "bed [mm]." in new_shop.text("mm", "x")


def test_what_is_still_the_invented_lathe_is_told():
    text = new_shop.filled_in("mm")
    assert {"swing_over_bed", "tip_past_max"} <= set(new_shop.still_invented(tomllib.loads(text), "mm"))
    counted = re.sub(r"(?m)^(\w+) = (\d+)$", lambda found: f"{found[1]} = {int(found[2]) + 1}", text)
    assert new_shop.still_invented(tomllib.loads(counted), "mm") == ()


def test_a_new_file_is_written_whole_or_not_at_all(home):
    ran = run("shop", "new", "ours.toml", "--units", "inch")
    assert ran.status == 0 and "ours.toml, in inches" in ran.out
    before = (home / "ours.toml").read_bytes()
    ran = run("shop", "new", "ours.toml")
    assert ran.status == 2 and "is there already. Give another name, or --replace." in ran.complaint
    assert (home / "ours.toml").read_bytes() == before
    assert run("shop", "new", "ours.toml", "--replace").status == 0
    assert b'units = "mm"' in (home / "ours.toml").read_bytes()
    assert os.listdir(home) == ["ours.toml"]
    assert "lies in a folder that is not there" in run("shop", "new", "away/ours.toml").complaint
    assert "carried inside" in run("shop", "new", "training-shop").complaint


# ---- the user's own shop


def test_a_shop_of_ones_own_by_name_from_anywhere(home, monkeypatch):
    assert run("shop", "new", "ours", "--units", "inch").status == 0
    assert shops.read_shop("ours").units == "inch" and shops.own_names() == ["ours"]
    assert "most of its figures are still the invented lathe's" in run("shop", "use", "ours").out
    assert "most sizes still the" in " ".join(run("check", str(shops.own_shops() / "ours.toml")).out.split())
    assert "invented" not in run("shop", "use", "bench-shop").out + run("shop", "use", "ours").out.split(";")[0]
    assert "What counts: ours (your settings)." in run("shop").out
    callout = ("R6 ±0.5 mm", "--form", "convex", "--location", "corner", "--diameter", "40 mm")
    assert "Shop ours, my lathe." in run("advise", *callout).out
    assert "Shop ours, my lathe." in run("estimate", *callout).out
    assert "Shop bench-shop" in run("advise", *callout, "--shop", "bench-shop").out
    case = home / "case.toml"
    case.write_text(
        '[callout]\nradius = "R6 ±0.5 mm"\nform = "convex"\nlocation = "corner"\ndiameter = "40 mm"\n'
        '[job]\nshop = "jobbing-shop"\n',
        encoding="utf-8",
    )
    assert "Shop jobbing-shop" in run("advise", "--case", str(case)).out
    monkeypatch.setenv(settings.SHOP_VARIABLE, "training-shop")
    assert "Shop training-shop" in run("advise", *callout).out
    assert "Shop jobbing-shop" in run("advise", "--case", str(case)).out


def test_the_interview_asks_in_the_users_own_shop(home):
    settings.keep(shop="bench-shop", units="inch")
    assert job_so_far(register.read(["ask"]))[2].name == "bench-shop"
    assert job_so_far(register.read(["ask", "--shop", "jobbing-shop"]))[2].name == "jobbing-shop"


def test_a_path_is_kept_so_that_it_leads_there_from_anywhere(home, monkeypatch):
    assert run("shop", "new", "./ours.toml").status == 0
    assert run("shop", "use", "./ours.toml").status == 0
    assert settings.read().shop == str(home / "ours.toml")
    (home / "ours.toml").unlink()
    ran = run("advise", "R6", "--form", "convex", "--location", "corner", "--diameter", "40 mm")
    assert ran.status == 2 and "choose another with turn-radius shop use" in ran.complaint


def test_the_unit_of_bare_sizes_is_kept_and_a_case_is_read_as_it_is_written(home):
    assert run("shop", "use", "--units", "inch").status == 0
    callout = ("R.25 ±.01", "--form", "convex", "--location", "corner", "--diameter", "1.5")
    assert "1.5000 in" in run("advise", *callout).out
    case = home / "case.toml"
    case.write_text(
        '[callout]\nradius = "R6 ±0.1"\nform = "convex"\nlocation = "corner"\ndiameter = "40"\n', encoding="utf-8"
    )
    assert "40 mm" in run("advise", "--case", str(case)).out
    assert run("shop", "use", "jobbing-shop").status == 0
    assert "40 mm" in run("advise", "--case", str(case)).out
    assert settings.read() == settings.Settings(shop="jobbing-shop", units="inch")
    assert "Unit: inch" in run("shop", "use").out


@pytest.mark.parametrize(
    "text, said",
    [
        ("shop = ", "cannot be read"),
        ('shp = "x"', 'shp: is not known here. Did you mean "shop"?'),
        ("shop = 3", "shop: 3 cannot be used"),
        ('units = "cm"', "units: cm cannot be used"),
    ],
)
def test_settings_that_cannot_be_used(text, said, home):
    settings.place().parent.mkdir(parents=True)
    settings.place().write_text(text, encoding="utf-8")
    ran = run("shop")
    assert ran.status == 2 and said in ran.complaint and ran.complaint.count("\n") == 1


def test_a_new_file_of_any_name_can_be_read(home):
    for name in ('the "big" one', "back\\slash", "#1", "Dréhbank", "a = b"):
        assert run("shop", "new", f"./{name}.toml").status == 0
        assert shops.read_shop(f"./{name}.toml").name == name


def test_a_name_with_quotes_and_backslashes_comes_back_as_it_was(home):
    settings.keep(shop='C:\\lathes\\the "old" one.toml')
    assert settings.read().shop == 'C:\\lathes\\the "old" one.toml'


@pytest.mark.parametrize(
    "words, said",
    [
        (("bench-shop", "again"), "name: again does not go with shop bench-shop."),
        (("use", "bench-shop", "-o", "x.png"), "--output: x.png does not go with shop use."),
        (("--units", "inch"), "--units: inch does not go with shop."),
        (("new", "x.toml", "--units", "cm"), "--units: cm is not known. Give mm or inch."),
        (("nowhere",), "shop: nowhere is not there."),
        (("new", "x.txt/"), "shop: x.txt"),
        (("new", "use"), "shop: use cannot be the name of a shop."),
        (("new", "a\nb"), "shop: a b is no name of a shop."),
    ],
)
def test_what_does_not_go_together(words, said, home):
    ran = run("shop", *words)
    assert ran.status == 2 and ran.complaint.startswith(said)


HABITS = {  # as a machinist types it: what TOML refuses, a heading left out, words without quotes
    "swing_over_bed": '10"', "swing_over_cross_slide": "5-7/8", "between_centres": "22",
    "spindle_speeds": "[52 83 130 200 310 480 750 1200]", "motor_power": "3/4 hp", "chuck_depth": "3.75",
    "tool_overhang": ".75", "dials": "diameter", "dial_graduation": ".001", "tip_past_min": ".25", "tip_past_max": "1.40",
    "tip_short_min": ".25", "tip_short_max": "1.8", "travel": "3", "graduation": "1", "half_width": "1.5",
    "widths": "[1/4, 3/8]", "grinding": "bench grinder", "micrometer": "yes", "mill_smooth": "[8]", "handles": "true",
}  # fmt: skip


def test_a_file_written_with_every_bad_habit_passes_at_the_second_try(home):
    """What the first check says is done to the letter, line by line."""
    text = new_shop.text("inch", "ten")
    for key, value in HABITS.items():
        text, found = re.subn(rf"(?m)^#?{key} = .*$", lambda _, line=f"{key} = {value}": line, text, count=1)
        assert found == 1
    for heading in ("[form_tools]", "[gauges]", "[files]"):
        text = text.replace(f"#{heading}\n", f"{heading}\n")
    path = home / "ten.toml"
    path.write_text(text, encoding="utf-8")
    assert run("check", "ten.toml").status == 2
    with pytest.raises(shops.ShopError) as caught:
        shops.read_shop("ten.toml")
    lines = text.split("\n")
    headings = []
    for wrong in caught.value.each:
        number = int(re.search("line ([0-9]+)", wrong.field)[1])
        if wrong.fix.startswith("Put "):
            headings.append((number, re.search(r"Put (\S+) on", wrong.fix)[1]))
        else:
            lines[number - 1] = wrong.fix.removeprefix("Write ").removesuffix(".")
    for number, heading in sorted(headings, reverse=True):
        lines.insert(number - 1, heading)
    path.write_text("\n".join(lines), encoding="utf-8")
    assert run("check", "ten.toml").status == 0
    assert shops.read_shop("ten.toml").lathes[0].compound.tip_past_max == pytest.approx(1.4 * 25.4)
    assert len(caught.value.each) == 13


# ---- what a shop can do


@pytest.fixture(scope="module")
def bench():
    return ability.ability(shops.read_shop("bench-shop"))


def test_what_a_shop_does_not_have_it_cannot_do(bench):
    assert not {"pivot attachment", "radius rod"} & {method for method, _, _ in bench.reaches}
    assert not any(
        key for key in bench.reaches if key[0] == "swung compound" and key[1:] == ("convex", "outside diameter")
    )


def test_reaches_lie_at_what_the_compound_was_measured_to_give_or_can_be_clamped_to(bench):
    """Within the tolerance and what re-clamping gives, so not exactly at the window; never far outside it."""
    compound = bench.shop.lathes[0].compound
    convex = bench.reaches["swung compound", "convex", "end"]
    assert compound.tip_short_min * 0.85 <= convex.low <= compound.tip_short_min
    assert compound.tip_short_max <= convex.high <= compound.tip_short_max * 1.15
    concave = bench.reaches["swung compound", "concave", "end"]
    assert compound.tip_past_max <= concave.high <= compound.tip_past_max * 1.15


def test_the_real_advice_agrees_just_inside_and_just_outside_a_reach(bench):
    """A radius outside a reach stands in no work that is tried one at a time either."""
    reach = bench.reaches["swung compound", "convex", "end"]
    shown = ability.inward(reach, "mm")
    assert reach.low <= shown.low < shown.high <= reach.high
    for radius, stands in (
        (shown.low, True),
        (shown.high, True),
        (reach.low * 0.97, False),
        (reach.high * 1.03, False),
    ):
        tolerance = float(ability.general_tolerance(ability.GENERAL, radius, form="convex"))
        found = False
        for factor in ability.DIAMETERS:
            fields = {"radius": f"R{radius:.5f} ±{tolerance}", "form": "convex", "location": "end", "units": "mm"}
            try:
                callout = read_callout(fields | {"diameter": f"{radius * factor:.5f} mm"}, materials=materials())
                given = advise(callout, bench.shop)
            except ValueError:
                continue
            found = found or given.methods["swung compound"].rank is not None
        assert found is stands, radius


def test_a_wider_equipped_shop_reaches_no_less_and_holds_no_coarser(bench):
    shop = bench.shop
    pivot = dataclasses.replace(shops.read_shop("training-shop").pivot_attachment, lathes=("bench lathe",))
    more = ability.ability(dataclasses.replace(shop, pivot_attachment=pivot))
    assert ("pivot attachment", "convex", "end") in more.reaches
    for key, reach in bench.reaches.items():
        assert more.reaches[key].low <= reach.low * 1.0001 and more.reaches[key].high >= reach.high * 0.9999
    gain = next(one for one in bench.helps if one.kind == "a pivot attachment")
    assert bench.helps[0] == gain and more.stand >= bench.stand + 0.5 * gain.made > bench.stand


def test_roundings_go_to_the_safe_side():
    reach = ability.Reach(4.5678, 30.37, True)
    for units in UNITS:
        shown = ability.inward(reach, units)
        assert reach.low <= shown.low <= reach.low * 1.01 and reach.high * 0.99 <= shown.high <= reach.high
        assert 0.0162 <= ability.upward(0.0162, units) <= 0.0162 * 1.1


def test_the_page_of_a_shop_fits_eighty_columns():
    ran = run("shop", "jobbing-shop")
    assert ran.status == 0 and max(map(len, ran.out.splitlines())) <= 80
    assert "0.118 to 2.97" in ran.out and "usual radii can be made here" in ran.out


# ---- how a lathe is measured


def test_recipes_give_every_key_that_only_measuring_gives():
    told = [key for recipe in recipes() for key in recipe.keys]
    assert set(told) == {
        "swing_over_bed", "swing_over_cross_slide", "largest_work_over", "front", "half_width", "travel", "tool_overhang",
        "graduation", "tip_past_min", "tip_past_max", "tip_short_min", "tip_short_max",
    }  # fmt: skip
    assert len(told) == len(set(told))


@pytest.mark.parametrize(
    "name, units", [(None, "mm"), (None, "inch"), ("training-shop", "mm"), ("jobbing-shop", "inch")]
)
def test_pictures_state_what_they_measure_and_steps_come_out(name, units):
    shop = shops.read_shop(name) if name else None
    lathe, whose = shown.drawn_lathe(shop, units)
    assert ("invented" in whose) is (name is None)
    found = measuring.pictures(lathe, units, room=shown.ROOM)
    assert [one.title for one in found] == [recipe.title for recipe in recipes()]
    for one in found:
        assert not one.picture.crowded, one.title
        assert not any("{" in step or "nan" in step for step in one.steps)
    unit = 25.4 if units == "inch" else 1.0
    steps = " ".join(step for one in found for step in one.steps)
    sums = re.findall(r"([\d.]+) (?:mm|in) ([-+]) ([\d.]+) (?:mm|in)(?: =|: \w+ =) ([\d.]+)", steps)
    assert len(sums) == 3
    for one, sign, other, total in sums:
        assert float(one) + float(sign + other) == pytest.approx(float(total), abs=0.011)
    past = float(re.search(r"tip_past_max = ([\d.]+)", steps)[1])
    assert past * unit == pytest.approx(lathe.compound.tip_past_max, abs=0.02)
    wound, half = (
        float(re.search(r"how far it went: ([\d.]+)", steps)[1]),
        float(re.search(r"the swivel: ([\d.]+)", steps)[1]),
    )
    assert wound == pytest.approx(2 * half, abs=0.002)
    assert ("counts the diameter" in steps) is (lathe.dials == "diameter")


def test_a_file_without_the_compound_keeps_its_own_dial_and_swing(tmp_path):
    """A diameter dial shows four times the distance from tip to swivel: twice the way, which is twice the distance."""
    text = new_shop.filled_in("mm")
    kept = re.sub(r"(?ms)^\[lathe\.compound\].*?(?=^\[)", "", text)
    kept = re.sub(r'(?m)^dials = "\w+"', 'dials = "diameter"', kept)
    kept = re.sub(r"(?m)^swing_over_bed = .*", 'swing_over_bed = "316 mm"', kept)
    shop = shops.read_text(kept, "own")
    lathe, whose = shown.drawn_lathe(shop, "mm")
    assert (lathe.dials, lathe.swing_over_bed) == ("diameter", 316.0) and shop.lathes[0].compound is None
    assert "of the compound is invented" in whose
    page = " ".join(shown.screen(shop, "mm").split())
    assert "316" in page and "A quarter of what a diameter dial shows" in page
    shows, half = (float(re.search(f"{words} ([\\d.]+)", page)[1]) for words in ("so it shows", "tip to the swivel:"))
    assert shows == pytest.approx(4 * half)


def half_turn(tip, dial):
    """What the cross slide is wound to bring the tip under the point again, after half a turn about the swivel.

    tip: past the swivel, away from the operator where above 0 [mm]; dial: "radius" | "diameter". First principles: the
    swivel rides on the cross slide, so the tip has to come back by twice its distance.
    """
    swivel = 100.0
    point = swivel + tip
    after = swivel - tip
    travel = point - after  # away from the operator where above 0
    return travel, abs(travel) * (2 if dial == "diameter" else 1)


@pytest.mark.parametrize("tip", [38.0, -6.0])
def test_half_a_turn_tells_the_distance_and_the_side(tip):
    travel, _ = half_turn(tip, "radius")
    assert abs(travel) / 2 == abs(tip) and (travel > 0) is (tip > 0)
    steps = next(recipe.steps for recipe in recipes() if recipe.picture == "half_turn")
    assert "away from you the tip stood past the swivel, if towards you short of it" in steps[-1]


@pytest.mark.parametrize("ending, magic", [("svg", b"<svg"), ("png", b"\x89PNG"), ("pdf", b"%PDF")])
def test_the_pictures_are_written(ending, magic, home):
    ran = run("shop", "measure", "bench-shop", "-o", f"how.{ending}")
    assert ran.status == 0
    written = sorted(home.glob(f"how*.{ending}"))
    assert len(written) == (1 if ending == "pdf" else len(recipes()))
    assert all(magic in path.read_bytes()[:200] for path in written)


def test_the_pictures_in_a_terminal(home):
    out = run("shop", "measure").out
    assert max(map(len, out.splitlines())) <= 80
    for recipe in recipes():
        assert recipe.title.upper() in out
    assert "tip_short_min" in out and "swivel" in out


# ---- the text of a file, whatever is in it


def test_tables_and_lines_are_those_of_the_standard_parser():
    files = [
        *shops.SHOPS.glob("*.toml"),
        *shops.SHOPS.parent.glob("*.toml"),
        *(shops.SHOPS.parents[1] / "rules").glob("*.toml"),
    ]
    for path in files:
        text = path.read_text(encoding="utf-8")
        reader = toml_text._Reader()
        for number, statement in toml_text.statements(text):
            reader.take(number, statement)
        assert not reader.written.mistakes
        assert repr(reader.written.tables) == repr(tomllib.loads(text)), path.name
        statements = list(toml_text.statements(text))
        for where, number in reader.written.lines.items():
            name = next(part for part in reversed(where) if isinstance(part, str))
            written = next(statement for first, statement in statements if first == number)
            assert name in written, (path.name, where, number)


@pytest.mark.parametrize(
    "line, problem, mended",
    [
        ("a = .25", "has no figure before the point", "a = 0.25"),
        ("a = 5.", "has no figure behind the point", "a = 5.0"),
        ("a = 0,25", "has a comma for its point", "a = 0.25"),
        ("a = 05", "begins with a nought", "a = 5"),
        ("a = 1/4", "is a fraction without quotes", 'a = "1/4"'),
        ("a = 2-1/2", "is a fraction without quotes", 'a = "2-1/2"'),
        ('a = 3/8"', "has an inch mark", 'a = "3/8 in"'),
        ('a = "10""', "has an inch mark", 'a = "10 in"'),
        ("a = 60mm # swing", "has a unit without quotes", 'a = "60 mm"'),
        ('a = "10" in', "has its unit outside the quotes", 'a = "10 in"'),
        ('a = "my lathe', "has a quote missing", 'a = "my lathe"'),
        ('a = my lathe"', "has a quote missing", 'a = "my lathe"'),
        ("a = my lathe", "is text without quotes", 'a = "my lathe"'),
        ("a = “x”", "has curly quotes", 'a = "x"'),
        ("a = yes", "is not written as TOML has it", "a = true"),
        ("a = True", "is not written as TOML has it", "a = true"),
        ("swing over bed = 10", "has a key that is not one word", "swing_over_bed = 10"),
        ("swing_over_bed: .5", 'has no "=" behind swing_over_bed', "swing_over_bed = 0.5"),
        ("[lathe.compound", "has brackets that do not match", "[lathe.compound]"),
        ("[[lathe]", "has brackets that do not match", "[[lathe]]"),
        ("a = [90 125]", "has a list without commas between its entries", "a = [90, 125]"),
        ("a = [90, 125", "has a list without its closing bracket", "a = [90, 125]"),
        ("a = [.25, 1/2]", "has an entry that has no figure before the point", 'a = [0.25, "1/2"]'),
        ('a = [1/4", 3/8"]', "has inch marks", 'a = ["1/4 in", "3/8 in"]'),
    ],
)
def test_what_toml_refuses_gets_the_right_hint(line, problem, mended):
    (mistake,) = toml_text.read(f"x = 1\n{line}\ny = 2").mistakes
    assert (mistake.line, mistake.problem, mistake.fix) == (2, problem, f"Write {mended}.")
    assert toml_text.read(f"x = 1\n{mended}\ny = 2").mistakes == []


def test_a_list_that_is_not_closed_does_not_swallow_what_follows():
    found = toml_text.read('a = [1,\n 2\n[b]\nc = 3\nd = ["x",\n"y"]\n')
    assert [one.line for one in found.mistakes] == [1]
    assert found.tables == {"a": [1, 2], "b": {"c": 3, "d": ["x", "y"]}}


def test_a_text_that_is_no_toml_at_all_is_soon_done_with():
    """Neither many broken lines nor many quotes on one line take long; not told are more than a screen or two."""
    many = toml_text.read("a b c\n" * 40_000)
    assert len(many.mistakes) == toml_text.MOST
    quotes = " = [" + ", ".join(['"1 mm"'] * 400) + ', x # "' + "\n"
    assert len(toml_text.read("".join(f"{key}{quotes}" for key in "abcde")).mistakes) == 5
