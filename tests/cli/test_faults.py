"""One test a fault that was found when the program was attacked, named by its number."""

import hashlib
import json
import os
import shlex
import stat
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from command import run
from hypothesis import given
from hypothesis import strategies as st
from test_house_faults import MATERIALS, SHOP, read, refused

from advisor.answer.advice import lathe_for
from advisor.asked import callout as callouts
from advisor.asked import shop as shops
from advisor.ground import whole_files
from advisor.ground.errors import CalloutError, ShopError
from advisor.language import expression
from advisor.records import job_records
from advisor.rulebase import loading
from advisor.study import mapping
from advisor.verify import check_files

ROOT = Path(__file__).parent.parent.parent
RULES = ROOT / "rules"
FORMULAS = {name.function for name in loading.load(RULES, cache=False).names.values()}

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
        ("spindle_speeds = [", "spindle_speeds = [5000, 9000] # [", "turns the rim of a 200 mm chuck past 30 m/s"),
    ],
)
def test_fault_1_no_speed_past_what_a_shop_can_run(tmp_path, old, new, problem):
    shop = with_lathe(tmp_path, old, new)
    for command in (["check", shop], ["advise", *words(A), "--shop", shop]):
        done = run(*command)
        assert done.status == 2 and problem in " ".join((done.out + done.complaint).split()), done


# ---- 2: what is exported never destroys anything unasked


@pytest.fixture
def kept(tmp_path):
    """A file of records with one job in it."""
    place = tmp_path / "records.sqlite3"
    done = run("record", *words(A), "--method", "freehand", "--minutes", "20", "--records", place)
    assert done.status == 0, done
    return place


def exported(kept, path, *more):
    return run("records", "--records", kept, "--export", path, *more)


def test_fault_2_an_export_overwrites_only_when_it_is_told_to(kept, tmp_path):
    old = tmp_path / "jobs.csv"
    old.write_text("mine")
    refused = exported(kept, old)
    assert refused.status == 2 and "is there already" in refused.complaint and old.read_text() == "mine"
    assert exported(kept, old, "--replace").status == 0
    assert old.read_text().startswith("id,") and len(list(tmp_path.iterdir())) == 2


@pytest.mark.parametrize("more", [(), ("--replace",)])
def test_fault_2_an_export_never_overwrites_the_records(kept, tmp_path, more):
    before = kept.read_bytes()
    (tmp_path / "link.csv").symlink_to(kept)
    (tmp_path / "same.csv").hardlink_to(kept)
    for path in (kept, tmp_path / "link.csv", tmp_path / "same.csv", tmp_path / "." / kept.name):
        done = exported(kept, path, *more)
        assert done.status == 2 and "is the file of records itself" in done.complaint
    assert kept.read_bytes() == before


@pytest.mark.parametrize("more", [(), ("--replace",)])
def test_fault_2_no_device_and_no_pipe_is_replaced(kept, tmp_path, more):
    pipe, link = tmp_path / "pipe", tmp_path / "link"
    os.mkfifo(pipe)
    link.symlink_to("/dev/null")
    for path in (pipe, link, tmp_path):
        done = exported(kept, path, *more)
        assert done.status == 2, done
    assert stat.S_ISFIFO(pipe.lstat().st_mode) and link.is_symlink()


# ---- 6 and 16: files are whole or not at all, and nobody else's is lost


def test_fault_6_a_killed_map_leaves_the_old_one(tmp_path):
    pytest.importorskip("matplotlib")
    old = tmp_path / "map.svg"
    old.write_text("an older map")
    code = (
        "import os, sys\n"
        "from advisor import cli; from advisor.study import mapping\n"
        "from advisor.ground import whole_files\n"
        "mapping.POINTS = 20\n"
        "whole_files.os.fsync = lambda file: os._exit(9)\n"
        "cli.main(sys.argv[1:])\n"
    )
    ran = subprocess.run([sys.executable, "-c", code, "map", *words(A), "-o", str(old), "--replace"], cwd=ROOT)
    assert ran.returncode == 9 and old.read_text() == "an older map"


