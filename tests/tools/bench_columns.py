"""Advice over columns against other ways to run the same rules, and what it costs as lists grow: `make bench` calls
bench().
"""

import contextlib
import itertools
import json
import logging
import operator
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(Path(__file__).parent.parent)]
SIZES = (1_000, 10_000, 100_000, 1_000_000)
SECONDS = 2.0  # for each engine
LINES = 1_000_000


def bench(sizes=SIZES, seconds=SECONDS, lines=LINES):
    """Print callouts a second for each engine, full advice by number of callouts, and a list priced end to end."""
    engines(seconds)
    grown(sizes)
    where_the_time_goes()
    end_to_end(lines)


# ---- engines


def engines(seconds):
    """The same callouts and rules on every engine: all rules, with every number that they need."""
    import possible_callouts

    from advisor.answer import advice
    from advisor.engine import generated
    from advisor.engine.chaining import Chain

    rules = advice.rule_base()
    jobs = [
        (advice.givens(one, shop, advice.lathe_for(one, shop)), advice.overrides(shop))
        for _, one, shop in possible_callouts.possible(200)
    ]
    chain = Chain(rules)
    speeds = {"chain (experta)": _speed(chain.run, jobs, seconds)}
    for words, judge in (("CLIPS (clipspy)", _clips), ("durable_rules", _durable)):
        try:
            run = judge(rules)
        except ImportError as missing:
            print(f"  {words}: not measured, {missing}")
            continue
        speeds[words] = _speed(run, jobs, seconds)
        agree = sum(_fired(run(*job)) == _fired(generated.run(rules, *job)) for job in jobs[:50])
        if agree < 50:
            print(f"  {words}: fires other rules than the rest in {50 - agree} of 50 callouts")
    speeds["plain Python, with findings"] = _speed(lambda given, own: generated.run(rules, given, own), jobs, seconds)
    speeds["plain Python, minutes alone"] = _speed(_minutes_alone(rules), jobs, seconds)
    speeds["columns, every name and rule kept"] = _columns_speed(seconds)
    speeds["columns, full advice, two threads"] = _advice_speed(seconds)
    print(f"One rule base ({len(rules.rules)} rules, {len(rules.names)} names), callouts a second")
    base = speeds["chain (experta)"]
    for words, speed in speeds.items():
        print(f"  {words:<46}{speed:14,.0f}{speed / base:10,.1f} × chain")


def _speed(run, jobs, seconds):
    """Callouts a second of one at a time."""
    run(*jobs[0])
    done, start = 0, time.perf_counter()
    while time.perf_counter() - start < seconds:
        run(*jobs[done % len(jobs)])
        done += 1
    return done / (time.perf_counter() - start)


def _fired(outcome):
    return {rule.id for rule in outcome.fired if rule.kind != "step"}


def _minutes_alone(rules):
    from advisor.engine import generated

    want = frozenset(f"{method['prefix']}_standing_minutes" for method in rules.methods)
    return lambda given, own: generated.run(rules, given, own, want=want, values_only=True)


def _columns_speed(seconds):
    from advisor.engine import columns

    rules, given = sample_columns(16_384)
    columns.run(rules, given)
    rounds, start = 0, time.perf_counter()
    while time.perf_counter() - start < seconds:
        columns.run(rules, given)
        rounds += 1
    return rounds * 16_384 / (time.perf_counter() - start)


def _advice_speed(seconds):
    from advisor.answer import column_advice

    rules, given = sample_columns(262_144)
    done, start = 0, time.perf_counter()
    while time.perf_counter() - start < seconds:
        done += sum(map(len, column_advice.advise(rules, given, rows=262_144)))
    return done / (time.perf_counter() - start)


def _clips(rules):
    import clips_judge

    return clips_judge.Judge(rules).run


