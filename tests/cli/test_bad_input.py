"""Bad input from end to end: whatever is written, the answer is advice or one message that helps, never a traceback."""

import math
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from command import CORNER, SHAPES, advise, run
from hypothesis import given, settings
from hypothesis import strategies as st
from often import often

from advisor.commands import register
from advisor.commands.on_a_callout import OPTIONS
from advisor.page import serve

ROOT = Path(__file__).parent.parent.parent
SHOPS = sorted(path.stem for path in (ROOT / "cases" / "shops").glob("*.toml"))
NAMES = [name for names in OPTIONS.values() for name in names]
LENGTHS = ["diameter", "width", "depth", "from-end", "shoulder-height", "length", "rim", "stickout", "bore"]
WORDS = ["form", "location", "units", "support", "skill", "tool", "interrupted", "material"]


def assert_helpful(ran, *, field=None):
    """Status 2 and a line for each thing that is wrong: the field, what is wrong, and what would be right."""
    assert ran.status == 2 and not ran.out
    assert ran.complaint.endswith("\n")
    lines = ran.complaint.removesuffix("\n").split("\n")
    for line in lines:
        assert line.endswith((".", "?")) and "  " not in line and len(line) < 700
        assert not re.search(r"Traceback|Error\b|Exception|<class|object at|argparse", line)
    assert len(set(lines)) == len(lines) < 30
    if field:
        assert any(line.startswith(f"{field}: ") for line in lines), ran.complaint


def assert_advice_or_help(ran):
    if ran.status == 2:
        assert_helpful(ran)
    else:
        assert ran.status in (0, 1) and ran.out and not ran.complaint


# ---- every option, every kind of nonsense

NOT_LENGTHS = {
    "": "nothing is written",
    "   ": "nothing is written",
    "-5 mm": "",
    "0.00001 mm": "is less than 0.001 mm",
    "1e400 mm": "",
    "99999999999 mm": "is beyond 100 m",
    "nan": "",
    "inf": "",
    "big": "is not a length",
    "3 kg": "is a mass, not a length",
    "3 min": "is a time, not a length",
    "20 deg": "is an angle, not a length",
    "5 furlongz": "unknown unit",
    "40 mm 50": "",
    "1/0 in": "divides by zero",
    "1,234 mm": "could be 1234 or 1.234",
    "⅜⅜": "",
    "4 0": "",
    "__import__('os')": "",
    "{radius}": "",
    "x" * 5000: "too long",
    "5\n6": "",
    "5\0": "",
    "\u202e5 mm": "",
    "٤٠ mm": "",
}


@pytest.mark.parametrize("name", LENGTHS)
@pytest.mark.parametrize("text", NOT_LENGTHS, ids=lambda text: repr(text)[:24])
def test_a_length_that_is_none(name, text):
    if name == "bore" and text.startswith("0.0"):
        pytest.skip("a bore may be as small as you like")
    ran = advise(**{name: text})
    assert_helpful(ran, field=name.replace("-", "_"))
    assert NOT_LENGTHS[text] in ran.complaint or "is not a size of a convex radius" in ran.complaint


@pytest.mark.parametrize("name", WORDS)
@pytest.mark.parametrize("text", ["", " ", "xyzzy", "42", "-1", "yes and no", "convex concave", "\0", "ä" * 400, "[]"])
def test_a_word_that_is_none(name, text):
    assert_helpful(advise(**{name: text}), field=name)


@pytest.mark.parametrize(
    ("name", "written", "meant"),
    [
        ("form", "convecks", "convex"), ("form", "concav", "concave"), ("location", "cornr", "corner"),
        ("location", "outside diamter", "outside diameter"), ("support", "tailstok", "tailstock"),
        ("support", "stedy rest", "steady rest"), ("skill", "aprentice", "apprentice"), ("skill", "Exprt", "expert"),
        ("tool", "high speed steal", "high-speed steel"), ("tool", "carbid", "carbide"), ("material", "mild steal", "mild steel"),
        ("material", "alumnium alloy", "aluminium alloy"), ("units", "inchs", "inch"), ("shop", "benchshop", "bench-shop"),
        ("shop", "training shop", "training-shop"),
    ],
)  # fmt: skip
def test_the_nearest_right_word(name, written, meant):
    ran = advise(**{name: written})
    assert_helpful(ran)
    assert f'Did you mean "{meant}"?' in ran.complaint


