"""Advice over columns: equal to the advice on one callout in everything that both give, for good callouts and for bad
ones.
"""

import math

import numpy
import possible_callouts
import pytest
import some_callouts
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st
from often import often

from advisor.answer import advice, column_advice
from advisor.asked import callout, materials
from advisor.asked import shop as shops
from advisor.engine import columns, generated
from advisor.engine.chaining import Chain
from advisor.ground.errors import InputError
from advisor.language import expression
from advisor.lists import listing
from advisor.verify import boundaries, prove_rules, random_callouts

RULES = advice.rule_base()
METHODS = [method["name"] for method in RULES.methods]
ALL = {path.stem: shops.read_shop(path.stem) for path in sorted(shops.SHOPS.glob("*.toml"))}


def close(a, b, share=1e-9):
    """The same number to nine digits, or the same word or truth value; what is not known is alike."""
    if isinstance(a, (float, int)) and isinstance(b, (float, int)):
        return a == b or (a != a and b != b) or abs(a - b) <= share * max(abs(a), abs(b))
    return a == b


def read_list(rows, shop):
    """A list read for a shop."""
    held = {key: [row.get(key) or None for row in rows] for key in callout.KEYS}
    return listing.Reader(inch_tolerances=shop.inch_tolerances).read(held, len(rows))


def read_one(row, shop):
    """The same callout read by itself: a Callout, or the error."""
    fields = {key: text for key, text in row.items() if text}
    try:
        return callout.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    except InputError as problem:
        return problem


# ---- reading


def test_words_have_the_codes_of_the_vocabulary():
    for name, words in listing.CODED.items():
        if name in RULES.names and RULES.names[name].holds == "words":
            assert tuple(RULES.names[name].values) == words


@pytest.mark.parametrize(("shop", "seed"), [("training-shop", 1), ("jobbing-shop", 2), ("bench-shop", 3)])
def test_a_list_is_read_as_its_callouts_are(shop, seed):
    """To the last digit, and with the very same complaints."""
    shop = ALL[shop]
    rows = some_callouts.rows(often(250, 700), seed=seed, bad=0.4)
    read = read_list(rows, shop)
    for place, row in enumerate(rows):
        one = read_one(row, shop)
        if isinstance(one, InputError):
            assert str(read.errors[place]) == str(one), row
            continue
        assert place not in read.errors, (row, read.errors[place])
        try:
            lathe = advice.lathe_for(one, shop)
        except InputError:
            assert (
                column_advice.lathes(shop, column_advice.swung_diameter(read.given), stickout=read.given["stickout"])[
                    place
                ]
                == column_advice.NONE
            )
            continue
        assert (
            shop.lathes[
                column_advice.lathes(shop, column_advice.swung_diameter(read.given), stickout=read.given["stickout"])[
                    place
                ]
            ]
            is lathe
        )
        alone = advice.givens(one, shop, lathe)
        listed = column_advice.givens(read.given, shop, lathe, numpy.array([place]))
        assert alone.keys() <= listed.keys()
        for name, value in alone.items():
            other = (
                listed[name] if isinstance(value, tuple) else numpy.ravel(columns.encode(RULES, name, listed[name]))[0]
            )
            if RULES.names[name].holds == "words":
                other = RULES.names[name].values[other]
            assert value == other or (value != value and other != other), (name, value, other, row)


NUMBERS = st.builds(lambda whole, part, mark: f"{whole}{mark}{part}" if part else whole, *(
    st.sampled_from(["", "0", "1", "6", "12", "144", "03", "1234567"]), st.sampled_from(["", "5", "25", "125", "0625", "000"]), st.sampled_from(".,")
))  # fmt: skip


