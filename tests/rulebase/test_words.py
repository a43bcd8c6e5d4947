"""Words of the trade: every screen is read, and whatever is neither everyday English nor a term with an entry is
refused."""

import html
import math
import re
import tomllib
from pathlib import Path

import pytest
from command import run
from often import often
from shown import screens, some, worked

from advisor.answer import advice
from advisor.asked import materials, new_shop
from advisor.asked.shop import SHOPS
from advisor.ground.errors import CalloutError
from advisor.ground.folders import data_folder
from advisor.page import bench, labels
from advisor.rulebase import glossary
from advisor.show import measuring, rows

EVERYDAY = set((Path(__file__).parent.parent / "everyday_words.txt").read_text(encoding="utf-8").split())
FORMS = sorted((form for term in glossary.terms().values() for form in (term.name, *term.also)), key=len, reverse=True)
TERM = re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, FORMS))})(?![\w-])", re.IGNORECASE)
SOURCES = set(tomllib.loads((data_folder("rules") / "sources.toml").read_text(encoding="utf-8")))


def in_plain_words(text):
    """The words of a text that are neither names of rules, sources, shops, lathes and materials nor part of a term."""
    names = (
        {rule.id for rule in advice.rule_base().rules} | {s for s in SOURCES if "-" in s} | set(materials.materials())
    )
    for name in sorted(names, key=len, reverse=True):
        text = text.replace(name, " ")
    text = re.sub(r"Shop [\w-]+(, [\w -]+)?\.", " ", text)
    return {word.lower() for word in re.findall(r"[A-Za-z][a-z'’]+(?:-[a-z]+)*", TERM.sub(" ", text))}


@pytest.mark.parametrize("case", some(0), ids=lambda path: path.stem)
def test_every_word_of_a_screen_is_a_term_or_everyday(case):
    for name, text in screens(case, explained=case in some(0)[:: often(2, 1)]).items():
        strange = sorted(in_plain_words(text) - EVERYDAY)
        assert not strange, f"{case.stem}, {name}: give {strange} an entry in rules/terms.toml, or list it as everyday"


def test_every_word_about_shops_is_a_term_or_everyday():
    """What a shop can do, how a lathe is measured, and a new file; but for keys, paths and values."""
    screens = [
        run("shop").out,
        run("shop", "training-shop").out.lower(),
        measuring.screen(None, "inch", ascii_only=True),
    ]
    told = "\n".join([*screens, re.sub("(?m)^#?[a-z_0-9.]+ = .*$", "", new_shop.text("mm", "x"))])
    for shop in [path.stem for path in SHOPS.glob("*.toml")] + ["turn-radius", "ISO 2768", "iso 2768"]:
        told = re.sub(rf"\b{shop}\b", " ", told)
    strange = sorted(in_plain_words(re.sub(r"\w+_\w+|\w+\.\w+", " ", told)) - EVERYDAY)
    assert not strange, f"give {strange} an entry in rules/terms.toml, or list it as everyday"


def test_every_word_of_the_page_is_a_term_or_everyday():
    """What the templates and the labels of the page say of themselves."""
    told = [told for pair in labels.LABELS.values() for told in pair[:1]] + list(bench.WAYS.values())
    for path in sorted((Path(__file__).parent.parent.parent / "advisor" / "page" / "templates").glob("*.html")):
        text = re.sub(r"<code>.*?</code>|{#.*?#}", " ", path.read_text(encoding="utf-8"), flags=re.S)
        quoted = re.findall(r'(?:aria-label|alt)="([^"{]*)"', text) + re.findall(r'{{ "([^"]*)"', text)
        heads = re.findall(r'"([^"]*)"', " ".join(re.findall(r"{% for \w+ in (\[.*?\])", text)))
        bare = re.sub(r"<[^>]*>", " ", re.sub(r"{[{%].*?[%}]}", " ", text, flags=re.S))
        told += [bare, *quoted, *heads]
    strange = sorted(in_plain_words(html.unescape(" ".join(told))) - EVERYDAY)
    assert not strange, f"give {strange} an entry in rules/terms.toml, or list it as everyday"


def test_every_word_of_the_rule_base_is_a_term_or_everyday():
    for rule in advice.rule_base().rules:
        told = [rule.because or "", rule.needs or "", *(effect.text or "" for effect in rule.effects)]
        strange = in_plain_words(re.sub(r"\{\w+\}", " ", " ".join(told))) - EVERYDAY
        assert not strange, f"{rule.id}: {sorted(strange)}"


def test_no_term_hides_among_the_everyday_words():
    forms = {form.lower() for term in glossary.terms().values() for form in (term.name, *term.also)}
    assert not EVERYDAY & forms


@pytest.mark.parametrize("case", some(0), ids=lambda path: path.stem)
def test_every_label_of_the_setup_holds_a_term(case):
    found = worked(case)
    for method in found.methods.values():
        for row in rows.setup_rows(method, found):
            assert TERM.search(row.label), row.label