@pytest.mark.parametrize("name", ["quantity", "places"])
@pytest.mark.parametrize(
    "text", ["", "0", "-3", "1.5", "many", "1e3", "1.000", "1000001", "9" * 400, "12 mm", "½", "0x10", "nan"]
)
def test_a_count_that_is_none(name, text):
    assert_helpful(advise(**{name: text}), field=name)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        *[
            ("hardness", text)
            for text in ("", "soft", "0", "-150 HB", "150 HK", "70 HRC", "5000 HB", "150 mm", "HRC", "28 HRC HB")
        ],
        *[("finish", text) for text in ("", "Rz 7", "smooth", "0", "-1", "Ra 2 mm", "Ra", "1.6 kg", "99999")],
        *[("minutes-in-piece", text) for text in ("", "-1", "long", "3 mm", "inf", "1e999", "5 kg")],
        *[("general-tolerance", text) for text in ("", "ISO 2768", "ISO 2768-q", "loose", "0", "-0.1", "3 kg")],
        *[("lathe", text) for text in ("", " ", "no such lathe", "0", "\n")],
    ],
)
def test_other_values_that_are_none(name, text):
    ran = advise(radius="R6" if name == "general-tolerance" else "R6 ±0.1", **{name: text})
    assert_helpful(ran)
    assert ran.complaint.split(":")[0] in (name.replace("-", "_"), "radius")


RADII = [
    "", " ", "R", "six", "0", "R0", "R-6", "-6", "R6 ±0", "R6 ±6", "R6 ±7", "R6 ±-0.1", "R6 +0.2", "R6.2-5.8", "R6-6", "R6 kg",
    "R6 ±5%", "R6 H7", "⌀12", "R1/0", "R1-9/8", "R1,234", "R1.2.3", "R6 ±", "±0.1", "0X R6", "9999999X R6", "2X", "RR6", "R6 R7",
    "R" + "9" * 99, "R" * 9999, "R1e3", "R٦", "R6\0", "R6; rm -rf", "R6²", "R.12345 in", "45°", "R6 ± 0.1 ± 0.2", "R{radius}", "%s", "R6 MAX MIN",
    "R1 - 3/16", "R200000", "R0.4", "R NaN", "Rinf", "M6", "2 R 6", "R6mm/in", "'; DROP TABLE", "<script>", "\x1b[31mR6",
]  # fmt: skip


@pytest.mark.parametrize("text", RADII, ids=lambda text: repr(text)[:24])
def test_a_radius_that_is_none(text):
    assert_helpful(advise(radius=text), field="radius")


@pytest.mark.parametrize("name", ["radius", "form", "location", "diameter"])
def test_what_has_to_be_given(name):
    assert_helpful(advise(**{name: None}), field=name)


# ---- impossible shapes