@drawn(
    st.builds(
        lambda count, letter, size, tolerance: f"{count}{letter}R{size}{tolerance}",
        st.sampled_from(["", "2X ", "0X ", "12X "]),
        st.sampled_from(["", "S", "C"]),
        NUMBERS,
        st.builds(
            lambda form, a, b: form.format(a, b),
            st.sampled_from([" ±{0}", "±{0}", " ± {0}", " +{0}/-{1}", "+{0}/-{1}", "", " MAX"]),
            NUMBERS,
            NUMBERS,
        ),
    ),
    st.booleans(),
)
@settings(max_examples=often(200, 400))
def test_the_short_way_to_read_a_radius_is_the_long_way(text, inch):
    short = listing._short_radius(text, inch)
    if short:
        long = callout.read_radius(text, units="inch" if inch else "mm")
        assert short[:4] == (long.radius, long.tolerance, long.low, long.high)
        assert (listing.CODED["symbol"][short[4]], short[6]) == (long.symbol, long.count or 0)
        assert advice.tolerance_source(long) == "written"


@drawn(
    st.builds(lambda number, unit: f"{number}{unit}", NUMBERS, st.sampled_from(["", " mm", "mm", " in", "in"])),
    st.sampled_from(["mm", "in"]),
)
@settings(max_examples=often(150, 300))
def test_the_short_way_to_read_a_length_is_the_long_way(text, unit):
    def outcome(read):
        try:
            return read()
        except InputError as problem:
            return type(problem)

    short = outcome(lambda: listing._length_reader(unit, from_zero=True)(text))
    long = outcome(lambda: listing.read_quantity(text, field="", dimension="length", default_unit=unit, at_least=0.0))
    assert short == long


# ---- advice


def answers_for(rows, shop):
    """Answers for the callouts of a list that can be made at all: list of (row, Callout, lathe, Answers, its place)."""
    read = read_list(rows, shop)
    chosen = column_advice.lathes(shop, column_advice.swung_diameter(read.given), stickout=read.given["stickout"])
    found = []
    for place, lathe in enumerate(shop.lathes):
        taken = read.sound[chosen[read.sound] == place]
        if len(taken):
            given = column_advice.givens(read.given, shop, lathe, taken)
            answers = column_advice.together(
                column_advice.advise(column_advice.rules_for(shop), given, rows=len(taken), piece=100)
            )
            found += [
                (rows[row], read_one(rows[row], shop), lathe, answers, number) for number, row in enumerate(taken)
            ]
    return found


@pytest.mark.parametrize("shop", ALL)
def test_the_whole_answer_is_that_of_one_callout(shop):
    shop = ALL[shop]
    for row, one, lathe, answers, place in answers_for(some_callouts.rows(often(80, 250), seed=4), shop):
        alone = advice.advise(one, shop, executor=generated.run)
        assert alone.lathe is lathe
        assert_alike(alone, answers, place, row)


def test_the_answer_is_that_of_the_forward_chaining_engine():
    shop = ALL["training-shop"]
    for row, one, _, answers, place in answers_for(some_callouts.rows(often(25, 60), seed=5), shop):
        assert_alike(advice.advise(one, shop), answers, place, row)


def assert_alike(alone, answers, place, row):
    best = answers.best[place]
    assert (METHODS[best] if best >= 0 else None) == alone.recommended, row
    assert bool(answers.close_call[place]) == alone.close_call, row
    for number, name in enumerate(METHODS):
        method = alone.methods[name]
        assert math.isfinite(answers.measures[number, place]) == (method.rank is not None)
        cost = math.nan if method.cost is None else method.cost
        pairs = (
            (answers.minutes, method.minutes["batch"]["mean"]),
            (answers.p80, method.minutes["batch"]["p80"]),
            (answers.chance, method.in_tolerance),
            (answers.cost, cost),
        )
        for of_each, value in pairs:
            assert close(float(of_each[number, place]), value), (name, row)
    if alone.best:
        for name in column_advice.SETUP:
            value = alone.best.setup.get(name)
            assert close(float(answers.setup[name][place]), math.nan if value is None else value), (name, row)
    assert_same_reason(alone, answers, place)


def outs(method):
    """Findings that rule a method out."""
    return [finding for finding in method.findings if finding.kind == "rules_out"]


def minutes(method):
    return method.minutes["batch"]["mean"]