def test_fault_16_a_file_made_in_the_meantime_is_left(tmp_path, monkeypatch):
    page = tmp_path / "sheet.svg"

    def meanwhile(file):
        page.write_text("somebody else's")

    monkeypatch.setattr(whole_files.os, "fsync", meanwhile)
    done = run("sheet", *words(A), "-o", page)
    assert done.status == 2 and "is there already" in done.complaint
    assert page.read_text() == "somebody else's" and list(tmp_path.iterdir()) == [page]


def test_fault_16_two_pages_are_all_or_none(tmp_path, monkeypatch):
    first, second = tmp_path / "sheet.svg", tmp_path / "sheet-2.svg"
    first.write_text("one")
    second.write_text("two")
    moved, move = [], os.replace

    def second_fails(source, target):
        moved.append(target)
        if len(moved) == 2:
            raise OSError(28, "No space left on device")
        move(source, target)

    monkeypatch.setattr(whole_files.os, "replace", second_fails)
    with pytest.raises(CalloutError, match="No space left"):
        whole_files.write(first, [b"new one", b"new two"], replace=True)
    assert first.read_text() == "one" and second.read_text() == "two"
    assert sorted(tmp_path.iterdir()) == [second, first]


def test_fault_22_a_replaced_file_keeps_its_rights_and_no_planted_link_is_followed(tmp_path):
    page, aim = tmp_path / "page.svg", tmp_path / "aim"
    page.write_text("old")
    page.chmod(0o600)
    aim.write_text("aim")
    (tmp_path / f".page.svg.{os.getpid()}").symlink_to(aim)
    whole_files.write(page, [b"new"], replace=True)
    assert page.read_text() == "new" and stat.S_IMODE(page.stat().st_mode) == 0o600 and aim.read_text() == "aim"


# ---- 5: a planted cache of the rule base runs nothing and changes nothing