IMPOSSIBLE = [
    ("corner", {"radius": "R25 ±0.1"}, "radius", "half the diameter"),
    ("corner", {"bore": "30 mm"}, "radius", "the wall between bore and diameter"),
    ("corner", {"bore": "40 mm"}, "bore", "40 mm"),
    ("corner", {"length": "5 mm"}, "length", "6 mm"),
    ("corner", {"width": "5 mm"}, "width", "is not a size of a convex radius"),
    ("corner", {"stickout": "5 mm"}, "stickout", "6 mm"),
    ("fillet", {"shoulder_height": "5 mm"}, "shoulder_height", "5 mm is lower than the fillet R6"),
    ("fillet", {"length": "5 mm"}, "length", "6 mm"),
    ("dome", {"radius": "R19 ±0.1"}, "radius", "half the 40 mm diameter"),
    ("dome", {"width": "30 mm"}, "width", "40 mm"),
    ("dome", {"depth": "5 mm"}, "depth", "R50, which make 4.174 mm"),
    ("dish", {"width": "41 mm"}, "width", "40 mm"),
    ("dish", {"radius": "R14 ±0.1"}, "width", "28 mm circle of R14"),
    ("dish", {"depth": "9 mm"}, "depth", "R50"),
    ("dish", {"width": None, "rim": "20 mm"}, "rim", "40 mm"),
    ("dish", {"width": None, "rim": "3 mm", "depth": "49 mm"}, "depth", "49 mm"),
    ("groove", {"width": "14 mm"}, "width", "14 mm is wider than the 12 mm circle of R6"),
    ("groove", {"width": None}, "width", "is missing"),
    ("groove", {"depth": "3 mm"}, "depth", "10 mm and R6, which make 2.683 mm"),
    ("groove", {"diameter": "5 mm"}, "width", "2.5 mm below the surface"),
    ("groove", {"bore": "35 mm"}, "width", "35 mm bore"),
    ("groove", {"stickout": "25 mm"}, "stickout", "30 mm"),
    ("crown", {"diameter": "5 mm"}, "width", "2.683 mm deep"),
    ("crown", {"rim": "1 mm"}, "rim", "is not a size of"),
    ("corner", {"lathe": "bench lathe"}, "lathe", "bench lathe"),
    ("corner", {"diameter": "3000 mm"}, "diameter", ""),
    ("dome", {"diameter": "600 mm", "radius": "R400 ±1"}, "diameter", ""),
]  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES)
def test_the_shapes_themselves_are_possible(shape):
    assert advise(**SHAPES[shape]).status in (0, 1)


@pytest.mark.parametrize(("shape", "changes", "field", "says"), IMPOSSIBLE)
def test_a_shape_that_is_impossible_names_what_clashes(shape, changes, field, says):
    ran = advise(**SHAPES[shape] | changes)
    assert_helpful(ran, field=field)
    assert says in ran.complaint


def test_work_that_no_lathe_swings_names_the_lathes_limit():
    ran = advise(diameter="3000 mm")
    assert re.search(r"swing", ran.complaint)


# ---- files