def assert_same_reason(alone, answers, place):
    """What decided is what `explain.why` tells: a quicker method that will not do, or else the next best."""
    rivals = [method for method in alone.ranked if method is not alone.best]
    possible = [method for method in rivals if method.setup]
    quicker = [m for m in possible if not m.rank and alone.best and minutes(m) < minutes(alone.best)]
    usable = [method for method in rivals if method.rank]
    if alone.best is None:
        kind, rival = column_advice.NO_METHOD, min(possible, key=lambda m: (len(outs(m)), minutes(m)))
    elif quicker:
        kind, rival = column_advice.RIVAL_OUT, min(quicker, key=minutes)
    elif usable:
        kind, rival = column_advice.NEXT_BEST, usable[0]
    else:
        kind, rival = column_advice.NO_OTHER, min(possible, key=minutes)
    assert (answers.decided[place], METHODS[answers.rival[place]]) == (kind, rival.name)
    rule = answers.rule[place]
    assert (
        rule == column_advice.NONE
        if kind == column_advice.NEXT_BEST
        else RULES.rules[rule].id == outs(rival)[0].rule_id
    )


# ---- every value


def row_of(given, place):
    """The givens of one row, words as words."""
    one = {name: value[place].item() if isinstance(value, numpy.ndarray) else value for name, value in given.items()}
    for name, value in one.items():
        if RULES.names[name].holds == "words" and not isinstance(value, str):
            one[name] = RULES.names[name].values[int(value)]
    return one


def differing(one, other, share=1e-9):
    """Names whose values differ."""
    return {
        name: (value, other.values[name])
        for name, value in one.values.items()
        if not close(value, other.values[name], share)
    }


def test_random_callouts_come_to_the_same_minutes_and_chances():
    where = random_callouts.places(ALL.values(), RULES.givens)
    rows = random_callouts.draw(7, often(900, 10_000), where)
    want = frozenset(f"{method['prefix']}_{name}" for method in RULES.methods for name in column_advice.OF_EACH) | {
        "close_call"
    }
    checked = 0
    for group in random_callouts.by_key(rows, where):
        part = random_callouts.taken(rows, group)
        constants = advice.overrides(where[int(part["place"][0])].shop)
        given = random_callouts.givens(part, where, RULES)
        held = columns.run(RULES, given, constants, want=want, findings=False)
        for place in range(len(group)):
            one = generated.run(RULES, row_of(given, place), constants, want=want, values_only=True)
            for name in want:
                other = numpy.broadcast_to(held.values[name], held.rows)[place].item()
                assert close(one.values[name], other), (name, row_of(given, place))
            checked += 1
    assert checked > often(750, 9_000)


def test_every_value_and_every_rule_is_that_of_the_engine_and_of_plain_python():
    chain = Chain(RULES)
    for number, (_, one, shop) in enumerate(possible_callouts.possible(often(40, 240))):
        given = advice.givens(one, shop, advice.lathe_for(one, shop))
        alone = generated.run(RULES, given) if number % 4 else chain.run(given)
        spread = {
            name: numpy.array([value] * 3) if isinstance(value, float) else value for name, value in given.items()
        }
        held = columns.run(RULES, spread)
        for place in (0, 2):
            row = held.row(place)
            assert [rule.id for rule in row.fired] == [rule.id for rule in alone.fired]
            assert not differing(alone, row)


def test_clips_finds_what_the_columns_find():
    clips_judge = pytest.importorskip("clips_judge")
    judge = clips_judge.Judge(RULES)
    for _, one, shop in possible_callouts.possible(often(50, 150)):
        given, constants = advice.givens(one, shop, advice.lathe_for(one, shop)), advice.overrides(shop)
        judged, held = judge.run(given, constants), columns.run(RULES, given, constants).row(0)
        assert {rule.id for rule in judged.fired} == {rule.id for rule in held.fired}
        assert not differing(judged, held)


@pytest.fixture(scope="module")
def at_boundaries():
    """Rows on both sides of every limit that a walk reaches, as close as numbers get: (rows, places)."""
    some = {rule.id for rule in RULES.rules[:: often(3, 1)]}
    prover = prove_rules._Prover(RULES, random_callouts.places(ALL.values(), RULES.givens), some)
    kept = []

    def looked(self, which, low, high):
        for value in (numpy.nextafter(low, low - (high - low)), low, high, numpy.nextafter(high, high + (high - low))):
            kept.append(self._rows_at(which, value))
        return {}

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(boundaries._Starts, "_looked", looked)
        prover.proof(often(2_000, 20_000), 1)
    return kept, prover.where