def test_terms_are_whole():
    terms = glossary.terms()
    assert len(terms) >= 70
    forms = {}
    for term in terms.values():
        assert term.source in SOURCES, term.name
        assert term.means[0].isupper() and term.means.endswith("."), term.name
        assert 1 <= len(re.findall(r"[.!?](?: |$)", term.means)) <= 4, term.name
        assert all(len(line) <= 76 for line in term.picture.splitlines()), term.name
        for other in term.see:
            glossary.find(other)
        for form in {form.lower() for form in (term.name, *term.also)}:
            assert forms.setdefault(form, term.name) == term.name, f"{form}: {forms[form]} and {term.name}"


def test_a_word_is_found_by_any_of_its_forms():
    assert glossary.find("Form Tools").name == "form tool"
    assert glossary.find("form-tool").name == "form tool"
    assert glossary.find("leaf").name == "radius gauge"


def test_an_unknown_word_names_the_nearest():
    with pytest.raises(CalloutError, match='Did you mean "chatter"'):
        glossary.find("chater")
    told = run("word", "chater")
    assert told.status == 2 and told.complaint.startswith("word: chater has no entry. ")


def test_the_command_shows_one_and_lists_all():
    one = run("word", "form tool")
    assert one.status == 0 and "ground to the opposite form" in one.out and "See: " in one.out
    listed = run("word").out
    assert all(name in listed for name in glossary.terms())
    assert max(map(len, listed.splitlines())) <= 80


def test_every_heading_of_a_screen_has_its_word():
    """Read off the code that writes them."""
    told = set()
    for path in sorted((Path(glossary.__file__).parent.parent / "show").glob("*.py")):
        told |= set(re.findall(r'\bhead\("([^"]+)"(?: if|\))', path.read_text(encoding="utf-8")))
    assert len(told) > 20
    for heading in sorted(told):
        glossary.find(heading)


@pytest.mark.parametrize(
    "written, name",
    [
        ("TYP", "TYP"), ("MAX", "MAX"), ("min", "MIN"), ("REF", "REF"), ("BASIC", "BASIC"), ("2X", "2X"), ("3x", "2X"),
        ("SR", "SR"), ("CR", "CR"), ("FULL R", "FULL R"), ("controlled radius", "CR"), ("R", "radius"), ("Ra", "finish"),
    ],
)  # fmt: skip
def test_whatever_stands_at_a_radius_has_its_word(written, name):
    assert glossary.find(written).name == name


@pytest.mark.parametrize("method", advice.rule_base().methods, ids=lambda method: method["name"])
def test_every_method_has_its_sketch(method):
    assert glossary.find(method["name"]).picture


@pytest.mark.parametrize("name", ["form tool", "swung compound", "radius rod"])
def test_what_is_hard_to_picture_is_drawn(name, tmp_path):
    from advisor.drawing import sketches

    assert not sketches.sketch(name).crowded
    assert name in sketches.sketches()
    ran = run("word", name, "-o", tmp_path / "sketch.svg")
    assert ran.status == 0 and (tmp_path / "sketch.svg").read_text(encoding="utf-8").startswith("<svg")
    assert run("word", "freehand", "-o", tmp_path / "other.svg").status == 2


def test_the_drawn_swing_keeps_the_tip_at_the_radius():
    """The tip of the drawn tool lies on the drawn arc in both places; the rod is as long in both."""
    from advisor.drawing.methods import compound, rod
    from advisor.drawing.model import Arc, Line

    items = compound.SKETCH[0]()
    arc = next(item for item in items if isinstance(item, Arc) and item.pen == "heavy")
    tips = [item.points[0] for item in items if isinstance(item, Line) and len(item.points) == 5]
    assert [round(math.dist(arc.centre, tip), 9) for tip in tips] == [arc.radius] * 2
    rods = [item.points for item in rod.SKETCH[0]() if isinstance(item, Line) and item.pen in ("heavy", "phantom")]
    assert {round(math.dist(*ends), 9) for ends in rods} == {rod.HOLLOW - rod.NOSE}


def test_the_drawn_edge_is_the_arc_and_is_fed_straight_in():
    from advisor.drawing.methods import form_tool
    from advisor.drawing.model import Arc, Line

    items = form_tool.SKETCH[0]()
    arc = next(item for item in items if isinstance(item, Arc) and item.pen == "heavy")
    back, tool = (item.points for item in items if isinstance(item, Line) and item.closed)
    on_the_arc = [point for point in tool if round(math.dist(arc.centre, point), 9) == arc.radius]
    assert len(on_the_arc) == 31
    assert {(round(x - x2, 9), round(y - y2, 9)) for (x, y), (x2, y2) in zip(back, tool, strict=True)} == {(0.0, -26.0)}