@pytest.fixture
def cache(tmp_path, monkeypatch):
    """The file in which the checked rule base is kept."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    loading.load(RULES)
    return next(loading.cache_folder("advisor.formulas").glob("*.json"))


def planted(cache, change):
    """Change the data of a cache and sign it as whoever can only write to the cache may: with a checksum."""
    head, body, examples, _ = cache.read_text(encoding="utf-8").split("\n")
    data = json.loads(body)
    change(data)
    body = json.dumps(data, separators=(",", ":"))
    checksum = hashlib.sha256(f"{body}\n{examples}".encode()).hexdigest()
    cache.write_text(f"{head.split()[0]} {checksum}\n{body}\n{examples}\n", encoding="utf-8")


def constant_times_ten(data):
    next(fields for fields in data[0] if fields[0] == "slender_overhang")[11] *= 10


def function_of_another_module(data):
    fields = next(fields for fields in data[0] if fields[1] == "formula")
    fields[7] = "os.getcwd"
    data[5:] = ["os" if len(data) > 6 else data[5], data[-1]][-len(data[5:]) :]


@pytest.mark.parametrize("change", [constant_times_ten, function_of_another_module])
def test_fault_5_a_planted_cache_is_read_anew(cache, change):
    good = cache.read_text(encoding="utf-8")
    want = loading.load(RULES, cache=False).base
    planted(cache, change)
    found = loading.load(RULES)
    assert found.package == "advisor.formulas" and repr(found.base) == repr(want)
    assert {name.function for name in found.names.values()} == FORMULAS
    assert cache.read_text(encoding="utf-8") == good


def signed(cache, change):
    """Change the data of a cache and sign it as its own user would."""
    head, body, examples, _ = cache.read_text(encoding="utf-8").split("\n")
    data, key = json.loads(body), head.split()[0]
    change(data)
    body = json.dumps(data, separators=(",", ":"))
    signature = loading._signature(loading._secret(), key, body, examples)
    cache.write_text(f"{key} {signature}\n{body}\n{examples}\n", encoding="utf-8")


def other_name(data):
    data[0][0][0] = "x=__import__('os').abort()#"


def other_order(data):
    data[3][0] = "x=__import__('os').abort()#"


def other_parameter(data):
    next(fields for fields in data[0] if fields[1] == "formula")[8][0][0] = "x=print()or x"


@pytest.mark.parametrize("change", [function_of_another_module, other_name, other_order, other_parameter])
def test_fault_5_even_a_signed_cache_holds_no_code(cache, change):
    good = cache.read_text(encoding="utf-8")
    signed(cache, change)
    assert loading.load(RULES).package == "advisor.formulas"
    assert cache.read_text(encoding="utf-8") == good


def test_fault_5_the_key_is_for_its_user_alone(cache, tmp_path):
    key = tmp_path / "data" / "turn-radius" / "cache.key"
    assert stat.S_IMODE(key.stat().st_mode) == 0o600 and stat.S_IMODE(cache.stat().st_mode) == 0o600
    key.chmod(0o644)
    before = cache.read_bytes()
    assert loading.load(RULES).names and cache.read_bytes() == before  # not used, not written
    key.chmod(0o600)
    assert loading.load(RULES).names


def test_fault_5_a_cache_that_is_good_is_used(cache, monkeypatch):
    monkeypatch.setattr("advisor.rulebase.reading.read", lambda *a, **k: pytest.fail("read the files again"))
    assert loading.load(RULES).names


# ---- 3: a map is drawn over any range


@given(st.floats(1e-3, 1e5), st.floats(1e-3, 1e5), st.sampled_from([1.0, 25.4]))
def test_fault_3_any_range_has_round_values(low, wide, factor):
    axis = mapping.Axis("stickout", low, low + wide, logarithmic=False)
    found = mapping.round_values(axis, factor=factor)
    assert 2 <= len(found) <= 9 and found == sorted(found)
    assert all(low * (1 - 1e-9) <= value * factor <= (low + wide) * (1 + 1e-9) for value in found)


@pytest.mark.parametrize("name", ["stickout", "width"])
def test_fault_3_every_worked_case_is_drawn(name):
    for path in sorted((ROOT / "cases").glob("*.toml")):
        one = callouts.read_case(path, materials=MATERIALS)
        try:
            axis = mapping.axis_for(name, one, option="--y")
        except CalloutError:
            assert name == "width" and one.width in (None, one.diameter)
            continue
        assert mapping.round_values(axis, factor=25.4 if one.units == "inch" else 1.0)


def test_fault_3_a_map_over_the_stickout():
    done = run("map", *words(A), "--y", "stickout", "--y-from", "12 mm", "--y-to", "120 mm")
    assert done.status == 0 and "Stickout" in done.out


# ---- 4: what a file says is bounded before it is worked out

LONG = {
    "powers": "5 mm**9**9**9",
    "one large power": "5 mm**99999",
    "digits and a mark": "1" * 20_000 + "!",
    "fraction of many digits": "1/" + "9" * 5_000,
    "many units": "5 " + "mm*" * 40 + "mm",
}


def a_shop(tmp_path, more):
    """The path of a shop like the training shop with some lines more."""
    path = tmp_path / "shop.toml"
    path.write_text(f'like = "training-shop"\n{more}\n', encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("text", LONG.values(), ids=LONG)
def test_fault_4_a_shop_cannot_hang_the_program(tmp_path, text):
    shop = a_shop(tmp_path, f'[limits]\nlight_gap = "{text}"')
    started = time.process_time()
    for command in (["check", shop], ["advise", *words(A), "--shop", shop]):
        done = run(*command)
        assert done.status == 2 and "light_gap" in " ".join((done.out + done.complaint).split())
    assert time.process_time() - started < 5


@pytest.mark.parametrize("unit", ["mm**9**9**9", "mm**999999", "mm*" * 200 + "mm", "9**9**9*mm"])
def test_fault_4_a_rule_file_cannot_hang_the_program(unit):
    with pytest.raises(expression.ExpressionError, match="cannot read the unit"):
        expression.unit_of(unit)


def test_fault_4_a_long_key_is_looked_up_quickly(tmp_path):
    shop = a_shop(tmp_path, f'[limits]\n{"light_gap" * 20_000} = "1 mm"')
    started = time.process_time()
    assert run("check", shop).status == 2
    assert time.process_time() - started < 5


# ---- 18: no figure without end, no triple that descends


@pytest.mark.parametrize(
    ("more", "problem"),
    [
        ('[limits]\nlight_gap = "1e999 mm"', "is not a number that can be used"),
        ("[minutes]\nform_tool_regrind = [1, 2, 3]", "is not a number with a unit"),
        ('[minutes]\npivot_setup_time = ["9 min", "5 min", "3 min"]', "has values that do not ascend"),
    ],
)
def test_fault_18_check_and_advise_refuse_the_same_figures(tmp_path, more, problem):
    shop = a_shop(tmp_path, more)
    for command in (["check", shop], ["advise", *words(A), "--shop", shop]):
        done = run(*command)
        assert done.status == 2 and problem in " ".join((done.out + done.complaint).split()), done


# ---- 19: nothing that is smaller than anybody measures, and no more places than a piece has


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"radius": "R0.0000000012 MAX"}, "leaves less than 0.0002 mm between its limits, which nobody measures"),
        ({"radius": "R6 ±0.0000001"}, "leaves less than 0.0002 mm between its limits, which nobody measures"),
        ({"radius": "R6.0000-6.0001"}, "leaves less than 0.0002 mm between its limits, which nobody measures"),
        ({"finish": "Ra 0.0000001 um"}, "is less than 0.001 um"),
        ({"places": "1000000"}, "lies outside 1 to 10,000"),
    ],
)
def test_fault_19_figures_that_nobody_means_are_refused_alike_in_callout_and_list(tmp_path, changes, problem):
    assert problem in refused(A | changes)
    listed, row = tmp_path / "list.csv", A | changes
    listed.write_text(f"{','.join(row)}\n{','.join(row.values())}\n", encoding="utf-8")
    done = run("batch", listed, "--without-records")
    assert done.status == 1 and problem in done.out
    assert read(A | {"radius": "R6 ±0.0001"}).tolerance == pytest.approx(0.0001)


# ---- 10: a mistake of ours is one message and a status of its own, and nothing that a user writes is one

COMMAND = [sys.executable, "-c", "import sys; from advisor.cli import main; sys.exit(main())"]


def program(*arguments, **options):
    """The program in a process of its own."""
    given = {"cwd": ROOT, "text": True, "stderr": subprocess.PIPE, "env": os.environ | {"PYTHONPATH": str(ROOT)}}
    return subprocess.run([*COMMAND, *map(str, arguments)], **given | options)


def test_fault_10_a_mistake_of_ours_has_a_status_of_its_own(monkeypatch):
    monkeypatch.setattr("advisor.commands.on_a_callout.read_job", lambda options: 1 // 0)
    done = run("advise", *words(A))
    assert done.status == 3 and done.out == "" and done.complaint.count("\n") == 1
    assert "a fault in the program itself (ZeroDivisionError in test_faults.py, line " in done.complaint


@pytest.mark.parametrize("more", [(), ("-o", "page.svg")])
def test_fault_10_the_pictures_of_another_method(tmp_path, monkeypatch, more):
    monkeypatch.chdir(tmp_path)
    done = run("why", *words(A), "--instead", "pivot attachment", "--picture", *more)
    other = run("why", *words(A), "--instead", "form tool", "--picture", *more, *(["--replace"] if more else []))
    assert {done.status, other.status} == {0}, (done, other)


def test_fault_10_standard_input_may_be_closed(tmp_path):
    listed = tmp_path / "list.csv"
    listed.write_text("radius,form,location,diameter\nR6 ±0.1,convex,corner,40 mm\n", encoding="utf-8")
    closed = {"preexec_fn": lambda: os.close(0), "stdout": subprocess.PIPE}
    assert program("batch", listed, "--without-records", **closed).returncode == 0
    done = program("batch", "-", **closed)
    assert done.returncode == 2 and done.stderr == "standard input: is closed. Give the path of a list.\n"


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["advise", *words(A)], 0),
        (["advise", *words(A), "--json"], 0),
        (["advise", "Rx", "--form", "convex", "--location", "corner", "--diameter", "40 mm", "--json"], 2),
        (["check", "tests/bad_rules/nothing.toml"], 2),
    ],
)
def test_fault_10_and_15_whoever_reads_may_stop_and_the_status_stays(arguments, status):
    read, write = os.pipe()
    os.close(read)
    with open(write, "wb") as gone:
        done = program(*arguments, stdout=gone)
    assert done.returncode == status and "Traceback" not in done.stderr and "Exception" not in done.stderr


@pytest.mark.parametrize("arguments", [["advise", *words(A)], ["advise", "Rx", "--json"], ["word"]])
def test_fault_10_a_full_disk_is_one_message(arguments):
    with open("/dev/full", "wb") as full:
        done = program(*arguments, stdout=full)
    assert (
        done.returncode == 2 and done.stderr.startswith("output: fails (No space left") and done.stderr.count("\n") == 1
    )


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("rules = 5", "[expect] rules: 5 is not a list of texts"),
        ('rules = [["a"]]', "is not a list of texts"),
        ('ruled_out = [1, "a"]', "is not a list of texts"),
        ("method = 2020-01-01", "[expect] method: 2020-01-01 is not text"),
        ('stands = "yes"', "[expect] stands: yes is not true or false"),
    ],
)
def test_fault_10_what_a_case_expects_is_read_like_all_else(tmp_path, line, problem):
    case = tmp_path / "case.toml"
    fields = "\n".join(f'{key} = "{value}"' for key, value in A.items())
    case.write_text(f"[callout]\n{fields}\n[expect]\n{line}\n", encoding="utf-8")
    (checked,) = check_files.check([case], shop="training-shop")
    assert problem in checked.problem and run("check", case).status == 2


def test_fault_10_a_figure_of_nothing_is_no_mistake_of_ours(tmp_path):
    shop = a_shop(tmp_path, '[limits]\nform_tool_wear_interval = "0 mm"')
    assert run("advise", *words(A), "--shop", shop).status in (0, 2)


@pytest.mark.parametrize("path", ["/dev/zero", "/dev/null"])
def test_fault_9_only_files_are_checked(path):
    done = run("check", path)
    assert done.status == 2 and "is neither a file nor a folder" in done.complaint


# ---- 11 and 17: no words of others are markup, and a terminal acts on none of them


def test_fault_11_a_job_whose_radius_looks_like_markup(kept, tmp_path):
    sheet = tmp_path / "jobs.csv"
    exported(kept, sheet)
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("R6 ±0.1,", "R6 [/x],", 1), encoding="utf-8")
    other = tmp_path / "other.sqlite3"
    assert run("records", "--import", sheet, "--records", other).status == 0
    done = run("records", "--records", other)
    assert done.status == 0 and "R6 [/x]" in done.out


def test_fault_11_a_shop_named_like_markup(tmp_path):
    shop = a_shop(tmp_path, 'name = "[/red] :wave: [bold]x"')
    for command in ("advise", "why", "estimate"):
        done = run(command, *words(A), "--shop", shop)
        assert done.status == 0 and "[/red] :wave: [bold]x" in done.out


def test_fault_11_a_file_named_like_markup(tmp_path):
    file = tmp_path / "b[bold]c.toml"
    file.write_text("[callout]\n", encoding="utf-8")
    assert "b[bold]c.toml" in "".join(run("check", file).out.split())


@pytest.mark.parametrize("act", ["\x1b[31m", "\x9b31m", "\u202e", "\u2066", "\a"])
def test_fault_17_a_terminal_acts_on_no_words_of_others(tmp_path, act):
    file = tmp_path / f"a{act}b.toml"
    file.write_text("[callout]\n", encoding="utf-8")
    for done in (run("check", file), run("check", tmp_path / f"{act}.toml"), run("word", act), run("rules", act)):
        assert done.status == 2 and act not in done.out + done.complaint


# ---- 13: a user without a home


def test_fault_13_advice_without_a_home(monkeypatch):
    monkeypatch.setattr("advisor.records.job_records.default_file", lambda: None)
    monkeypatch.delenv("TURN_RADIUS_RECORDS")
    assert advised(A).status == 0 and run("estimate", *words(A)).status == 0
    done = run("record", *words(A), "--method", "freehand", "--minutes", "20")
    assert done.status == 2 and "Name a file with --records" in done.complaint


def test_fault_13_a_file_without_anything_in_it_is_no_jobs(tmp_path):
    empty = tmp_path / "records.sqlite3"
    empty.write_bytes(b"")
    empty.chmod(0o400)
    assert job_records.Records(empty).jobs() == () and empty.read_bytes() == b""
    assert advised(A, "--records", empty).status == 0
    empty.chmod(0o600)
    assert run("record", *words(A), "--method", "freehand", "--minutes", "9", "--records", empty).status == 0


# ---- 14: what was stored is told


def test_fault_14_a_job_that_is_stored_is_no_failure(tmp_path):
    place = tmp_path / "records.sqlite3"
    with open("/dev/full", "wb") as full:
        command = ["record", *words(A), "--method", "freehand", "--minutes", "20", "--records", place]
        done = program(*command, stdout=full)
    assert done.returncode == 0 and done.stderr.startswith("Recorded ") and len(job_records.Records(place).jobs()) == 1


# ---- 8: no order by a clock that may be set back


def test_fault_8_what_was_said_last_counts(kept, monkeypatch):
    monkeypatch.setattr(job_records.datetime, "datetime", clock("2031-01-01T00:00:00"))
    job = job_records.Records(kept).jobs()[0].id
    assert run("records", "--records", kept, "--not-typical", job, "--why", "power cut").status == 0
    monkeypatch.setattr(job_records.datetime, "datetime", clock("2024-01-01T00:00:00"))
    assert run("records", "--records", kept, "--typical", job).status == 0
    assert job_records.Records(kept).jobs()[0].typical


def clock(shows):
    """A datetime whose clock shows this."""
    import datetime

    class Clock(datetime.datetime):
        @classmethod
        def now(cls, zone=None):
            return datetime.datetime.fromisoformat(shows).replace(tzinfo=zone)

    return Clock


def test_fault_8_an_export_can_be_taken_back_whatever_the_clock_was(kept, tmp_path):
    sheet = tmp_path / "jobs.csv"
    exported(kept, sheet)
    text = sheet.read_text(encoding="utf-8")
    done_on = job_records.Records(kept).jobs()[0].done_on
    sheet.write_text(text.replace(f",{done_on},", ",2091-05-05,", 1), encoding="utf-8")
    done = run("records", "--import", sheet, "--records", tmp_path / "other.sqlite3")
    assert done.status == 0 and "1 jobs added" in done.out


@pytest.mark.parametrize("back", ["2024-01-01T00:00:00", "2031-01-01T00:00:00"])
def test_fault_8_the_order_is_that_of_writing_whatever_the_clock_shows(kept, monkeypatch, back):
    for number, shows in enumerate(("2031-01-01T00:00:00", back, "2019-06-01T00:00:00")):
        monkeypatch.setattr(job_records.datetime, "datetime", clock(shows))
        more = ("--minutes", 30 + number, "--note", number, "--date", "2018-05-31", "--records", kept)
        assert run("record", *words(A), "--method", "freehand", *more).status == 0
    jobs = job_records.Records(kept).jobs()
    assert [job.note for job in jobs if job.note] == ["0", "1", "2"]
    with job_records.Records(kept)._open(write=True) as connection:  # as another program would have written them
        for at, typical in (("2031-01-01T00:00:00Z", 0), ("2019-01-01T00:00:00Z", 1)):
            job_records.Records._insert_mark(connection, jobs[0].id, job_records.Mark(at, bool(typical), "why"))
    assert job_records.Records(kept).jobs()[0].typical


# ---- 12: a list shows nothing out of the files that its cells name


def test_fault_12_a_shop_cell_reads_no_file_into_the_answer(tmp_path):
    secret = tmp_path / "secret.toml"
    secret.write_text("the root password is swordfish\n", encoding="utf-8")
    listed = tmp_path / "list.csv"
    listed.write_text(f"radius,form,location,diameter,shop\nR6 ±0.1,convex,corner,40 mm,{secret}\n", encoding="utf-8")
    done = run("batch", listed, "--without-records")
    assert "swordfish" not in done.out + done.complaint
    assert "is not a shop that can be read" in done.out


# ---- 7: nobody is left behind by a list that is killed


@pytest.mark.skipif(
    not Path("/proc/self/task").exists() or (os.cpu_count() or 1) < 2, reason="needs /proc, two processors"
)
def test_fault_7_a_killed_list_leaves_no_workers():
    line = "R6 ±0.1,convex,corner,40 mm\n".encode()
    given = {"stdin": subprocess.PIPE, "stdout": subprocess.DEVNULL, "cwd": ROOT}
    first = subprocess.Popen([*COMMAND, "batch", "-"], env=os.environ | {"PYTHONPATH": str(ROOT)}, **given)
    try:
        first.stdin.write(b"radius,form,location,diameter\n" + line * 300_000)
        first.stdin.flush()
        workers = children(first.pid)
        assert workers
    finally:
        first.kill()
        first.wait()
    ended = time.monotonic() + 20
    while any(Path(f"/proc/{pid}/cmdline").exists() for pid in workers) and time.monotonic() < ended:
        time.sleep(0.1)
    left = [pid for pid in workers if alive(pid)]
    for pid in left:
        os.kill(pid, 9)
    assert not left


def children(pid):
    """The processes that a process has started."""
    return [
        int(found) for task in Path(f"/proc/{pid}/task").iterdir() for found in (task / "children").read_text().split()
    ]


def alive(pid):
    try:
        return "Z" not in Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False


# ---- 9 and 10: files that come to far more than they are, or hold what cannot be read

HEADING = "radius,form,location,diameter"
ROW = "R6 ±0.1,convex,corner,40 mm"


BAD_CELL = b'<c r="E3" t="n"><v>x</v></c>'


def complaint_of(path):
    """What `batch` says of a list that it does not read."""
    done = run("batch", path, "--without-records")
    assert done.status == 2 and "fault in the program" not in done.complaint, done
    return done.complaint


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (f"{HEADING},{'x' * 200_000}\n{ROW},\n", None),
        (f"{HEADING},{','.join(map(str, range(20_000)))}\n", "has 20,004 columns"),
        (f'{HEADING},note\n{ROW},"{"x" * (1 << 24)}"\n', "is too long to be a row"),
        (f"{HEADING},note\n{ROW},{'x' * (1 << 24)}\n", "is too long to be a row"),
    ],
    ids=["long heading", "many columns", "long cell in quotes", "long cell"],
)
def test_fault_9_and_10_lines_of_any_length(tmp_path, text, problem):
    listed = tmp_path / "list.csv"
    listed.write_text(text, encoding="utf-8")
    if problem is None:
        assert run("batch", listed, "--without-records").status == 0
    else:
        assert problem in complaint_of(listed)


def workbook(tmp_path, change):
    """An XLSX list whose sheet was changed inside."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in (HEADING, ROW, ROW):
        book.active.append(row.split(","))
    book.save(tmp_path / "good.xlsx")
    with zipfile.ZipFile(tmp_path / "good.xlsx") as good, zipfile.ZipFile(tmp_path / "list.xlsx", "w", 8) as made:
        for name in good.namelist():
            content = good.read(name)
            made.writestr(name, change(content) if name.endswith("sheet1.xml") else content)
    return tmp_path / "list.xlsx"


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (lambda xml: xml.replace(b'<row r="3"', b'<row r="100000000"'), "is far larger inside"),
        (lambda xml: xml + b" " * (80 << 20), "is far larger inside than any list that was written"),
        (lambda xml: xml.replace(b"</row></sheetData>", BAD_CELL + b"</row></sheetData>"), "is not an XLSX file"),
        (lambda xml: xml[: len(xml) // 2], "is not an XLSX file"),
    ],
    ids=["far row", "bomb", "bad cell", "cut"],
)
def test_fault_9_and_10_workbooks(tmp_path, change, problem):
    assert problem in complaint_of(workbook(tmp_path, change))