def test_at_every_boundary_of_every_limit_the_same_rules_fire(at_boundaries):
    """Two sides that agree to twelve digits may fall either way: the last digit of a sine is the library's own."""
    kept, where = at_boundaries
    rows = random_callouts.joined(kept)
    rows = random_callouts.taken(rows, numpy.flatnonzero(random_callouts.sound(rows, where))[:: often(3, 1)])
    checked = apart = 0
    for group in random_callouts.by_key(rows, where):
        part = random_callouts.taken(rows, group)
        constants = advice.overrides(where[int(part["place"][0])].shop)
        given = random_callouts.givens(part, where, RULES)
        held = columns.run(RULES, given, constants)
        for place in range(len(group)):
            one, other = generated.run(RULES, row_of(given, place), constants), held.row(place)
            checked += 1
            turned = {rule.id for rule in one.fired} ^ {rule.id for rule in other.fired}
            if turned:
                apart += 1
                assert any(_even(RULES.by_id[rule], one.values) for rule in turned), turned
            else:
                assert not differing(one, other)
    assert checked > often(150, 500) and apart < checked / 10


def _even(rule, values):
    """Whether a comparison of a rule has two sides that agree to twelve digits."""
    pairs = [
        (c.left, c.right)
        for c in rule.comparisons(values)
        if isinstance(c.left, float) and isinstance(c.right, (float, int))
    ]
    return any(close(left, right, 1e-12) for left, right in pairs)


def test_every_example_of_every_rule_fires_in_columns_as_it_says():
    for rule in RULES.rules:
        examples = RULES.examples(rule.id)
        if not examples:
            continue
        whole = [RULES.example_values(rule, example) for example in examples]
        values = {
            name: columns.encode(RULES, name, [values[name] for values in whole])
            for name in rule.names
            if not isinstance(whole[0][name], tuple)
        }
        source = [expression.python(tree, arrays=True, name="values[{!r}]".format) for tree in rule.when]
        names = expression.helpers() | {f"w{code}": numpy.int8(code) for code in range(-1, 127)}
        held = numpy.ones(len(examples), dtype=bool)
        for line in source:
            held &= eval(line, names, {"values": values})
        assert held.tolist() == [example["fires"] for example in examples], rule.id


# ---- pieces


def test_pieces_and_workers_change_nothing():
    shop = ALL["training-shop"]
    rows = some_callouts.rows(300, seed=8)
    read = read_list(rows, shop)
    given = column_advice.givens(read.given, shop, shop.lathes[0], read.sound)
    rules, count = column_advice.rules_for(shop), len(read.sound)
    one = column_advice.together(column_advice.advise(rules, given, rows=count))
    for piece, workers in ((7, 1), (50, 2), (1000, 2)):
        other = column_advice.together(column_advice.advise(rules, given, rows=count, piece=piece, workers=workers))
        assert (one.best == other.best).all() and (one.rule == other.rule).all()
        assert numpy.array_equal(one.minutes, other.minutes, equal_nan=True)
        assert all(numpy.array_equal(one.setup[name], other.setup[name], equal_nan=True) for name in one.setup)


def test_one_value_for_all_rows_is_as_good_as_a_column():
    shop = ALL["training-shop"]
    read = read_list(some_callouts.rows(1, seed=3) * 5, shop)
    given = column_advice.givens(read.given, shop, shop.lathes[0])
    single = {
        name: value[0] if isinstance(value, numpy.ndarray) and value.ndim else value for name, value in given.items()
    }
    one = column_advice.together(column_advice.advise(column_advice.rules_for(shop), given, rows=5))
    other = column_advice.together(column_advice.advise(column_advice.rules_for(shop), single, rows=5))
    assert (one.best == other.best).all() and numpy.array_equal(one.minutes, other.minutes, equal_nan=True)
