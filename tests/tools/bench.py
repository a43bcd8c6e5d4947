"""What the program costs, as ratios within one run: `make bench`, or `python tests/tools/bench.py cold` for one section.

A section is a function under `@section`, which prints its own lines; absolute times are this machine's, ratios hold.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "study"), str(ROOT / "tests" / "page")]
SECTIONS = {}
JOB = ["R6 ±0.1", "--form", "convex", "--location", "corner", "--diameter", "40 mm", "--quantity", "12"]
COLD_RUNS = 15
WARM_RUNS = 60


def section(name):
    """Decorator: a section of the bench under a name."""

    def add(function):
        SECTIONS[name] = function
        return function

    return add


def line(words, milliseconds, ratio=None, note=""):
    """Print one line: what was timed, the time, its ratio, a note."""
    against = "" if ratio is None else f"{ratio:8.2f}"
    print(f"  {words:<46}{milliseconds:10.2f} ms{against:>9}  {note}".rstrip())


def once(function):
    """Time of one call [ms]."""
    start = time.perf_counter()
    function()
    return (time.perf_counter() - start) * 1000


def median(function, runs):
    """Median time of so many calls, after one that does not count [ms]."""
    function()
    return statistics.median(once(function) for _ in range(runs))


# ---- cold start

IMPORTS = (
    "import collections, collections.abc; collections.Mapping = collections.abc.Mapping; import experta, pint, rich"
)


@section("cold")
def cold_start():
    """The whole process, from the shell and back, with the rule base checked on an earlier run."""
    advise = f"import sys; from advisor.cli import main; sys.exit(main({['advise', *JOB]!r}))"
    programs = {"bare interpreter": "pass", "experta, pint and rich imported": IMPORTS, "turn-radius advise": advise}
    times = {words: [] for words in programs}
    with tempfile.TemporaryDirectory() as cache:
        for run in range(COLD_RUNS + 1):
            for words, program in programs.items():
                taken = once(lambda: _python(program, cache))
                if run:
                    times[words].append(taken)
        unchecked = [once(lambda: _python(advise, f"{cache}/{run}")) for run in range(5)]
    bare, imports, ours = (statistics.median(taken) for taken in times.values())
    print(f"Cold start, median of {COLD_RUNS} processes each, against the bare interpreter")
    line("bare interpreter", bare, 1)
    line("experta, pint and rich imported", imports, imports / bare)
    line("turn-radius advise", ours, ours / bare, f"{ours / imports:.2f} of the imports alone (aim: at most 1.3)")
    first = statistics.median(unchecked)
    line("the first time after a change of rules", first, first / bare, f"{first / imports:.2f} of the imports alone")


def _python(program, cache):
    environment = {"XDG_CACHE_HOME": str(cache), "XDG_DATA_HOME": str(cache), "PATH": "", "PYTHONIOENCODING": "utf-8"}
    subprocess.run([sys.executable, "-c", program], cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, check=True)


# ---- one advice, warm


class Stopwatch:
    """Adds up the time spent inside functions that it wraps, the outermost call only [ms]."""

    def __init__(self):
        self.spent = 0.0
        self._inside = False

    def wrap(self, function):
        def timed(*given, **named):
            if self._inside:
                return function(*given, **named)
            self._inside = True
            start = time.perf_counter()
            try:
                return function(*given, **named)
            finally:
                self.spent += (time.perf_counter() - start) * 1000
                self._inside = False

        return timed


@contextmanager
def replaced(holder, key, value):
    """An entry of a dictionary replaced for a while."""
    before = holder[key]
    holder[key] = value
    try:
        yield
    finally:
        holder[key] = before


def job():
    """The callout and shop of the bench."""
    from advisor.commands import on_a_callout, register

    return on_a_callout.read_job(register.read(["advise", *JOB]))


@section("warm")
def warm_advice():
    """One advice in a running program: what rules, numbers and the rest take."""
    from advisor.answer import advice
    from advisor.engine import generated

    callout, shop = job()
    advice.advise(callout, shop)  # builds the engine
    whole = median(lambda: advice.advise(callout, shop), WARM_RUNS)
    rules, numbers = _split(advice, callout, shop)
    answer = advice.advise(callout, shop)
    print(f"One advice, warm, median of {WARM_RUNS}, against the whole of it")
    line("advise: callout and shop in, advice out", whole, 1, "aim: at most 15 ms")
    line("  rules: the engine, its conditions and trace", rules, rules / whole)
    line("  numbers: formulas and setups", numbers, numbers / whole)
    line("  the rest", whole - rules - numbers, (whole - rules - numbers) / whole)
    fast = median(lambda: advice.advise(callout, shop, executor=generated.run), WARM_RUNS)
    line("the same by plain Python instead of the engine", fast, fast / whole)
    read = median(job, WARM_RUNS)
    line("reading options and shop file", read, read / whole)
    _screen_lines(answer, whole)


def _split(advice, callout, shop):
    """Time of rules and of numbers in one advice, the mean of many [ms]."""
    engine, formulas, setups = Stopwatch(), Stopwatch(), Stopwatch()
    book = advice.rule_base()
    held = dict(book.functions)
    before = advice._chained
    try:
        for name in held:
            book.functions[name] = formulas.wrap(held[name])
        advice._chained = engine.wrap(before)
        with replaced(advice.__dict__, "setup_of", setups.wrap(advice.setup_of)):
            for _ in range(WARM_RUNS):
                advice.advise(callout, shop)
    finally:
        advice._chained = before
        book.functions.update(held)
    rules = (engine.spent - formulas.spent) / WARM_RUNS
    return rules, (formulas.spent + setups.spent) / WARM_RUNS


def _screen_lines(answer, whole):
    import io

    from rich.console import Console

    from advisor.show.as_json import answer as as_json
    from advisor.show.terminal import screen

    def show():
        answer.__dict__.pop("assumed", None)
        Console(file=io.StringIO(), width=80, highlight=False).print(screen(answer))

    def encode():
        answer.__dict__.pop("assumed", None)
        json.dumps(as_json(answer))

    for words, function in (("the screen, what was assumed tried out too", show), ("the same as JSON", encode)):
        taken = median(function, WARM_RUNS)
        line(words, taken, taken / whole)


@section("why")
def why():
    """Why, why not and every change point, in a running program."""
    from advisor.answer import advice
    from advisor.show import why as screens
    from advisor.study import changes

    callout, shop = job()
    advised = advice.advise(callout, shop)
    one = median(lambda: advice.advise(callout, shop), WARM_RUNS)
    every = median(lambda: changes.changes(advised), 10)
    each = median(lambda: changes.compare(advised, advised.recommended, "pivot attachment"), 10)
    whole = median(lambda: screens.screen(advice.advise(callout, shop)), 10)
    print("Why, warm, median of 10, against one advice")
    line("one advice", one, 1)
    line("all change points and equipment", every, every / one)
    line("one method instead of another", each, each / one)
    line("the whole of why, from the callout on", whole, whole / one, "aim: at most 500 ms")


@section("ask")
def ask():
    """What the next question of the interview takes, over the worked cases, and what it takes to find that none is left."""
    import test_ask

    spent = {True: [], False: []}
    own = test_ask.Room.step

    def timed(room, talk, **options):
        start = time.perf_counter()
        found = own(room, talk, **options)
        if found.outlook:
            spent[found.question is not None].append((time.perf_counter() - start) * 1000)
        return found

    test_ask.talked(test_ask.WORKED[0])
    test_ask.Room.step = timed
    counts = [len(test_ask.talked(path)[2]) - 1 for path in test_ask.WORKED]
    print(f"The interview over {len(counts)} worked cases, {statistics.median(counts):g} questions in the median")
    for asked, words in ((True, "the next question"), (False, "that no question is left")):
        times = sorted(spent[asked])
        line(f"{words}, median", statistics.median(times))
        line(f"{words}, 19 of 20 under", times[int(len(times) * 0.95)], note="aim: at most 150 ms" if asked else "")


@section("page")
def page():
    """What the page takes: its first screen with all that it fetches, a cold start, and an answer to a changed field."""
    import contextlib
    import http.client

    from test_page import KNOB

    from advisor.page import serve
    from advisor.page import state as states
    from advisor.page.app import Page

    line_ = [sys.executable, "-m", "advisor.cli", "page", "--no-browser", "--port", "0"]
    starts = []
    for _ in range(5):
        began = time.perf_counter()
        with subprocess.Popen(line_, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as server:
            address = server.stdout.readline().split("//")[1].split("/")[0]
            asked = http.client.HTTPConnection(address)
            asked.request("GET", "/")
            asked.getresponse().read()
            starts.append((time.perf_counter() - began) * 1000)
            server.terminate()
    place = serve.Place(serve.HOST, 0)
    server = serve.Running(Page(hosts=place.names, records=None), place)
    with contextlib.closing(http.client.HTTPConnection(place.host, place.port)) as asked:

        def fetched(path):
            asked.request("GET", path)
            return len(asked.getresponse().read())

        size = sum(fetched(path) for path in ("/", "/static/page.css", "/static/page.js", "/static/mark.svg"))
        times = []
        jobs = [
            KNOB,
            KNOB | {"radius": "R40 ±0.2", "shape": "dome"},
            KNOB | {"radius": "R6 ±0.001"},
        ]  # nothing stands for the last
        for pieces in range(1, 41):
            for job in jobs:
                began = time.process_time()
                fetched(states.join("/lathe/answer", job | {"quantity": str(pieces)}))
                times.append((time.process_time() - began) * 1000)
    server.stop()
    print(f"The first screen of the page and what it fetches, {size / 1000:.0f} kB (aim: at most 150)")
    line("from nothing to its first byte", min(starts), note="aim: at most 600 ms")
    times = sorted(times[len(jobs) :])
    line("an answer to a changed field, median", statistics.median(times))
    line("an answer to a changed field, 19 of 20 under", times[len(times) * 19 // 20], note="aim: at most 50 ms")


@section("columns")
def columns():
    """The same rules on other engines, whole advice over columns as lists grow, and a list priced end to end."""
    import bench_columns

    bench_columns.bench()


def main(wanted):
    """Run the sections whose names were given, or all."""
    unknown = [name for name in wanted if name not in SECTIONS]
    if unknown:
        sys.exit(f"No section {unknown[0]}. Sections: {', '.join(SECTIONS)}.")
    for number, name in enumerate(wanted or SECTIONS):
        if number:
            print()
        SECTIONS[name]()


if __name__ == "__main__":
    main(sys.argv[1:])