def _durable(rules):
    """The rules on durable_rules: comparisons and their joining are the engine's, arithmetic beside them is done in
    Python.
    """
    from durable import engine, lang

    from advisor.engine import generated
    from advisor.language import expression
    from advisor.rulebase.rulebook import Outcome

    logging.getLogger("durable").setLevel(logging.ERROR)
    fired, sides = [], {}

    def side(tree):
        """What stands on one side of a comparison, as the engine sees it: a constant, or a property of the fact."""
        if tree[0] in ("number", "truth", "word"):
            return tree[1]
        return getattr(lang.m, sides.setdefault(json.dumps(tree), (f"s{len(sides)}", tree))[0])

    def condition(tree, wanted=True):
        kind = tree[0]
        if kind == "not":
            return condition(tree[1], not wanted)
        if kind in ("and", "or"):
            parts = [condition(part, wanted) for part in tree[1]]
            whole = parts[0]
            for part in parts[1:]:
                whole = whole & part if (kind == "and") == wanted else whole | part
            return whole
        if kind != "compare" or tree[3][0] in ("number", "word", "truth"):  # one side alone: its truth is a property
            return side(tree) == wanted
        left, right = side(tree[3]), side(tree[4])
        sign = tree[2] if wanted else {"<": ">=", "<=": ">", ">": "<=", ">=": "<", "==": "!=", "!=": "=="}[tree[2]]
        compared = getattr(operator, {"<": "lt", "<=": "le", ">": "gt", ">=": "ge", "==": "eq", "!=": "ne"}[sign])(
            left, right
        )
        if tree[5] in ("words", "truth"):
            return compared
        known = side(("known", tree[3], tree[4])) == wanted  # the engine takes what is missing for anything
        return compared & known if wanted else compared | known

    judged = [rule for rule in rules.rules if rule.kind != "step"]
    with lang.ruleset("advice"):
        for rule in judged:
            whole = lang.m.level == rule.stage
            for tree in rule.when:
                whole = whole & condition(tree)
            lang.when_all(whole)(_noting(fired, rule.number))

    levels = 1 + max(node.stage for node in [*rules.rules, *rules.names.values()])
    reads = {level: {} for level in range(levels)}
    for rule in judged:
        asked = _side_trees(rule.when)
        asked += [("known", *tree[3:5]) for tree in asked if tree[0] == "compare"]
        reads[rule.stage] |= {json.dumps(tree): None for tree in asked if json.dumps(tree) in sides}

    jobs = itertools.count()

    def run(given, own):
        values = rules.inputs(given, own)
        amounts = set()
        for level in range(levels):
            for node in rules.order:
                name = rules.names.get(node) if isinstance(node, str) else None
                if name and name.stage == level and name.kind not in ("given", "constant"):
                    values[node] = _value(rules, name, values, amounts, generated, expression)
            fact = {"level": level, "job": next(jobs)}
            for key in reads[level]:
                name, tree = sides[key]
                sides_of = [expression.evaluate(part, values) for part in (tree[1:] if tree[0] == "known" else [tree])]
                value = all(v == v for v in sides_of) if tree[0] == "known" else sides_of[0]
                if value == value:
                    fact[name] = _without_exponent(value) if isinstance(value, float) else value
            fired.clear()
            for act in (lang.assert_fact, lang.retract_fact):
                with contextlib.suppress(engine.MessageNotHandledException):  # no rule of this level holds
                    act("advice", fact)
            amounts |= set(fired)
        return Outcome(values, [rule for rule in rules.rules if rule.number in amounts])

    return run


def _without_exponent(value):
    """A number that the engine's reader takes: it knows no exponents, so what is without end is large, what is tiny is
    0.
    """
    return 0.0 if abs(value) < 1e-4 else min(max(value, -1e15), 1e15)


def _noting(fired, number):
    """What the engine calls when a rule fires: it takes a second argument for a promise, so there is one only."""
    return lambda context: fired.append(number)


def _side_trees(trees):
    from advisor.language import expression

    return [node for tree in trees for node in expression.nodes(tree)]