GOOD_CASE = '[callout]\nradius = "R6 ±0.1"\nform = "convex"\nlocation = "corner"\ndiameter = "40 mm"\n'
BAD_CASES = {
    "empty": (b"", "radius: is missing"),
    "no-table": (b'radius = "R6"\n', "radius belongs in [callout]"),
    "binary": (bytes(range(256)) * 40, "is not a text file"),
    "zeros": (b"\0" * 1000, "is not valid TOML"),
    "latin-1": ('radius = "R6 \xb10.1"'.encode("latin-1"), "is not a text file in UTF-8"),
    "utf-16": (GOOD_CASE.encode("utf-16"), "is not a text file in UTF-8"),
    "json": (b'{"callout": {"radius": "R6"}}', "is not valid TOML at line 1"),
    "prose": (b"Dear sirs,\nplease quote.\n", "is not valid TOML at line 1"),
    "key-twice": (GOOD_CASE.encode() + b'form = "concave"\n', "a second time at line 6"),
    "table-twice": (GOOD_CASE.encode() + b"[callout]\n", "a second time at line 6"),
    "unknown-key": (GOOD_CASE.encode() + b"diametre = 3\n", 'Did you mean "diameter"?'),
    "unknown-table": (GOOD_CASE.encode() + b"[works]\n", 'Did you mean "work"?'),
    "key-of-another-table": (GOOD_CASE.encode() + b"quantity = 3\n", "It belongs in [job]."),
    "table-for-a-value": (GOOD_CASE.encode() + b"[callout.width]\nmm = 3\n", "width"),
    "list-for-a-value": (GOOD_CASE.encode() + b"width = [1, 2]\n", "width"),
    "date": (GOOD_CASE.encode() + b"width = 2020-01-01\n", "width"),
    "not-a-number": (GOOD_CASE.encode() + b"width = nan\n", "width"),
    "endless": (GOOD_CASE.encode() + b"width = inf\n", "width"),
    "huge-number": (GOOD_CASE.encode() + b"width = " + b"9" * 5000 + b"\n", "is"),
    "deep": (b"a = " + b"[" * 3000, "is"),
    "callout-is-a-number": (b"callout = 3\n", "is not a table"),
    "not-closed": (b'[callout]\nradius = "R6', "is not valid TOML"),
    "shop-is-a-number": (GOOD_CASE.encode() + b"[job]\nshop = 3\n", "shop"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_CASES)
def test_a_case_file_that_is_none(name, tmp_path):
    content, says = BAD_CASES[name]
    path = tmp_path / f"{name}.toml"
    path.write_bytes(content)
    ran = run("advise", "--case", path)
    assert_helpful(ran)
    assert says in ran.complaint
    assert ran.complaint.startswith((str(path), "shop: "))


@pytest.fixture(scope="session")
def strange_paths(tmp_path_factory):
    """Paths that are no files to read, by name."""
    folder = tmp_path_factory.mktemp("strange")
    paths = {
        "missing": folder / "missing.toml",
        "folder": folder,
        "in a file": folder / "fifty-megabytes.toml" / "x.toml",
        "fifty megabytes": folder / "fifty-megabytes.toml",
        "endless name": folder / ("x" * 3000),
        "home of nobody": Path("~nobody-of-that-name/x.toml"),
    }
    with open(paths["fifty megabytes"], "wb") as file:
        file.truncate(50_000_000)
    if os.name == "posix":
        paths["pipe"] = folder / "pipe.toml"
        os.mkfifo(paths["pipe"])
        paths["circle"] = folder / "circle.toml"
        paths["circle"].symlink_to(paths["circle"])
        paths["device"] = Path("/dev/zero")
    return paths


@pytest.mark.parametrize("option", ["case", "shop"])
@pytest.mark.parametrize(
    "name",
    ["missing", "folder", "in a file", "fifty megabytes", "endless name", "home of nobody", "pipe", "circle", "device"],
)
def test_a_path_that_is_no_file(option, name, strange_paths):
    if name not in strange_paths:
        pytest.skip("this system has no such thing")
    assert_helpful(run("advise", *CORNER, f"--{option}={strange_paths[name]}"))


@pytest.mark.parametrize("option", ["case", "shop"])
@pytest.mark.parametrize(
    "path", ["", ".", "/", "..", "a\0b", "\n", "\udcff", "con", "http://example.com/x.toml", "*.toml"]
)
def test_a_path_that_is_none(option, path):
    assert_helpful(run("advise", *CORNER, f"--{option}={path}"))


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="needs a user whom a system refuses")
@pytest.mark.parametrize("option", ["case", "shop"])
def test_a_file_that_may_not_be_read(option, tmp_path):
    path = tmp_path / "closed.toml"
    path.write_text(GOOD_CASE)
    path.chmod(0)
    assert_helpful(run("advise", *CORNER, f"--{option}={path}"))


