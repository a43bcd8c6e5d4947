"""The page through Starlette's own client: every flow of the machinist, what it shares with the command, and what it
refuses."""

import html
import json
import re
import shlex
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import pytest
from command import run

pytest.importorskip("httpx2")
from starlette.testclient import TestClient

from advisor.answer import advice as advising
from advisor.answer import wording
from advisor.page import guard, lathe, serve, steps
from advisor.page import state as states
from advisor.page.app import Page

OWN = "http://127.0.0.1:8473"
ROOT = Path(__file__).parent.parent.parent
CORNER = {"radius": "R6 ±0.1", "shape": "rounded corner", "diameter": "40 mm"}
KNOB = CORNER | {"quantity": "12"}


@pytest.fixture
def records(tmp_path):
    return tmp_path / "records.sqlite3"


@pytest.fixture
def page(records, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    app = Page(hosts=["127.0.0.1:8473"], records=str(records))
    return TestClient(app, base_url=OWN, follow_redirects=False)


def told(reply):
    """The words of a page."""
    text = re.sub(r"<(script|style).*?</\1>", " ", reply.text, flags=re.S)
    text = re.sub(r'<a class="word"[^>]*>(.*?)</a>', r"\1", text)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def followed(page, address):
    """The screen that an address leads to, and its own address."""
    for _ in range(6):
        reply = page.get(address)
        if reply.status_code != 303:
            return reply, address
        address = reply.headers["location"]
    raise AssertionError("leads round in a circle")


def links(reply):
    return [html.unescape(one) for one in re.findall(r'href="(/[^"]*)"', reply.text)]


def link(reply, words):
    """The address behind some words."""
    found = re.findall(r'<a [^>]*href="([^"]*)"[^>]*>(.*?)</a>', reply.text, re.S)
    return next(
        html.unescape(where) for where, inside in found if words in re.sub(r"<[^>]+>", "", html.unescape(inside))
    )


def form(reply, path):
    """The fields of the form that goes to a path: name -> value."""
    inside = re.search(rf'<form action="{path}".*?</form>', reply.text, re.S)[0]
    found = {}
    for tag in re.findall(r"<input [^>]*>", inside):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and ("radio" not in tag or "checked" in tag):
            found[html.unescape(name[1])] = html.unescape(value[1]) if value else ""
    for select in re.findall(r"<select.*?</select>", inside, re.S):
        chosen = re.search(r'<option value="([^"]*)" selected', select)
        found[re.search(r'name="([^"]*)"', select)[1]] = html.unescape(chosen[1]) if chosen else ""
    return found


# ---- the machinist


def test_from_the_drawing_to_the_recorded_job(page, records):
    first = page.get("/")
    assert first.status_code == 200 and len(first.content) < 5000
    where = page.get("/lathe/where", params={"radius": "R6 ±0.1"})
    assert "5.9 mm to 6.1 mm" in told(where) and "the tolerance written at the radius" in told(where)
    size = page.get(link(where, "rounded corner"))
    assert "12 mm to 340 mm" in told(size)  # R6 on a corner needs a bar of 12 mm at least
    sent = form(size, "/lathe/size") | {"diameter": "40 mm", "quantity": "12"}
    reply, address = followed(page, states.join("/lathe/size", sent))
    asked = []
    while urlsplit(address).path == "/lathe/ask":
        asked.append(re.search(r"<h1>(.*?)</h1>", reply.text)[1])
        reply, address = followed(page, link(reply, "Don't know"))
        assert len(asked) < 12
    assert len(asked) == len(set(asked)) >= 1
    assert urlsplit(address).path == "/lathe/answer" and "form tool" in told(reply).lower()
    reply, address = followed(page, link(reply, "At the lathe, step by step"))
    assert "Eye protection on" in told(reply)
    reply, address = followed(page, link(reply, "Begin"))
    seen = []
    while "Step" in told(reply) and urlsplit(address).path == "/lathe/do":
        seen.append(re.search(r"<h1>.*?</h1>", reply.text, re.S)[0])
        reply, address = followed(
            page, link(reply, "Done: next step" if "Done: next step" in reply.text else "First piece")
        )
    assert len(seen) == 13
    assert urlsplit(address).path == "/lathe/first"
    leaf, _ = followed(page, link(reply, "Radius gauge"))
    sent = form(leaf, "/lathe/first") | {"light": "middle"}
    corrected = page.get("/lathe/first", params=sent)
    assert "Hone the edge" in told(corrected)
    reply, address = followed(page, link(corrected, "It is good"))
    reply, address = followed(page, link(reply, "pieces are done"))
    sent = form(reply, "/lathe/done") | {"setup": "41", "minutes": "30"}
    kept = page.post("/lathe/done", data=sent, headers={"origin": OWN})
    assert kept.status_code == 303
    assert page.post("/lathe/done", data=sent, headers={"origin": OWN}).headers["location"] == kept.headers["location"]
    shown = told(page.get(kept.headers["location"]))
    assert "41 min" in shown and "30 min" in shown
    jobs = json.loads(run("records", "--records", str(records), "--json").out)
    jobs = jobs["jobs"] if isinstance(jobs, dict) else jobs
    assert len(jobs) == 1 and jobs[0]["method"] == "form tool"


@pytest.mark.parametrize(
    "job",
    [
        KNOB,
        {"radius": "R40 ±0.2", "shape": "dome", "diameter": "40 mm"},
        {"radius": "R.250 ±.005", "shape": "groove", "diameter": "1.5 in", "width": ".4 in", "quantity": "3"},
        {"radius": "R4 ±0.1", "shape": "fillet", "diameter": "30 mm", "quantity": "2"},
    ],
    ids=lambda job: job["shape"],
)
def test_the_answer_is_the_command_s_own(page, job):
    reply = page.get("/lathe/answer", params=job)
    line = html.unescape(re.search(r"<code>(.*?)</code>", reply.text)[1])
    words = shlex.split(line)
    assert words[:2] == ["turn-radius", "advise"]
    spoken = json.loads(run(*words[1:], "--json").out)
    assert spoken["recommended"] in told(reply)
    screen = " ".join(run(*words[1:]).out.split())
    shop = states.shop_called()
    advice = states.answer(states.state_of(job.items()), states.Records())
    main, aside = lathe.numbers_of(advice.best, advice)
    assert shop.name in told(reply) and main
    for row in [*main, *aside]:
        assert f"{row.label} " in told(reply) and row.number in told(reply)
        if row.dial:
            assert row.dial in told(reply)
    assert " ".join(wording.headline(advice.best, advice)[0].split()) in screen


def test_what_is_wrong_is_asked_again_where_it_stands(page):
    reply = page.get("/lathe/where", params={"radius": "six"})
    assert reply.status_code == 400 and 'value="six"' in reply.text and 'role="alert"' in reply.text
    reply = page.get("/lathe/size", params=CORNER | {"diameter": "forty", "asked": "size"})
    assert reply.status_code == 400 and 'aria-invalid="true"' in reply.text and 'value="forty"' in reply.text
    reply = page.get("/lathe/size", params=CORNER | {"diameter": "10 mm", "asked": "size"})
    assert reply.status_code == 400 and "R6" in told(reply) and 'value="10 mm"' in reply.text
    reply = page.get("/lathe/answer", params=CORNER | {"material": "unobtainium"})
    assert reply.status_code == 400 and "unobtainium" in told(reply) and "Try again" in reply.text


def test_a_step_off_is_ticked_row_by_row_and_kept(page):
    job = {"radius": "R100 ±1", "shape": "crown", "diameter": "60 mm", "width": "40 mm", "from_end": "10 mm"}
    job |= {"method": "freehand"}
    reply, address = followed(page, states.join("/lathe/do", job | {"step": "1"}))
    found = None
    for number in range(1, 20):
        one, address = followed(
            page, states.join("/lathe/do", dict(parse_qsl(urlsplit(address).query)) | {"step": str(number)})
        )
        if 'name="tick"' in one.text:
            found = one, address
    assert found, "no step is worked by a table"
    reply, address = found
    where = states.join("/lathe/do", form(reply, "/lathe/do") | {"tick": "2"})
    ticked, address = followed(page, where.split("#")[0])
    assert 'value="2" class="tick" aria-pressed="true"' in ticked.text
    assert re.search(r"ticked=\d-2", address)
    assert 'aria-pressed="true"' in page.get(address.split("#")[0]).text
    again, address = followed(page, states.join("/lathe/do", form(ticked, "/lathe/do") | {"tick": "2"}))
    assert 'aria-pressed="true"' not in again.text


def test_time_is_taken_without_breaks(page):
    from advisor.page.bench import _timed

    state = states.state_of([("began", "1000"), ("good", "4000"), ("ended", "10600"), ("away", "600")])
    assert _timed(state, 99999) == {"setup": 50, "minutes": 100}
    resting = states.state_of([("began", "1000"), ("good", "4000"), ("left", "10000"), ("away", "0")])
    assert _timed(resting, 99999)["minutes"] == 100


@pytest.mark.parametrize("path", ["/drawing/work.svg", "/drawing/setup.svg"])
def test_drawings_are_drawn_with_what_a_step_is_about(page, path):
    plain = page.get(path, params=KNOB)
    lit = page.get(path, params=KNOB | {"lit": "11"})
    assert plain.status_code == lit.status_code == 200 and plain.headers["content-type"] == "image/svg+xml"
    assert "<script" not in plain.text and "style=" not in plain.text
    assert plain.text != lit.text


def test_every_step_has_its_moment_and_every_moment_of_a_caution_comes():
    rules = advising.rule_base().rules
    done = {moment for rule in rules if rule.kind == "step" for moment in rule.at}
    assert all(len(rule.at) == 1 for rule in rules if rule.kind == "step")
    for rule in rules:
        if rule.kind != "step" and rule.at:
            assert set(rule.at) <= done, rule.id
            assert any(effect.kind == "cautions" for effect in rule.effects), rule.id


@pytest.mark.parametrize("method", ["form tool", "freehand", "pivot attachment", "swung compound"])
def test_every_caution_is_told_somewhere_at_the_lathe(method):
    state = states.state_of((CORNER | {"quantity": "3"}).items())
    advice = states.answer(state, states.Records())
    chosen = advice.methods[method]
    made = steps.steps(chosen, advice)
    special, standing = steps.before(chosen, advice)
    shown = {*special, *standing, *(line for step in made for line in step.cautions)}
    from advisor.answer import wording

    assert shown == set(wording.cautions(chosen, advice))
    assert [step.says for step in made] == [wording.spoken(f, advice) for f in chosen.steps]


def test_the_page_never_takes_a_path(page):
    for name in ("../cases/shops/training-shop.toml", "/etc/passwd", "./x.toml", "..\\x"):
        reply = page.get("/lathe/answer", params=KNOB | {"shop": name})
        assert reply.status_code == 400 and "is not there" in told(reply)
    for path in ("/static/../app.py", "/static/%2e%2e/app.py", "/drawing/shape/..%2f..%2fx.svg"):
        assert page.get(path).status_code == 404


# ---- what is refused


HOSTILE = {
    "another name": ({"host": "evil.example"}, 421),
    "another name with our port": ({"host": "evil.example:8473"}, 421),
    "another port": ({"host": "127.0.0.1:80"}, 421),
    "another origin": ({"origin": "http://evil.example"}, 403),
    "no origin of its own": ({"origin": "null"}, 403),
    "a picture on another site": ({"sec-fetch-site": "cross-site", "sec-fetch-dest": "image"}, 403),
    "a frame on another site": ({"sec-fetch-site": "cross-site", "sec-fetch-dest": "iframe"}, 403),
    "a script of another port": ({"sec-fetch-site": "same-site", "sec-fetch-dest": "empty"}, 403),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_another_site_gets_no_answer(page, name):
    headers, status = HOSTILE[name]
    for path in ("/", "/lathe/answer", "/static/page.css"):
        reply = page.get(path, headers=headers)
        assert reply.status_code == status and "Traceback" not in reply.text


def test_a_link_from_elsewhere_may_be_followed(page):
    assert page.get("/", headers={"sec-fetch-site": "cross-site", "sec-fetch-dest": "document"}).status_code == 200


@pytest.mark.parametrize(
    ("headers", "sure", "status"),
    [({}, True, 403), ({"origin": "http://evil.example"}, True, 403), ({"origin": OWN}, False, 403),
     ({"origin": OWN, "sec-fetch-site": "cross-site"}, True, 403)],
)  # fmt: skip
def test_nothing_is_written_for_anybody_else(page, records, headers, sure, status):
    shown = page.get("/lathe/done", params=KNOB | {"began": "1", "good": "2", "ended": "3"})
    sent = form(shown, "/lathe/done") | {"setup": "4"}
    if not sure:
        sent["sure"] = "0" * 64
    assert page.post("/lathe/done", data=sent, headers=headers).status_code == status
    assert not records.exists()


def test_a_form_of_a_server_that_is_gone_writes_nothing(page, records):
    shown = page.get("/lathe/done", params=KNOB | {"began": "1", "good": "2", "ended": "3"})
    other = TestClient(Page(hosts=["127.0.0.1:8473"], records=str(records)), base_url=OWN)
    reply = other.post("/lathe/done", data=form(shown, "/lathe/done"), headers={"origin": OWN})
    assert reply.status_code == 403 and "Nothing was changed" in told(reply) and not records.exists()


def test_too_much_is_refused(page):
    assert page.get("/", params={"x": "y" * guard.LONGEST_ADDRESS}).status_code == 414
    assert page.get("/lathe/where", params={"radius": "R" * 500}).status_code == 400
    big = {"sure": "x" * (guard.FORM_BYTES + 1)}
    assert page.post("/lathe/done", data=big, headers={"origin": OWN}).status_code == 413
    pieces = (b"x" * 10_000 for _ in range(20))
    reply = page.post(
        "/lathe/done", content=pieces, headers={"origin": OWN, "content-type": "application/x-www-form-urlencoded"}
    )
    assert reply.status_code == 413
    for method in ("PUT", "DELETE", "TRACE", "OPTIONS", "CONNECT"):
        assert page.request(method, "/").status_code == 405
    assert page.post("/lathe/answer", data={"a": "b"}, headers={"origin": OWN}).status_code == 405


def test_a_mistake_of_ours_shows_no_traceback(page, monkeypatch):
    monkeypatch.setattr(lathe, "answer", lambda *args, **more: 1 / 0)
    page = TestClient(page.app, base_url=OWN, raise_server_exceptions=False)
    reply = page.get("/lathe/answer", params=KNOB)
    assert reply.status_code == 500 and "a fault in the program itself" in told(reply) and "Traceback" not in reply.text


def test_every_answer_has_the_headers_that_keep_others_out(page):
    for path in ("/", "/static/page.js", "/nowhere", "/lathe/answer"):
        headers = page.get(path).headers
        assert (
            "default-src 'none'" in headers["content-security-policy"]
            and "unsafe" not in headers["content-security-policy"]
        )
        assert headers["x-content-type-options"] == "nosniff" and headers["referrer-policy"] == "same-origin"


def test_nothing_comes_from_elsewhere():
    for path in (ROOT / "advisor" / "page").rglob("*.*"):
        if path.suffix in (".html", ".css", ".js", ".svg"):
            text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
            assert not re.search(r"https?:|//[a-z]+\.", text), path.name
            assert "style=" not in text and "onclick" not in text and "<style" not in text, path.name


def test_what_is_typed_comes_back_as_words_only(page):
    bad = '"><script>alert(1)</script>'
    for path in ("/lathe/where", "/lathe/answer", "/lathe/size", "/lathe/first", "/lathe/do"):
        reply = page.get(path, params={"radius": bad, "shape": bad, "method": bad, "way": bad})
        assert "<script>alert" not in reply.text


def test_a_token_is_asked_for_by_another_address(records):
    app = Page(hosts=["192.168.1.5:8473"], records=str(records), token="secret")
    client = TestClient(app, base_url="http://192.168.1.5:8473", follow_redirects=False)
    assert client.get("/").status_code == 401
    assert client.get("/?token=wrong").status_code == 401
    entered = client.get("/?token=secret")
    assert entered.status_code == 303 and "SameSite=Strict" in entered.headers["set-cookie"]
    assert "HttpOnly" in entered.headers["set-cookie"] and "token" not in entered.headers["location"]
    assert client.get("/").status_code == 200


def test_only_this_machine_is_listened_on_unless_it_is_asked_for():
    place = serve.Place(serve.HOST, 0)
    try:
        assert place.token is None and place.socket.getsockname()[0] == "127.0.0.1"
    finally:
        place.socket.close()
    place = serve.Place("0.0.0.0", 0)
    try:
        assert len(place.token) > 20
    finally:
        place.socket.close()


def test_many_at_once_are_all_answered_the_same(page):
    addresses = [states.join("/lathe/answer", KNOB | {"quantity": str(1 + n % 7)}) for n in range(60)]
    alone = {address: page.get(address).text for address in addresses[:7]}
    with ThreadPoolExecutor(8) as at_once:
        for address, reply in zip(addresses, at_once.map(page.get, addresses), strict=True):
            strip = lambda text: re.sub(r'value="[0-9a-f]{16,}"', "", text)  # noqa: E731
            assert reply.status_code == 200 and strip(reply.text) == strip(alone[address])


def test_a_real_server_answers_or_refuses_every_one_of_many(records, pytestconfig):
    """Of sixty at once, and of a thousand where there is time: pytest --hypothesis-profile explore."""
    import threading
    from http.client import HTTPConnection

    many = 1000 if pytestconfig.getoption("--hypothesis-profile") == "explore" else 60
    place = serve.Place(serve.HOST, 0)
    server = serve.Running(Page(hosts=place.names, records=str(records)), place)
    found = []

    def ask(n):
        asked = HTTPConnection(place.host, place.port, timeout=60)
        asked.request("GET", states.join("/lathe/answer", KNOB | {"quantity": str(1 + n % 9)}))
        found.append(asked.getresponse().status)
        asked.close()

    try:
        threads = [threading.Thread(target=ask, args=(n,)) for n in range(many)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        server.stop()
    assert len(found) == many and set(found) <= {200, 503} and found.count(200) >= 20


def test_a_request_that_dawdles_is_given_up(records, monkeypatch):
    import socket

    monkeypatch.setattr(serve, "HEADER_SECONDS", 0.3)
    monkeypatch.setattr(guard, "FORM_SECONDS", 0.3)
    place = serve.Place(serve.HOST, 0)
    server = serve.Running(Page(hosts=place.names, records=str(records)), place)
    head = f"POST /lathe/done HTTP/1.1\r\nHost: {place.names[0]}\r\nOrigin: http://{place.names[0]}\r\nContent-Length: 99\r\n"
    try:
        for sent, told in (
            ("GET / HTTP/1.1\r\nHo", b""),
            (head + "Content-Type: application/x-www-form-urlencoded\r\n\r\na", b"HTTP/1.1 408"),
        ):
            with socket.create_connection((place.host, place.port)) as asked:
                asked.settimeout(20)
                asked.sendall(sent.encode())
                assert asked.recv(12) == told
    finally:
        server.stop()


def test_records_of_two_pages_and_a_terminal_are_all_there(page, records):
    shown = page.get("/lathe/done", params=KNOB | {"began": "1", "good": "2", "ended": "3"})
    sent = form(shown, "/lathe/done") | {"setup": "4"}

    def keep(n):
        return page.post("/lathe/done", data=sent | {"once": f"{n:016x}"}, headers={"origin": OWN}).status_code

    def say(n):
        line = ["R6 ±0.1", "--shape", "rounded corner", "--diameter", "40 mm", "--method", "freehand", "--setup", "3"]
        return run("record", *line, "--records", str(records)).status

    with ThreadPoolExecutor(6) as at_once:
        assert set(at_once.map(keep, range(6))) == {303}
    assert say(0) == 0
    jobs = json.loads(run("records", "--records", str(records), "--json").out)
    assert len(jobs["jobs"] if isinstance(jobs, dict) else jobs) == 7


def test_a_page_starts_and_says_so():
    ran = run("page", "--check")
    assert ran.status == 0 and "answers 200" in ran.out


# ---- by its number


def kept(page, job):
    """The answer to a job after it was kept."""
    fields = form(page.get("/lathe/answer", params=job), "/lathe/keep")
    return followed(page, page.post("/lathe/keep", data=fields, headers={"origin": OWN}).headers["location"])


def test_an_answer_is_kept_and_found_by_its_number_here_and_on_a_command_line(page, records, tmp_path):
    words = ["R6 ±0.1", "--shape", "rounded corner", "--diameter", "40 mm", "--quantity", "12"]
    reply, _ = kept(page, KNOB)
    assert "Job 1 " in told(reply)
    assert "Job 1." in run("advise", *words, "--keep", "--records", str(records)).out  # the very same job
    reply, _ = kept(page, KNOB | {"method": "freehand"})
    assert "Job 2 " in told(reply) and "Keep it by a number" not in told(reply)
    for number, method in (("1", "form tool"), ("2", "freehand")):
        found, address = followed(page, states.join("/lathe/job", {"number": number}))
        assert f"Job {number} " in told(found) and f"<h1>{method}" in re.sub(r"<h1>.*?</span>", "<h1>", found.text)
        sheet = page.get(link(found, "On paper"))
        assert sheet.status_code == 200 and sheet.content.startswith(b"%PDF")
        assert f"job={number}" in link(found, "At the lathe, step by step")
    done = run("record", "2", "--setup", "11", "--minutes", "30", "--records", str(records))
    assert done.status == 0, done.complaint
    assert json.loads(run("records", "--records", str(records), "--json").out)[0]["method"] == "freehand"
    assert run("correct", "1", "--light", "middle", "--records", str(records)).status == 0
    assert run("sheet", "1", "-o", str(tmp_path / "sheet.pdf"), "--records", str(records)).status == 0


@pytest.mark.parametrize("case", ["keyed-collar", "davit-ball", "wide-hub"])
def test_a_case_that_was_kept_on_a_command_line_is_found_on_the_page(page, records, case):
    kept(page, KNOB)  # there is a file of records
    said = run("advise", case, "--keep", "--records", str(records))
    assert "Job 2." in said.out
    found, _ = followed(page, "/lathe/job?number=2")
    assert found.status_code == 200 and "Job 2 " in told(found)
    screen = " ".join(said.out.split())
    assert re.search(r'class="headline first">(.*?)</p>', found.text)[1] in html.escape(screen)


def test_a_changed_job_has_not_the_number_of_another(page):
    kept(page, KNOB)
    assert "Job 1 " in told(page.get("/lathe/answer", params=KNOB | {"job": "1"}))
    for changed in ({"quantity": "13"}, {"method": "freehand"}, {"job": "2"}, {"job": "x"}):
        shown = told(page.get("/lathe/answer", params=KNOB | {"job": "1"} | changed))
        assert "Job 1 " not in shown and "Keep it by a number" in shown


@pytest.mark.parametrize("number", ["7", "0", "-1", "seven", "9" * 12, "../1"])
def test_a_number_of_no_job_is_asked_again(page, number):
    reply = page.get("/lathe/job", params={"number": number})
    assert reply.status_code == 400 and number[:9] in told(reply) and "Traceback" not in reply.text


def test_no_other_site_keeps_a_job(page, records):
    fields = form(page.get("/lathe/answer", params=KNOB), "/lathe/keep")
    assert page.post("/lathe/keep", data=fields, headers={"origin": "http://evil.example"}).status_code == 403
    assert page.post("/lathe/keep", data=fields | {"sure": "x"}, headers={"origin": OWN}).status_code == 403
    assert page.get("/lathe/keep", params=KNOB).status_code == 405 and not records.exists()