def _value(rules, name, values, fired, plain, expression):
    if name.kind == "formula":
        arguments = {parameter: expression.evaluate(tree, values) for parameter, tree in name.arguments}
        return plain.guarded(name, rules.function(name.name), [], **arguments)
    if name.kind == "expression":
        return expression.evaluate(name.tree, values)
    effects = [(rule, effect) for rule, effect in rules.affecting(name.name) if rule.number in fired]
    if name.kind == "conclusion":
        return expression.evaluate(effects[0][1].amount if effects else name.tree, values)
    if name.combine == "any":
        return bool(effects)
    total = 0.0 if name.combine == "sum" else 1.0
    for _, effect in plain.in_tally_order(effects):
        amount = expression.evaluate(effect.amount, values)
        total = total + amount if name.combine == "sum" else total * amount
    return total


# ---- columns


def sample_columns(count, seed=1):
    """Rules of a shop, and columns of so many callouts of every shape in it."""
    import numpy
    from some_callouts import rows

    from advisor.answer import column_advice
    from advisor.asked import shop as shops
    from advisor.lists import listing

    shop = shops.read_shop("training-shop")
    lines = rows(min(count, 20_000), seed=seed)
    held = {key: [line.get(key) or None for line in lines] for key in listing.KEYS}
    read = listing.Reader(inch_tolerances=shop.inch_tolerances).read(held, len(lines))
    sound = read.sound[
        column_advice.lathes(shop, column_advice.swung_diameter(read.given), stickout=read.given["stickout"])[
            read.sound
        ]
        == 0
    ]
    taken = numpy.resize(sound, count)
    given = column_advice.givens(read.given, shop, shop.lathes[0], taken)
    wobble = numpy.random.default_rng(seed).uniform(0.999, 1.001, count)
    given["diameter"] = given["diameter"] * wobble  # so that no two rows are alike
    return column_advice.rules_for(shop), given


def grown(sizes):
    """Full advice on more and more callouts, each in a process of its own."""
    print("Full advice (five methods, minutes, P80, cost, chance, setup numbers, deciding rule), two threads")
    print(f"  {'callouts':>12}{'seconds':>10}{'callouts/s':>14}{'µs each':>10}{'memory above the input':>26}")
    for size in sizes:
        program = f"import sys; sys.path[:0] = {sys.path[:2]!r}; import bench_columns; bench_columns.grow({size})"
        told = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
        seconds, memory = json.loads(told)
        print(f"  {size:>12,}{seconds:>10.3f}{size / seconds:>14,.0f}{seconds / size * 1e6:>10.2f}{memory:>23,.0f} MB")