@pytest.mark.parametrize("content", [content for content, _ in BAD_CASES.values()], ids=BAD_CASES.keys())
def test_a_shop_file_that_is_none(content, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(content)
    ran = run("advise", *CORNER, "--shop", path)
    for line in ran.complaint.splitlines(keepends=True):
        assert_helpful(ran._replace(complaint=line))


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ('[limits]\nno_such_limit = "3 mm"\n', 'unknown limit "no_such_limit"'),
        ('[limits]\nlight_gap = "3 min"\n', "a time (min) stands where a length (mm) belongs"),
        ('[limits]\nlight_gap = "thin"\n', "is not a number"),
        ("[minutes]\nform_tool_setup = [9, 8, 7]\n", ""),
        ('[limits]\nlight_gap = "-3 mm"\n', "is below zero"),
    ],
)
def test_a_shops_own_limits_are_checked(lines, says, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(f'like = "training-shop"\n{lines}', encoding="utf-8")
    ran = run("advise", *CORNER, "--shop", path)
    assert_helpful(ran)
    assert says in ran.complaint


# ---- anything at all

NONSENSE = st.one_of(
    st.text(max_size=40),
    st.sampled_from([*NOT_LENGTHS, *RADII]),
    st.floats().map(lambda number: f"{number} mm"),
    st.integers().map(str),
    st.tuples(st.sampled_from(["", "-", "1-", "R"]), st.integers(0, 99), st.integers(0, 64)).map(
        lambda t: f"{t[0]}{t[1]}/{t[2]} in"
    ),
)
SENSE = {
    "form": st.sampled_from(["convex", "concave"]),
    "location": st.sampled_from(["corner", "end", "outside diameter"]),
    "units": st.sampled_from(["mm", "inch"]),
    "support": st.sampled_from(["chuck", "tailstock", "steady rest"]),
    "skill": st.sampled_from(["apprentice", "journeyman", "expert"]),
    "tool": st.sampled_from(["high-speed steel", "carbide"]),
    "interrupted": st.sampled_from(["yes", "no"]),
    "quantity": st.sampled_from(["1", "7", "1000000"]),
    "places": st.sampled_from(["1", "3"]),
    "hardness": st.sampled_from(["5 HB", "150 HB", "750 HB", "64 HRC"]),
    "finish": st.sampled_from(["Ra 0.01 um", "Ra 50 um"]),
    "general-tolerance": st.sampled_from(["ISO 2768-m", "ISO 2768-v", "0.2 mm"]),
    "material": st.sampled_from(["low-carbon steel", "brass", "cast iron", "acetal"]),
    "minutes-in-piece": st.sampled_from(["0", "1000000"]),
    "shop": st.sampled_from(SHOPS),
    "lathe": st.sampled_from(["engine lathe", "bench lathe"]),
}
SIZES = st.sampled_from(["0.002 mm", "0.5 mm", "3 mm", "9 mm", "1/4 in", "25.4", "60 mm", "399 mm", "99 m"])
RADIUS = st.sampled_from(
    ["R6 ±0.1", "R0.02 ±0.01", "R3/8", "SR20", "CR4 ±0.05", "R2 MAX", "2X R3 ±0.2", "R90000 ±1", "R.25 ±.005 in"]
)


@settings(max_examples=150)
@given(st.dictionaries(st.sampled_from(["radius", *NAMES]), NONSENSE, max_size=3), st.booleans())
def test_nonsense_is_advised_on_or_refused(changes, as_json):
    ran = advise(*(["--json"] if as_json else []), **changes)
    if as_json and ran.status == 2:
        assert set(ran.data["error"]) == {"field", "value", "problem", "fix"}
        assert all(ran.data["error"][key] for key in ("field", "problem", "fix"))
    else:
        assert_advice_or_help(ran)


@settings(max_examples=250)
@given(
    st.fixed_dictionaries(
        {"radius": RADIUS, "form": SENSE["form"], "location": SENSE["location"], "diameter": SIZES},
        optional={name: SENSE.get(name, SIZES) for name in NAMES if name not in ("form", "location", "diameter")},
    ),
    st.booleans(),
)
def test_sense_in_odd_company_is_advised_on_or_refused(options, as_json):
    ran = advise(*(["--json"] if as_json else []), **options)
    if as_json:
        assert_numbers_are_numbers(ran.data)
    else:
        assert_advice_or_help(ran)


def assert_numbers_are_numbers(data):
    if isinstance(data, float):
        assert math.isfinite(data)
    for part in data.values() if isinstance(data, dict) else data if isinstance(data, list) else ():
        assert_numbers_are_numbers(part)


@settings(max_examples=150)
@given(
    st.lists(
        st.one_of(
            st.text(max_size=12), st.sampled_from(["advise", "--json", "--form", "--", "-h-", "--case", "-5", *CORNER])
        ),
        max_size=8,
    )
)
def test_any_words_at_all(words):
    ran = run(*words)
    assert ran.status in (0, 1, 2)
    assert ran.status != 2 or ran.complaint or "error" in ran.data


@settings(max_examples=120)
@given(st.binary(max_size=200), st.integers(0, len(GOOD_CASE)), st.integers(0, 20))
def test_a_case_file_with_a_piece_replaced(tmp_path_factory, piece, start, length):
    path = tmp_path_factory.mktemp("case") / "case.toml"
    text = GOOD_CASE.encode()
    path.write_bytes(text[:start] + piece + text[start + length :])
    assert_advice_or_help(run("advise", "--case", path))


# ---- as a process: nothing escapes on the way out


@pytest.mark.parametrize(
    "words",
    [
        [], ["advise"], ["advise", "R6"], ["nothing"], ["advise", *CORNER[:-1], "0"], ["advise", *CORNER, "--shop", "nowhere"],
        ["advise", *CORNER, "--case", os.devnull], ["advise", "\udcff", *CORNER[1:]], ["advise", *CORNER[:-1], "9" * 9000],
        ["advise", *CORNER, "--json", "--lathe", "none"],
    ],
)  # fmt: skip
def test_a_process_ends_with_2_and_a_line_for_each_thing(words):
    ran = subprocess.run(
        [sys.executable, "-m", "advisor.cli", *words], cwd=ROOT, capture_output=True, timeout=60, check=False
    )
    assert ran.returncode == 2
    missing = {("advise",): 4, ("advise", "R6"): 3}.get(tuple(words), 1)
    assert (ran.stdout + ran.stderr).count(b"\n") == missing and b"Traceback" not in ran.stderr


def test_how_many_tries_these_are():
    tables = (
        len(LENGTHS) * len(NOT_LENGTHS) + len(WORDS) * 11 + 2 * 13 + len(RADII) + len(IMPOSSIBLE) + 2 * len(BAD_CASES)
    )
    assert tables > 400


# ---- every command, every option of its own

COMMANDS = {name: register.parser(name) for name in register.NAMES}
ON_A_CALLOUT = [name for name, command in COMMANDS.items() if "--diameter" in command.options() and name != "batch"]
OWN_OPTIONS = [
    (name, option)
    for name, command in COMMANDS.items()
    for option, action in command.options().items()
    if option[2:] not in NAMES and option != "--help" and action.nargs is None
]


@pytest.fixture(autouse=True)
def nothing_is_served(monkeypatch):
    """A page that can be served would be until it is told to stop: tests/page serves it."""
    monkeypatch.setattr(serve, "serve", lambda app, place, **more: place.socket.close())


@pytest.fixture
def usual(tmp_path, monkeypatch):
    """What each command usually gets, in a folder where it may write."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TURN_RADIUS_RECORDS", str(tmp_path / "records.sqlite3"))
    (tmp_path / "list.csv").write_text("radius,form,location,diameter\nR6,convex,corner,40 mm\n", encoding="utf-8")
    words = dict.fromkeys(COMMANDS, ()) | dict.fromkeys(ON_A_CALLOUT, CORNER)
    return words | {"batch": ("list.csv",), "word": ("chatter",), "rules": ("freehand",), "check": ("list.csv",)}


@pytest.mark.parametrize("written", ["", "nonsense", "-1", "\0", "a/b/c", "9" * 400], ids=lambda text: repr(text)[:12])
@pytest.mark.parametrize(("name", "option"), OWN_OPTIONS[:: often(3, 1)])
def test_an_option_of_a_command_with_nonsense(name, option, written, usual):
    assert_no_traceback(run(name, *usual[name], f"{option}={written}"))


@pytest.mark.parametrize("words", [(), ("",), ("\0",), ("nonsense",), ("--no-such-option",), ("a", "b", "c")], ids=str)
@pytest.mark.parametrize("name", sorted(set(COMMANDS) - {"check"}))
def test_a_command_with_nonsense(name, words, usual):
    assert_no_traceback(run(name, *words))


def assert_no_traceback(ran):
    assert ran.status in (0, 1, 2)
    if ran.status == 2:
        assert_helpful(ran._replace(complaint=ran.complaint.splitlines(keepends=True)[-1]))