def test_fault_9_and_10_parquet(tmp_path):
    arrow = pytest.importorskip("pyarrow")
    parquet = pytest.importorskip("pyarrow.parquet")
    columns = {name: [cell] * 3 for name, cell in zip(HEADING.split(","), ROW.split(","), strict=True)}
    far = arrow.array([1 << 58, 1, 2], arrow.timestamp("ms"))
    for name, values, problem in (
        ("nanoseconds", arrow.array([1, 2, 1_700_000_000_000_000_001], arrow.timestamp("ns")), None),
        ("far", far, "holds values that cannot be read"),
        ("long", arrow.array(["x" * 1_000_000] * 3), "holds a text of 1,000,000 bytes"),
    ):
        path = tmp_path / f"{name}.parquet"
        parquet.write_table(arrow.table(columns | {"own": values}), path)
        done = run("batch", path, "-o", tmp_path / f"{name}.csv", "--without-records")
        assert done.status in (0, 2) and "fault" not in done.complaint, done
        if problem:
            assert done.status == 2 and problem in done.complaint


def test_fault_9_dotted_keys_and_many_tables(tmp_path):
    deep, many = ".".join(["a"] * 60_000) + " = 1", "[[gauges.set]]\nleaves = ['1 mm']\n" * 4_500
    shop, case = a_shop(tmp_path, many), tmp_path / "case.toml"
    assert run("check", shop).status == 2
    case.write_text(f"[callout]\n{deep}\n", encoding="utf-8")
    started = time.process_time()
    assert run("check", case).status == 2 and run("advise", *words(A), "--shop", a_shop(tmp_path, deep)).status == 2
    assert time.process_time() - started < 5


