"""The page's other places through Starlette's client: lists and jobs at the desk, learning, and the shop."""

import html
import io
import re
import shlex
import zipfile
from pathlib import Path

import pytest
from command import run

pytest.importorskip("httpx2")
from starlette.testclient import TestClient
from test_page import KNOB, OWN, form, link, told

from advisor.asked import allowed
from advisor.page import estimator, learning, shops, words_in
from advisor.page.app import Page
from advisor.rulebase import glossary

LISTS = Path(__file__).parent.parent / "lists"


@pytest.fixture
def page(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    app = Page(hosts=["127.0.0.1:8473"], records=str(tmp_path / "records.sqlite3"))
    return TestClient(app, base_url=OWN, follow_redirects=True)


def sent(page, name, data):
    sure = form(page.get("/list"), "/list")["sure"]
    return page.post("/list", data={"sure": sure}, files={"list": (name, data)}, headers={"origin": OWN})


def test_a_list_is_read_priced_and_quoted(page):
    reply = sent(page, "enquiry.xlsx", (LISTS / "enquiry.xlsx").read_bytes())
    assert reply.status_code == 200 and "Ask the customer" in told(reply) and "Open:" in told(reply)
    assert "is.Radius" in reply.text or 'name="is.' in reply.text
    kinds = {"priced.csv": b"line", "quote.xlsx": b"PK", "quote.pdf": b"%PDF"}
    for name, begins in kinds.items():
        file = page.get(link(reply, name))
        assert file.status_code == 200 and begins in file.content[:2000]
        assert f'filename="{name}"' in file.headers["content-disposition"]
    assert zipfile.ZipFile(io.BytesIO(page.get(link(reply, "quote.xlsx")).content)).testzip() is None


def test_what_a_column_means_can_be_changed(page):
    text = "Pos,Rad,Dia,Form,Wo,Stk\n1,R6 ±0.1,40 mm,convex,corner,12\n"
    reply = sent(page, "mine.csv", text.encode())
    assert reply.status_code == 400 and "location" in told(reply)
    fields = form(reply, "/list/read")
    assert fields["is.Rad"] == "radius" and fields["is.Dia"] == "diameter"
    again = page.get("/list/read", params=fields | {"is.Wo": "location", "is.Form": "form", "is.Stk": "quantity"})
    assert again.status_code == 200 and "1 of 1 lines can be read" in told(again)
    assert "form tool" in told(again)


@pytest.mark.parametrize(
    ("name", "data"),
    [("a.exe", b"MZ"), ("a.csv", b""), ("a.xlsx", b"no workbook"), ("a.csv", b"\0" * 5000), ("../../a.csv", b"x,y\n1,2\n"),
     ("a.parquet", b"PAR1"), ("a.ods", b"PK\3\4")],
)  # fmt: skip
def test_what_is_no_list_is_refused_in_four_parts(page, name, data):
    reply = sent(page, name, data)
    assert reply.status_code == 400 and 'role="alert"' in reply.text and "Traceback" not in reply.text


def test_a_list_that_takes_too_long_is_given_up(page, monkeypatch):
    monkeypatch.setattr(estimator, "SECONDS", 0.05)
    reply = sent(page, "mine.csv", b"radius,form,location,diameter\nR6,convex,corner,40\n")
    assert reply.status_code == 400 and "took more than" in told(reply)


def test_a_list_that_is_gone_is_asked_for_again(page):
    reply = page.get("/list/read", params={"list": "nothing"})
    assert reply.status_code == 400 and "Send it again" in told(reply)
    assert page.get("/list/priced.csv", params={"list": "../../etc/passwd"}).status_code == 400


def test_a_job_by_quantity_and_in_every_shop(page):
    reply = page.get("/list/job", params=KNOB)
    shown = told(reply)
    assert reply.status_code == 200 and "jobbing-shop" in shown and "not here" not in shown
    assert "quicker from 6 pieces" in shown  # as turn-radius estimate says


def test_the_apprentice_chooses_first(page):
    reply = page.get("/learn", params={"seed": "3", "n": "1"})
    assert "Which would you choose" in told(reply) and "form tool" in told(reply).lower()
    sure = re.search(r'name="sure" value="([^"]*)"', reply.text)[1]
    given = {"sure": sure, "seed": "3", "n": "1", "choice": "radius rod"}
    judged = page.post("/learn/choose", data=given, headers={"origin": OWN})
    assert judged.status_code == 200 and "The program takes" in told(judged) and "Your score" in told(judged)
    again = page.get(str(judged.url))
    assert told(again) == told(judged)  # a reload counts nothing twice
    assert page.post("/learn/choose", data=given | {"choice": "dynamite"}, headers={"origin": OWN}).status_code == 400


def test_a_choice_where_nothing_stands_is_judged_too(page):
    ladders = ((seed, learning._ladder(seed)) for seed in range(20))
    seed, number = next((s, n) for s, ladder in ladders for n, one in enumerate(ladder, 1) if one.right is None)
    reply = page.get("/learn/choose", params={"seed": seed, "n": number, "choice": "freehand"})
    assert reply.status_code == 200 and "The program takes nothing, not freehand" in told(reply)


def test_what_goes_wrong_shows_the_picture_before_the_answer(page):
    job = {"radius": "R6 ±0.1", "shape": "dome", "diameter": "10 mm", "method": "freehand"}
    reply = page.get("/learn/wrong", params=job)
    first = reply.text.index('<img src="/drawing/wrong.svg') if '<img src="/drawing/wrong.svg' in reply.text else 0
    assert first and first < reply.text.index("<details>")
    picture = page.get("/drawing/wrong.svg", params=job | {"which": "0"})
    title = html.unescape(re.search(r"<strong>(.*?)\.</strong>", reply.text)[1])
    assert picture.status_code == 200 and title not in picture.text


def test_the_dot_moves_over_the_map_and_names_the_method(page):
    one = page.get("/learn/map", params=KNOB | {"quantity": "1"})
    many = page.get("/learn/map", params=KNOB | {"quantity": "100"})
    assert "12 off" not in told(one) and "freehand" in told(one).lower() and "form tool" in told(many).lower()
    pictures = {page.get("/drawing/map.svg", params=KNOB | {"quantity": n}).text for n in ("1", "100")}
    assert len(pictures) == 2 and all("<circle" in text for text in pictures)


def test_what_slides_moves_the_callout_and_names_what_turned(page):
    fields = form(page.get("/learn/map", params=KNOB), "/learn/map")
    assert fields["at.quantity"] == "12" and fields["slide.quantity"] == "8"  # 1 2 3 4 5 6 8 10 12

    def moved(**changed):
        reply = page.get("/learn/map", params=fields | changed)
        return dict(reply.url.params), told(reply)

    slid, words = moved(**{"slide.quantity": "0"})
    assert slid["quantity"] == "1" and slid["radius"] == KNOB["radius"] and "Freehand in place of form tool" in words
    typed, words = moved(**{"at.tolerance": ".03"})
    assert typed["radius"] == "R6 mm ±.03 mm" and "(form-tool.not-proved)" in words
    wide, words = moved(**{"slide.radius": "14"})  # 20 mm: the edge is wider than the shop's widest blank
    assert wide["radius"] == "R20 mm ±0.1 mm" and "(form-tool.edge-wider-than-blank)" in words
    still, words = moved(**{"at.skill": "apprentice"})
    assert still["skill"] == "apprentice" and "Still form tool." in words
    both, _ = moved(**{"slide.quantity": "0", "at.quantity": "50"})
    assert both["quantity"] == "1"  # the slider was moved


def test_what_turned_stays_told_while_more_is_moved(page):
    one = page.get(
        "/learn/map", params=form(page.get("/learn/map", params=KNOB), "/learn/map") | {"slide.quantity": "1"}
    )
    two = page.get("/learn/map", params=form(one, "/learn/map") | {"slide.quantity": "0"})
    assert "Freehand in place of form tool" in told(one) and "Freehand in place of form tool" in told(two)


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_a_slider_stops_only_where_the_work_can_be_turned(page, units):
    job = KNOB | ({} if units == "mm" else {"radius": "R.25 ±.005", "diameter": "1.5 in"})
    stops = re.search(r'data-moves="f-at.radius" data-stops="([^"]*)"', page.get("/learn/map", params=job).text)[1]
    assert stops.split("|")[-1] == ("20 mm" if units == "mm" else "0.75 in")  # a corner is no larger than half the bar


def test_the_map_is_the_command_s_own(page):
    line = html.unescape(re.search(r"<code>(.*?)</code>", page.get("/learn/map", params=KNOB).text)[1])
    assert "form tool" in run(*shlex.split(line)[1:]).out


def test_every_word_opens(page):
    assert "A tool ground to the opposite form" in told(page.get("/word", params={"name": "form tool"}))
    assert page.get("/word", params={"name": "<b>"}).status_code == 400
    for name, term in glossary.terms().items():
        assert told(page.get(words_in.address(name))).count(term.means) == 1


def test_a_word_of_the_trade_is_a_link_with_its_meaning_where_it_is_said_first(page):
    reply = page.get("/lathe/answer", params=KNOB)
    linked = re.findall(r'<a class="word" href="(/word/[^"]*)" title="([^"]*)">([^<]*)</a>', reply.text)
    assert ("/word/chuck", html.escape(glossary.find("chuck").means), "chuck key") in linked
    assert len({address for address, _, _ in linked}) == len(linked) > 4
    for address, means, _ in linked:
        assert html.unescape(means) in told(page.get(address))


def test_words_are_found_in_any_sentence_and_change_none():
    said = 'R6 <b>& the chuck\'s key</b>: hone it, radius rod or rod gear, "form tools".'
    assert "".join(text for text, _ in glossary.in_parts(said)) == said
    assert [term.name for _, term in glossary.in_parts(said) if term] == [
        "chuck",
        "hone",
        "radius rod",
        "radius rod",
        "form tool",
    ]
    shown = str(words_in.Words()(said))
    assert "<b>" not in shown and html.unescape(re.sub("<[^>]*>", "", shown)) == said and shown.count("<a ") == 4


def test_what_a_shop_can_do(page):
    reply = page.get("/shop", params={"shop": "bench-shop"})
    assert "Radii that each method turns" in told(reply) and "swings 180 mm over the bed" in told(reply)


def test_a_shop_file_out_of_the_form(page, tmp_path):
    reply = page.get("/shop/new")
    fields = form(reply, "/shop/new") | {"called": "My lathe", "like": "bench-shop", "hourly_rate": "55"}
    bad = page.post("/shop/new", data=fields | {"hourly_rate": "lots", "called": "other"}, headers={"origin": OWN})
    assert bad.status_code == 400 and "hourly" in told(bad) and not list((tmp_path / "config").rglob("other.toml"))
    made = page.post("/shop/new", data=fields, headers={"origin": OWN})
    assert made.status_code == 200 and "What my-lathe can do" in told(made)
    path = next((tmp_path / "config").rglob("my-lathe.toml"))
    assert 'like = "bench-shop"' in path.read_text() and "hourly_rate = 55" in path.read_text()
    again = page.post("/shop/new", data=fields | {"hourly_rate": "1"}, headers={"origin": OWN})
    assert again.status_code == 400 and "hourly_rate = 55" in path.read_text()
    used = page.post("/shop/use", data={"sure": fields["sure"], "shop": "my-lathe"}, headers={"origin": OWN})
    assert "(counts)" in told(used) or "my-lathe" in (tmp_path / "config" / "turn-radius" / "settings.toml").read_text()


@pytest.mark.parametrize("name", ["../x", "/etc/x", "a b/c", "", "x.toml", "ä"])
def test_no_name_of_a_shop_leads_elsewhere(page, name, tmp_path):
    fields = form(page.get("/shop/new"), "/shop/new") | {"called": name, "like": "bench-shop"}
    assert page.post("/shop/new", data=fields, headers={"origin": OWN}).status_code == 400
    assert not list(tmp_path.rglob("*.toml"))


def test_a_figure_that_is_ten_times_off_is_asked_after(page, tmp_path):
    shown = page.get("/lathe/done", params=KNOB | {"began": "1", "good": "2", "ended": "3"})
    fields = form(shown, "/lathe/done") | {"setup": "4000"}
    asked = page.post("/lathe/done", data=fields, headers={"origin": OWN})
    assert asked.status_code == 400 and "It is right: keep it" in told(asked) and 'value="4000' in asked.text
    assert not (tmp_path / "records.sqlite3").exists()
    assert page.post("/lathe/done", data=fields | {"yes": "yes"}, headers={"origin": OWN}).status_code == 200
    assert (tmp_path / "records.sqlite3").exists()


@pytest.mark.parametrize(
    ("text", "written"),
    [("340", "340"), (".5", "0.5"), ("3/8", '"3/8"'), ("340 mm", '"340 mm"'), ("yes", "true"), ("45, 90 , 180", "[45, 90, 180]"),
     ("[45, 90]", "[45, 90]"), ('a"b', '"a\\"b"'), ("007", '"007"')],
)  # fmt: skip
def test_what_is_typed_becomes_a_value_of_a_shop_file(text, written):
    assert shops._value(text) == written


# A corner of R6 needs 12 mm of bar; an arc is no wider than its circle; a dome is no smaller across than its own circle:
# plain geometry, 2R.
@pytest.mark.parametrize(
    ("name", "shape", "stated", "low", "high"),
    [("diameter", ("corner", "convex"), {}, 12.0, None), ("width", ("outside diameter", "concave"), {"diameter": 60.0}, None, 12.0),
     ("diameter", ("end", "convex"), {}, None, 12.0), ("width", ("end", "concave"), {"diameter": 40.0}, None, 12.0),
     ("shoulder_height", ("corner", "concave"), {"diameter": 20.0}, 6.0, None)],
)  # fmt: skip
def test_between_what_a_size_may_lie(name, shape, stated, low, high):
    location, form_ = shape
    found = allowed.allowed(name, stated, radius=6.0, location=location, form=form_, largest=300.0)
    assert [one if one is None else round(one, 6) for one in found] == [low, high]