def grow(size):
    """Print seconds, and peak memory above the input [MB], for full advice on so many callouts, answers kept and not
    kept.
    """
    import numpy

    from advisor.answer import column_advice

    rules, given = sample_columns(size)
    list(
        column_advice.advise(rules, {k: v[:1] if isinstance(v, numpy.ndarray) else v for k, v in given.items()}, rows=1)
    )
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    seconds = []
    for _ in range(3):
        start = time.perf_counter()
        best = numpy.empty(size, dtype=numpy.int8)
        minutes, rule, place = numpy.empty(size), numpy.empty(size, dtype=numpy.int16), 0
        for answers in column_advice.advise(rules, given, rows=size):
            here = slice(place, place + len(answers))
            best[here], minutes[here], rule[here] = answers.best, answers.of_best(answers.minutes), answers.rule
            place += len(answers)
        seconds.append(time.perf_counter() - start)
    print(json.dumps([min(seconds), (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024]))


def where_the_time_goes(rows=16_384, rounds=10):
    """Share of the time by kind of work, and the dearest names."""
    import numpy

    from advisor.answer import column_advice
    from advisor.engine import columns, generated
    from advisor.language import expression

    rules, given = sample_columns(rows)
    want = column_advice._names(column_advice._methods(rules), frozenset())
    reported = [number for numbers in column_advice._outs(rules) for number in numbers]
    program = generated.prepared(rules, want, findings=reported, arrays=True)
    names = (
        expression.helpers() | {f"w{code}": numpy.int8(code) for code in range(-1, 127)} | {"clock": time.perf_counter}
    )
    timed, lines = ["def run(values, taken):"], program.source(names, None).split("\n")[1:]
    for number, line in enumerate(lines):
        plain_line = line.startswith((" return", " del"))
        timed += [line] if plain_line else [" start = clock()", line, f" taken[{number}] += clock() - start"]
    exec("\n".join(timed), names)
    values = rules.inputs({}) | {name: columns.encode(rules, name, value) for name, value in given.items()}
    for name in rules.names:
        if rules.names[name].holds == "words" and name in values:
            values[name] = columns.encode(rules, name, values[name])
    taken = [0.0] * len(lines)
    with numpy.errstate(all="ignore"):
        names["run"](dict(values), [0.0] * len(lines))
        for _ in range(rounds):
            names["run"](dict(values), taken)
    kinds = {"formulas": 0.0, "expressions, conclusions and tallies": 0.0, "conditions of rules": 0.0}
    for line, seconds in zip(lines, taken):
        kind = list(kinds)[0 if " = f_" in line else 2 if line.startswith(" r") else 1]
        kinds[kind] += seconds
    total = sum(taken)
    each = total / rows / rounds * 1e9
    print(f"Where the time goes, on one core: {each:,.0f} ns a callout in {len(lines)} steps")
    for kind, seconds in kinds.items():
        print(f"  {kind:<46}{seconds / total:>13.0%}")
    dearest = sorted(zip(taken, lines), reverse=True)[:8]
    for seconds, line in dearest:
        name = line.split("= f_")[-1].split("(")[0] if "= f_" in line else line.split(" = ")[0].strip()
        print(f"    {name:<44}{seconds / total:>13.1%}")


# ---- a list from end to end


def end_to_end(lines):
    """A CSV list with callouts as drawing text, priced by the command."""
    if not lines:
        return
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder, "list.csv"), Path(folder, "priced.csv")
        write_list(path, lines)
        command = [sys.executable, "-m", "advisor.cli", "batch", str(path), "-o", str(out)]
        environment = os.environ | {"PYTHONPATH": str(ROOT)}
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=environment)
        peak = 0.0
        while process.poll() is None:
            peak = max(peak, _memory(process.pid))
            time.sleep(0.1)
        seconds = time.perf_counter() - start
        sizes = f"{path.stat().st_size / 1e6:,.0f} MB in, {out.stat().st_size / 1e6:,.0f} MB out"
        memory = f"; memory of all processes at most {peak:,.0f} MB" if peak else ""
        print(
            f"A list of {lines:,} lines from CSV to CSV: {seconds:.1f} s, {lines / seconds:,.0f} lines/s, {sizes}{memory}"
        )


def write_list(path, lines):
    """A list as an enquiry has it."""
    import csv

    from some_callouts import rows

    names = ["part", "radius", "form", "location", "diameter", "width", "from_end", "shoulder_height", "stickout"]
    names += ["units", "quantity", "material", "skill", "support", "note"]
    made = rows(min(lines, 50_000), seed=2, inches=0.2)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, extrasaction="ignore", restval="")
        writer.writeheader()
        for number in range(lines):
            writer.writerow(made[number % len(made)] | {"part": f"P-{number}", "note": "as last time"})


def _memory(pid):
    """Memory of a process and its children [MB], shared pages counted once; 0 where the system does not tell."""
    total = 0.0
    try:
        for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                total += int(line.split()[1]) / 1024
        for task in Path(f"/proc/{pid}/task").iterdir():
            total += sum(_memory(int(child)) for child in (task / "children").read_text().split())
    except OSError:
        pass
    return total


if __name__ == "__main__":
    bench()