def test_fault_10_an_error_comes_back_from_a_worker_as_it_is():
    import pickle

    error = CalloutError("list, line 7", "x", "is wrong", "Put it right.")
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is CalloutError and str(again) == str(error) and again.fix == error.fix


# ---- 20, 23 and 26


def test_fault_20_a_row_with_something_beyond_the_heading_is_not_empty(tmp_path):
    listed = tmp_path / "list.csv"
    listed.write_text(f"{HEADING}\n{ROW}\n,,,,something\n,,,,,,\n", encoding="utf-8")
    done = run("batch", listed, "--without-records")
    assert done.status == 0 and "1 of 1 line priced, 1 empty, 1 with text alone" in done.complaint


@pytest.mark.parametrize("name", ["$\\\\foo$", "a $ b $ c"])
def test_fault_23_a_shop_named_like_an_equation(tmp_path, monkeypatch, name):
    pytest.importorskip("matplotlib")
    monkeypatch.setattr(mapping, "POINTS", 20)
    shop = a_shop(tmp_path, f'name = "{name}"')
    done = run("map", *words(A), "--shop", shop, "-o", tmp_path / "map.svg")
    assert done.status == 0, done


def test_fault_26_json_keeps_its_signs_in_any_encoding():
    done = program(
        "advise",
        *words(A),
        "--json",
        stdout=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "ascii"},
    )
    assert "R6 ±0.1" in json.dumps(json.loads(done.stdout), ensure_ascii=False)


@pytest.mark.parametrize("word", ['R1/2" ±.005', "a $(rm -rf x).toml", "R6 ±0.1", "cases/knob-corner.toml", "it's `x`"])
def test_fault_24_the_record_line_is_one_word_to_a_shell(word):
    from advisor.show import sheet_content

    assert shlex.split(sheet_content._quoted(word)) == [word]
