"""Renders the pictures of the gallery anew: python tests/tools/pictures.py, of the page
alone with the word page. Every one comes out of the program itself."""

import contextlib
import io
import sys
import tempfile
from pathlib import Path

from advisor import cli
from advisor.answer.advice import advise
from advisor.commands import register
from advisor.commands.on_a_callout import read_job
from advisor.drawing import edge_profile
from advisor.engine import generated
from advisor.show import dxf, pictures, sheet_content, sheet_pages, typeset

CASES = Path(__file__).parent.parent.parent / "cases"
HERE = CASES / "pictures"
SHEETS = {
    "sheet-form-tool": "knob-corner",
    "sheet-swung": "cup-washer-dish",
    "sheet-rod": "mirror-lap",
    "sheet-inch": "davit-ball",
}
DOTS = 92


def advice_of(name):
    options = register.read(["advise", "--case", str(CASES / f"{name}.toml")])
    return advise(*read_job(options), executor=generated.run)


def write(name, data):
    (HERE / name).write_bytes(data)
    print(f"{name}: {len(data) // 1024} kB")


def terminal(*words):
    """What a command prints, as a picture."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        cli.main(list(words))
    lines = "\n".join(out.getvalue().splitlines()[:40])
    shown = typeset.text("$ turn-radius " + " ".join(words) + "\n" + lines)
    source = (
        "#set page(width: 175mm, height: auto, margin: 5mm)\n"
        f"#text(font: {typeset.text(typeset.LETTERING)}, size: 9pt, {shown})\n"
    )
    return typeset.typeset(source, "png", dots=DOTS)[0]


def drawn(profile):
    """A DXF as a viewer shows it, as SVG."""
    from ezdxf.addons.drawing import Frontend, RenderContext, config, layout, svg

    drawing, back = dxf.document(profile), svg.SVGBackend()
    looks = config.Configuration(background_policy=config.BackgroundPolicy.WHITE, color_policy=config.ColorPolicy.BLACK)
    Frontend(RenderContext(drawing), back, config=looks).draw_layout(drawing.modelspace())
    return back.get_string(layout.Page(0, 0, layout.Units.mm, margins=layout.Margins.all(4))).encode()


# Of the screens of test_page_browser.py: how wide each is shown.
PAGE = {"answer": 820, "step": 820, "step-off": 820, "where": 820, "size": 820, "ask": 820, "piece-measured": 820, "done": 820,
        "first": 320, "before": 320, "answer-none": 320, "job": 1280, "judged": 1280, "map": 1280, "wrong": 820, "shop": 1280,
        "measure": 820, "why": 820}  # fmt: skip
HIGH = {320: 640, 820: 1000, 1280: 800}


def of_the_page():
    """Screens of the page in a browser, as much of each as is seen at once: name -> PNG. Nothing where there is no browser."""
    try:
        sys.path.append(str(CASES.parent / "tests" / "page"))
        import test_page_browser as screens
    except BaseException as nothing:  # pytest skips a module that cannot run by an exception of its own
        print(f"no pictures of the page: {nothing}")
        return
    with tempfile.TemporaryDirectory() as folder, screens.sync_playwright() as playwright:
        served = screens.Served(Path(folder))
        browser = playwright.chromium.launch(executable_path=screens.CHROMIUM, args=screens.FLAGS)
        try:
            for name, wide in PAGE.items():
                shown = browser.new_page(viewport={"width": wide, "height": HIGH[wide]})
                shown.goto(served.address + screens.SCREENS[name], wait_until="load")
                yield f"page-{name}.png", shown.screenshot()
                shown.close()
        finally:
            browser.close()
            served.stop()


def main(only=""):
    if only == "page":
        for name, data in of_the_page():
            write(name, data)
        return 0
    for name, case in SHEETS.items():
        made = sheet_content.sheet(advice_of(case), paper="a4")
        write(f"{name}.png", typeset.typeset(sheet_pages.source(made), "png", dots=DOTS)[0])
    advice = advice_of("lever-ball")
    write("nib.png", pictures.pages(advice.methods["pivot attachment"], advice, "png")[0])
    write("terminal.png", terminal("advise", "knob-corner"))
    with tempfile.TemporaryDirectory() as folder:
        picture = Path(folder) / "map.png"
        corner = ["--case", str(CASES / "oil-cup-collar.toml")]
        cli.main(["map", *corner, "--x", "quantity", "--y", "tolerance", "--output", str(picture)])
        write("map.png", picture.read_bytes())
    write("profile.svg", drawn(edge_profile.profile(advice_of("knob-corner"))))
    return main("page")


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
