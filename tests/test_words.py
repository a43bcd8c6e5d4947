"""Words of the trade: every screen is read, and whatever is neither everyday English nor a term with an entry is
refused."""

import re
import tomllib
from pathlib import Path

import pytest
from command import run
from shown import WORKED, screens, worked

from advisor.answer import advice
from advisor.asked import materials, new_shop
from advisor.asked.shop import SHOPS
from advisor.ground.errors import CalloutError
from advisor.ground.folders import data_folder
from advisor.rulebase import glossary
from advisor.show import measuring, rows

EVERYDAY = set((Path(__file__).parent / "everyday_words.txt").read_text(encoding="utf-8").split())
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


@pytest.mark.parametrize("case", WORKED, ids=lambda path: path.stem)
def test_every_word_of_a_screen_is_a_term_or_everyday(case):
    for name, text in screens(case).items():
        strange = sorted(in_plain_words(text) - EVERYDAY)
        assert not strange, f"{case.stem}, {name}: give {strange} an entry in rules/terms.toml, or list it as everyday"


def test_every_word_about_shops_is_a_term_or_everyday():
    """What a shop can do, how a lathe is measured, and a new file; but for keys, paths and values."""
    screens = [run("shop").out, run("shop", "training-shop").out.lower(), measuring.screen(None, "inch", ascii_only=True)]
    told = "\n".join([*screens, re.sub("(?m)^#?[a-z_0-9.]+ = .*$", "", new_shop.text("mm", "x"))])
    for shop in [path.stem for path in SHOPS.glob("*.toml")] + ["turn-radius", "ISO 2768", "iso 2768"]:
        told = re.sub(rf"\b{shop}\b", " ", told)
    strange = sorted(in_plain_words(re.sub(r"\w+_\w+|\w+\.\w+", " ", told)) - EVERYDAY)
    assert not strange, f"give {strange} an entry in rules/terms.toml, or list it as everyday"


def test_every_word_of_the_rule_base_is_a_term_or_everyday():
    for rule in advice.rule_base().rules:
        told = [rule.because or "", rule.needs or "", *(effect.text or "" for effect in rule.effects)]
        strange = in_plain_words(re.sub(r"\{\w+\}", " ", " ".join(told))) - EVERYDAY
        assert not strange, f"{rule.id}: {sorted(strange)}"


def test_no_term_hides_among_the_everyday_words():
    forms = {form.lower() for term in glossary.terms().values() for form in (term.name, *term.also)}
    assert not EVERYDAY & forms


@pytest.mark.parametrize("case", WORKED[::3], ids=lambda path: path.stem)
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
