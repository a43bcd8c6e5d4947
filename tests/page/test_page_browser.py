"""The page in a real browser without a window: by keyboard, without script, narrow and wide, reloaded, and with the server
killed in the middle. Skipped where there is no Playwright or no Chromium: .ci/browser installs both."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
from contextlib import contextmanager
from urllib.parse import urlencode, urlsplit

import pytest

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
try:
    from axe_playwright_python.sync_playwright import Axe
    from playwright.sync_api import sync_playwright
except ImportError:
    sync_playwright = None
if not (CHROMIUM and sync_playwright):
    pytest.skip("no Playwright or no Chromium here; .ci/browser installs both", allow_module_level=True)

# What needs no graphics card and asks for nothing of its own accord.
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip
WIDTHS = {"phone": (320, 640), "tablet": (820, 1180), "desk": (1280, 800)}
KNOB = {"radius": "R6 ±0.1", "shape": "rounded corner", "diameter": "40 mm", "quantity": "12"}
CROWN = {
    "radius": "R100 ±1",
    "shape": "crown",
    "diameter": "60 mm",
    "width": "40 mm",
    "from_end": "10 mm",
    "method": "freehand",
}
DOME = {"radius": "R6 ±0.1", "shape": "dome", "diameter": "10 mm", "method": "freehand"}
NOTHING = {"radius": "R6 ±0.001", "shape": "rounded corner", "diameter": "40 mm"}


def at(path, job=(), **more):
    values = {**dict(job), **more}
    return f"{path}?{urlencode(values)}" if values else path


SCREENS = {
    "first": "/",
    "callout": "/lathe",
    "callout-wrong": at("/lathe/where", radius="six"),
    "where": at("/lathe/where", radius="R6 ±0.1"),
    "size": at("/lathe/size", radius="R6 ±0.1", shape="groove"),
    "size-wrong": at("/lathe/size", KNOB, diameter="forty", asked="size"),
    "ask": at("/lathe/ask", radius="R6 ±0.1", shape="rounded corner", diameter="40 mm"),
    "answer": at("/lathe/answer", KNOB),
    "answer-none": at("/lathe/answer", NOTHING),
    "why": at("/lathe/why", KNOB),
    "before": at("/lathe/do", KNOB, began=1, step=0),
    "step": at("/lathe/do", KNOB, began=1, step=11),
    "step-off": at("/lathe/do", CROWN, began=1, step=5, ticked="5-1.5-2.4-1"),
    "piece": at("/lathe/first", KNOB),
    "piece-measured": at("/lathe/first", KNOB, way="leaf", light="middle"),
    "running": at("/lathe/done", KNOB, began=1000, good=2000),
    "done": at("/lathe/done", KNOB, began=1000, good=4000, ended=9000),
    "list": "/list",
    "job": at("/list/job", KNOB),
    "learn": at("/learn", seed=3, n=1),
    "judged": at("/learn/choose", seed=3, n=1, choice="radius rod"),
    "map": at("/learn/map", KNOB),
    "wrong": at("/learn/wrong", DOME),
    "words": "/word",
    "word": at("/word", name="form tool"),
    "shops": "/shop",
    "shop": at("/shop", shop="bench-shop"),
    "measure": "/shop/measure",
    "new-shop": "/shop/new",
}


class Served:
    """A server of its own in a process of its own."""

    def __init__(self, folder, port=0):
        self.folder, self.port, self.process = folder, port, None
        self.start()

    def start(self):
        kept = {"XDG_CONFIG_HOME": str(self.folder / "config"), "XDG_DATA_HOME": str(self.folder / "data")}
        line = [sys.executable, "-m", "advisor.cli", "page", "--no-browser", "--port", str(self.port)]
        self.process = subprocess.Popen(
            [*line, "--records", str(self.folder / "records.sqlite3")],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=os.environ | kept,
        )  # fmt: skip
        self.address = re.search(r"http://\S+", self.process.stdout.readline())[0].rstrip("/")
        self.port = urlsplit(self.address).port

    def stop(self, how=signal.SIGTERM):
        self.process.send_signal(how)
        self.process.wait(timeout=20)


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    server = Served(tmp_path_factory.mktemp("page"))
    yield server
    server.stop()


@pytest.fixture(scope="module")
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@contextmanager
def opened(chromium, served, size="tablet", **looks):
    """A page of a browser, which notes what it asks for and what goes wrong."""
    wide, high = WIDTHS[size]
    context = chromium.new_context(viewport={"width": wide, "height": high}, **looks)
    page = context.new_page()
    page.set_default_timeout(30_000)
    page.asked, page.faults = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("pageerror", lambda problem: page.faults.append(str(problem)))
    page.on(
        "console",
        lambda told: page.faults.append(told.text) if told.type == "error" and "400" not in told.text else None,
    )
    try:
        yield page
        assert not page.faults
        assert all(url.startswith(served.address) for url in page.asked), page.asked
    finally:
        context.close()


def go(page, served, path):
    page.goto(served.address + path, wait_until="load")


# What a person's thumb has to hit: as wide and high as it is on the screen; words inside a sentence or a table are let off.
TARGETS = """() => [...document.querySelectorAll('a, button, input:not([type=hidden]), select, summary')].filter(e => {
  const box = e.getBoundingClientRect();
  if (!box.width || e.closest('.skip, .word, td, th, details:not([open]) > :not(summary)')) return false;
  const label = e.closest('label'), by = label ? label.getBoundingClientRect() : box;
  return Math.max(box.height, by.height) < 47.5 || Math.max(box.width, by.width) < 47.5;
}).map(e => e.outerHTML.slice(0, 120))"""
NUMBERS = """() => [...document.querySelectorAll('.numbers b, .numbers strong, .set td')].map(
  e => parseFloat(getComputedStyle(e).fontSize)).filter(size => size < 28)"""
# Contrast of the numbers that are set against what lies behind them, by WCAG 2.
CONTRAST = """() => {
  const parts = text => text.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => [r, g, b].map(v => (v /= 255) <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const behind = e => { for (; e; e = e.parentElement) { const c = parts(getComputedStyle(e).backgroundColor);
    if (c.length < 4 || c[3] > 0) return c; } return [255, 255, 255]; };
  return [...document.querySelectorAll('.numbers b, .numbers strong, .set td, .step h1, .headline')].map(e => {
    const a = light(parts(getComputedStyle(e).color)), b = light(behind(e));
    return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05); }).filter(ratio => ratio < 7);
}"""


# axe-core lies in the package axe-playwright-python, so that nothing is fetched while the tests run.
AXE = """async () => (await axe.run({resultTypes: ["violations"], preload: false,
  runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]}))
  .violations.map(one => [one.id, ...one.nodes.slice(0, 3).map(node => node.html.slice(0, 100))])"""
UNSEEN = "[...document.images].filter(i => !i.complete || !i.naturalWidth).map(i => i.src)"
SIZES = WIDTHS | {"tablet at twice the size": (410, 590)}


@pytest.mark.parametrize("part", ["/lathe", "/l", "/"])
def test_every_screen_can_be_read_and_hit(chromium, served, part):
    """Each screen is opened once and looked at in every width; what axe-core finds, in the narrowest, and
    in the widest where that sets things side by side."""
    here = {name: path for name, path in SCREENS.items() if part_of(path) == part}
    assert here
    with opened(chromium, served, "phone") as page:
        for name, path in here.items():
            go(page, served, path)
            looked_at(page, name)


def looked_at(page, name):
    """Look at a screen in every width."""
    page.evaluate(Axe().axe_script)
    assert page.evaluate(UNSEEN) == [], name
    assert page.evaluate(CONTRAST) == [], name
    for size, (wide, high) in SIZES.items():
        page.set_viewport_size({"width": wide, "height": high})
        assert page.evaluate("document.documentElement.scrollWidth") <= wide, (name, size)
        assert page.evaluate(TARGETS) == [], (name, size)
        assert page.evaluate(NUMBERS) == [], (name, size)
        if size == "phone" or size == "desk" and page.locator(".beside, .dots").count():
            assert page.evaluate(AXE) == [], (name, size)
    page.set_viewport_size(dict(zip(("width", "height"), WIDTHS["phone"])))


def part_of(path):
    return next(part for part in ("/lathe", "/l", "/") if path.startswith(part))


def test_by_keyboard_alone_from_the_drawing_to_the_steps(chromium, served):
    with opened(chromium, served) as page:
        go(page, served, "/")

        def tab_to(words):
            for _ in range(60):
                page.keyboard.press("Tab")
                told = page.evaluate(
                    "(document.activeElement.labels?.[0]?.textContent || document.activeElement.textContent).trim()"
                )
                if words in told:
                    return
            raise AssertionError(f"{words} cannot be reached by Tab")

        tab_to("As it stands there")
        page.keyboard.type("R6 ±0.1")
        page.keyboard.press("Enter")
        page.wait_for_url("**/lathe/where**")
        tab_to("rounded corner")
        page.keyboard.press("Enter")
        page.wait_for_url("**/lathe/size**")
        tab_to("Diameter")
        page.keyboard.type("40 mm")
        tab_to("Pieces")
        page.keyboard.type("12")
        page.keyboard.press("Enter")
        page.wait_for_url(re.compile("/lathe/(ask|answer)"))
        for _ in range(12):
            if "/lathe/answer" in page.url:
                break
            was = page.url
            tab_to("Don't know")
            page.keyboard.press("Enter")
            page.wait_for_url(lambda url, was=was: url != was, wait_until="domcontentloaded")
        assert page.locator("h1").inner_text().strip().lower() == "form tool"
        tab_to("At the lathe, step by step")
        page.keyboard.press("Enter")
        page.wait_for_url("**/lathe/do**")
        tab_to("Begin")
        page.keyboard.press("Enter")
        page.wait_for_url("**step=1**")
        tab_to("Done: next step")
        page.keyboard.press("Enter")
        page.wait_for_url("**step=2**")


def test_the_whole_job_without_script(chromium, served):
    with opened(chromium, served, "phone", java_script_enabled=False) as page:
        go(page, served, "/")
        page.fill("#f-radius", "R100 ±1")
        page.click("text=Go on")
        page.click("strong:text-is('crown')")
        page.fill("#f-diameter", "60 mm")
        page.fill("#f-width", "40 mm")
        page.click("button:has-text('Go on')")
        page.wait_for_url(re.compile("/lathe/(ask|answer)"))
        for _ in range(12):
            if "/lathe/answer" in page.url:
                break
            was = page.url
            if page.locator("input[type=radio][value=expert]").count():
                page.check("input[type=radio][value=expert]")
                page.click("button:has-text('Go on')")
            else:
                page.click("text=Don't know")
            page.wait_for_url(lambda url, was=was: url != was, wait_until="domcontentloaded")
        page.click("text=At the lathe, step by step")
        page.click("text=Begin")
        for _ in range(40):
            if page.locator(".tick").count():
                page.locator(".tick").first.click()
                page.locator('.tick[value="1"][aria-pressed="true"]').wait_for()
            if "/lathe/first" in page.url:
                break
            was = page.url
            page.locator(".steer .go").click()
            page.wait_for_url(lambda url, was=was: url != was, wait_until="domcontentloaded")
        page.click("text=It is good")
        page.click("text=pieces are done")
        page.fill("#f-setup", "20")
        page.fill("#f-minutes", "30")
        page.click("text=Keep it")
        if page.locator("text=It is right: keep it").count():
            page.check("input[name=yes]")
            page.click("button:has-text('Keep it')")
        assert page.locator("h1").inner_text() == "Kept"


def test_a_changed_field_renews_the_answer_and_the_address(chromium, served):
    with opened(chromium, served) as page:
        go(page, served, SCREENS["answer"])
        page.fill("#f-quantity", "1")
        page.locator("h1", has_text="freehand").wait_for()
        page.wait_for_url(re.compile("quantity=1(&|$)"))
        page.reload()
        assert "freehand" in page.locator("h1").inner_text().lower()
        page.fill("#f-material", "nonsense")
        page.wait_for_selector("#answer .wrong")
        page.fill("#f-material", "")
        page.wait_for_selector("#answer .wrong", state="detached")


def test_a_slider_moves_the_figure_the_dot_and_what_is_told(chromium, served):
    with opened(chromium, served, "desk") as page:
        go(page, served, SCREENS["map"])
        slider = page.locator('input[name="slide.quantity"]')
        slider.focus()
        page.keyboard.press("Home")
        assert page.locator('[name="at.quantity"]').input_value() == "1"
        page.locator(".turned", has_text="Freehand in place of form tool").wait_for()
        page.wait_for_url(re.compile("quantity=1&was.quantity=12"))
        assert slider.evaluate("field => field === document.activeElement")
        page.fill('[name="at.quantity"]', "40")
        page.locator(".turned", has_text="Form tool in place of freehand").wait_for()
        assert slider.input_value() == "13"  # 1 2 3 4 5 6 8 10 12 15 20 25 30 40
        page.locator(".map img").evaluate("image => image.decode()")


def test_choosing_and_sliding_without_script(chromium, served):
    with opened(chromium, served, "phone", java_script_enabled=False) as page:
        go(page, served, SCREENS["learn"])
        page.click("button:has-text('radius rod')")
        assert "The program takes the form tool" in page.locator("h1").inner_text()
        page.click("text=Its map")
        page.wait_for_url("**/learn/map**")
        slider = page.locator('input[name="slide.quantity"]')
        slider.focus()
        page.keyboard.press("Home")
        page.click("text=Show it")
        page.wait_for_url(re.compile("[?&]quantity=1&"))
        assert "in place of form tool" in page.locator(".turned").inner_text()


def test_a_word_tells_what_it_means_and_leads_on(chromium, served):
    with opened(chromium, served, "phone") as page:
        go(page, served, SCREENS["answer"])
        page.locator("a.word", has_text="chuck key").focus()
        page.keyboard.press("Enter")
        assert "grips the work on the spindle" in page.locator("#told-word p").inner_text()
        assert "/lathe/answer" in page.url and page.evaluate("document.documentElement.scrollWidth") <= 320
        page.evaluate(Axe().axe_script)
        assert page.evaluate(AXE) == []
        page.keyboard.press("Escape")
        assert not page.locator("#told-word").is_visible()
        page.locator("a.word", has_text="chuck key").click()
        page.click("text=More of it")
        page.wait_for_url("**/word/chuck")
    with opened(chromium, served, "phone", java_script_enabled=False) as page:
        go(page, served, SCREENS["answer"])
        page.locator("a.word", has_text="chuck key").click()
        assert page.locator("h1").inner_text() == "chuck"


def test_rows_are_ticked_without_a_new_page_and_kept_over_a_reload_and_a_killed_server(chromium, tmp_path):
    served = Served(tmp_path)
    try:
        with opened(chromium, served) as page:
            go(page, served, SCREENS["step-off"])
            assert page.locator('.tick[aria-pressed="true"]').count() == 2
            page.evaluate("window.same = 1")
            page.locator(".tick").nth(3).click()
            page.locator('.tick[value="4"][aria-pressed="true"]').wait_for()
            assert page.evaluate("window.same") == 1
            page.wait_for_url(re.compile("ticked=4-1.5-1.5-2.5-4"))
            page.reload()
            assert page.locator('.tick[aria-pressed="true"]').count() == 3
            served.stop(signal.SIGKILL)
            served.start()
            page.reload()
            assert page.locator('.tick[aria-pressed="true"]').count() == 3
            page.click("text=Done: next step")
            assert "Step 6" in page.locator("h1").inner_text()
    finally:
        served.stop()


def test_a_form_from_before_the_server_was_started_again_writes_nothing(chromium, tmp_path):
    served = Served(tmp_path)
    try:
        with opened(chromium, served) as page:
            go(page, served, SCREENS["done"])
            served.stop(signal.SIGKILL)
            served.start()
            page.faults.clear()
            page.click("text=Keep it")
            assert "Nothing was changed" in page.locator("main").inner_text()
            page.faults.clear()
            assert not (tmp_path / "records.sqlite3").exists()
    finally:
        served.stop()


def test_jobs_kept_from_two_tabs_and_a_terminal_at_once_are_all_there(chromium, tmp_path):
    served = Served(tmp_path)
    where = ["--records", str(tmp_path / "records.sqlite3")]
    said = [
        sys.executable,
        "-m",
        "advisor.cli",
        "record",
        "R6 ±0.1",
        "--shape",
        "rounded corner",
        "--diameter",
        "40 mm",
    ]
    said += ["--method", "freehand", "--setup", "3", *where]
    try:
        with opened(chromium, served) as one:
            two = one.context.new_page()
            ran = []
            for minute in (50, 51):
                for tab, pieces in ((one, 30), (two, 20)):
                    go(tab, served, SCREENS["done"])
                    tab.fill("#f-setup", str(minute))
                    tab.fill("#f-pieces", str(pieces))
                ran += [subprocess.Popen(said, stdout=subprocess.DEVNULL) for _ in range(2)] if not ran else []
                for tab in (one, two):  # pressed in both before either is answered
                    tab.evaluate("setTimeout(() => document.querySelector('form.ask').requestSubmit(), 0)")
                for tab in (one, two):
                    tab.wait_for_url("**/lathe/recorded**")
            assert [process.wait(timeout=30) for process in ran] == [0, 0]
        listed = subprocess.run(
            [sys.executable, "-m", "advisor.cli", "records", "--json", *where],
            capture_output=True,
            text=True,
            check=True,
        )
        jobs = [(job["pieces"], round(job["setup"])) for job in json.loads(listed.stdout)]
        assert sorted(jobs) == sorted([(1, 3)] * 2 + [(n, m) for n in (30, 20) for m in (50, 51)])
    finally:
        served.stop()


def test_another_site_cannot_write(chromium, served):
    """A page elsewhere that sends a form to this server: Chromium says so in Origin, and is refused."""
    with opened(chromium, served) as page:
        page.set_content(
            f'<form method="post" action="{served.address}/shop/use"><input name="shop" value="bench-shop"></form>'
        )
        page.evaluate("document.forms[0].submit()")
        page.wait_for_url("**/shop/use")
        assert "Not answered" in page.locator("h1").inner_text()
        page.faults.clear()


def test_a_list_is_dropped(chromium, served):
    with opened(chromium, served, "desk") as page:
        go(page, served, "/list")
        enquiry = os.path.join(os.path.dirname(os.path.dirname(__file__)), "lists", "enquiry.xlsx")
        page.set_input_files("#f-list", enquiry)
        page.click("text=Read it")
        page.wait_for_url("**/list/read**")
        assert "Ask the customer" in page.locator("main").inner_text()
        looked_at(page, "a list as it is read")
