"""On the bench beside the master: choose first, then see; what goes wrong; the map with one's own dot; the words."""

from functools import lru_cache
from html import escape

from advisor.answer import wording
from advisor.asked.options import plain as plain_options
from advisor.drawing.error_pictures import pictures, together
from advisor.ground.errors import CalloutError
from advisor.lists.pricing import Desk
from advisor.page import labels, svg
from advisor.page import state as states
from advisor.page.lathe import chosen
from advisor.page.made import File, Move, Screen
from advisor.rulebase import glossary
from advisor.show import map as maps
from advisor.show import practise as words
from advisor.study import mapping, practise

COUNT, MOST_SEED = 8, 1_000_000
ROOM = (120.0, 84.0)  # mm of paper for what goes wrong
SIZE = (72, 54)  # columns and rows of the map
WIDE, HIGH, LEFT, BELOW = 240.0, 180.0, 34.0, 26.0  # of the map, on no scale


# ---- which would you choose


def learn(state, **_):
    """One exercise of a ladder, and what may be chosen."""
    seed, number = _place(state)
    if seed is None:
        return Move(states.join("/learn", {"seed": practise.read_score(practise.place()).rounds, "n": 1}))
    one, advice = _exercise(seed, number)
    return Screen(
        "learn.html",
        number=number,
        count=COUNT,
        asked=wording.callout_line(advice),
        work=words.work(advice),
        methods=[(name, name.replace(" ", "-")) for name in practise.method_names()],
        nothing=practise.NOTHING,
        picture=states.join("/drawing/work.svg", _fields(one, advice)),
        hidden=[("seed", seed), ("n", number)],
        wrong_address=states.join("/learn/wrong", _fields(one, advice)),
        place="learn",
        same=f"turn-radius practise --count {COUNT} --seed {seed}",
    )


def _place(state):
    seed, number = state.more.get("seed", ""), state.more.get("n", "1")
    if not seed.isdecimal() or not number.isdecimal():
        return None, 1
    return min(int(seed[:7]), MOST_SEED), min(max(int(number[:3]), 1), COUNT)


@lru_cache(maxsize=4)
def _ladder(seed):
    return practise.ladder(seed, COUNT)


def _exercise(seed, number):
    one = _ladder(seed)[number - 1]
    return one, _advice(seed, number)


@lru_cache(maxsize=32)
def _advice(seed, number):
    return practise.advice_on(_ladder(seed)[number - 1])


def _fields(one, advice):
    """The callout of an exercise as an address has it."""
    c = one.callout
    fields = {"radius": c.text, "form": c.form, "location": c.location, "units": c.units, "shop": _shop_name(one)}
    for name in ("diameter", "width", "from_end", "shoulder_height", "length", "bore", "stickout"):
        value = getattr(c, name)
        if value and not (name == "width" and c.location == "end" and c.form == "convex"):
            fields[name] = f"{value:.6g} mm"
    fields |= {"material": c.material, "quantity": str(c.quantity), "places": str(c.places)}
    for name, option in plain_options().items():
        value = getattr(c, name)
        if value != option.usual and value is not False or option.kind == "words":
            fields[name] = "yes" if value is True else f"{value:g}" if option.kind == "number" else value
    fields |= {"support": c.support, "tool": c.tool}
    if c.hardness:
        fields["hardness"] = f"{c.hardness:.4g} HB"
    if c.general_tolerance:
        fields["general_tolerance"] = c.general_tolerance
    return fields


def _shop_name(one):
    """The name by which the page knows the shop of an exercise."""
    return next((name for name in states.shop_names() if states.shop_called(name).name == one.shop.name), "")


def choose(state, *, request, form, **_):
    """His choice beside the program's, and the reason that decides."""
    seed, number = _place(state)
    if seed is None:
        return Move("/learn")
    one, advice = _exercise(seed, number)
    text = state.more.get("choice", "")
    known = [*practise.method_names(), practise.NOTHING]
    if text not in known:
        raise CalloutError("choice", text, "is no method", f"Give one of {', '.join(known)}.")
    choice = None if text == practise.NOTHING else text
    judged = practise.judged(one, advice, choice)
    if request.method == "POST":
        path = practise.place()
        if path is not None:
            score = practise.read_score(path)
            practise.keep(practise.scored(score, one, judged)._replace(rounds=score.rounds + (number == COUNT)), path)
        return Move(states.join("/learn/choose", {"seed": seed, "n": number, "choice": text}))
    path = practise.place()
    score = practise.read_score(path)
    told = (
        glossary.find(advice.recommended if judged.right or choice is None or advice.best is None else choice)
        if advice.best or choice
        else None
    )
    onward = {"seed": seed, "n": number + 1} if number < COUNT else {"seed": score.rounds}
    return Screen(
        "judged.html",
        asked=wording.callout_line(advice),
        verdict=words.verdict(one, advice, choice, judged),
        right=judged.right,
        beside=words.beside(judged, advice) if judged.comparison else None,
        reasons=words.reasons(advice, choice, judged),
        term=told,
        score=[(name, right, asked) for name, (right, asked) in score.methods.items()],
        onward=states.join("/learn", {name: str(value) for name, value in onward.items()}),
        last=number == COUNT,
        map_address=states.join("/learn/map", _fields(one, advice)),
        wrong_address=states.join("/learn/wrong", _fields(one, advice)),
        answer=states.join("/lathe/answer", _fields(one, advice)),
        place="learn",
        same=f"turn-radius practise --count {COUNT} --seed {seed}",
    )


# ---- what goes wrong


def _wrongs(state, records):
    advice = states.answer(state, records)
    method = chosen(advice, state) or advice.shown
    if method is None or method.setup is None:
        raise CalloutError("picture", "", "is not to be had: no method can be set", "Take another callout.")
    return method, advice, pictures(method, advice)


def wrong(state, *, records, **_):
    """Picture first, then what was set wrong, then the answer."""
    method, advice, found = _wrongs(state, records)
    shown = [
        {
            "title": one.title,
            "says": one.says,
            "picture": state.address("/drawing/wrong.svg", which=n),
        }
        for n, one in enumerate(found)
    ]
    return Screen(
        "wrong.html",
        asked=wording.callout_line(advice),
        method=method.name,
        css=method.name.replace(" ", "-"),
        shown=shown,
        answer=state.address("/lathe/answer"),
        place="learn",
        same=f"{states.command(state)} --picture",
    )


def wrong_picture(state, *, records, **_):
    _, _, found = _wrongs(state.without("which"), records)
    which = state.more.get("which", "0")
    one = found[min(int(which), len(found) - 1) if which.isdecimal() and len(which) < 4 else 0]
    picture = together([one], room=ROOM)
    # The title would tell what was set wrong before anybody has thought about it.
    picture.labels[:] = [
        label for label in picture.labels if not label.words.startswith(one.title.upper()) and label.words != one.title
    ]
    return File(
        svg.drawn(picture, says="The arc as it should be and as it comes out, the error drawn much too large").encode(),
        "image/svg+xml",
        keep=True,
    )


# ---- the map


SLID = ("radius", "quantity", "skill", "general_tolerance")


def map_page(state, *, records, **_):
    """Where each method wins, with this callout's dot, and what may be moved."""
    if "radius" not in state.fields:
        state = states.state_of(
            [("radius", "R6 ±0.1"), ("shape", "rounded corner"), ("diameter", "40 mm"), ("quantity", "12")]
        )
    survey, advice = _surveyed(state, records)
    shares = [
        (
            maps.region_name(place, survey.methods),
            maps.region_name(place, survey.methods).replace(" ", "-"),
            wording.percent(share),
        )
        for place, share in survey.shares.items()
    ]
    fields = [
        {"name": name, "label": labels.label(name), "like": labels.like(name), "value": state.fields.get(name, ""), "type": "text",
         "told": "", "choices": (), "big": False}
        for name in ("radius", "diameter", "quantity", "material")
    ]  # fmt: skip
    fields.append(fields[0] | {"name": "skill", "label": labels.label("skill"), "value": state.fields.get("skill", ""), "type": "choice",
                               "choices": [("", "journeyman"), ("apprentice", "apprentice"), ("expert", "expert")]})  # fmt: skip
    return Screen(
        "map.html",
        asked=wording.callout_line(advice),
        method=advice.recommended or "no method stands",
        css=(advice.recommended or "no method stands").replace(" ", "-"),
        picture=state.address("/drawing/map.svg"),
        shares=shares,
        fields=fields,
        hidden=state.hidden(*(field["name"] for field in fields)),
        inside=survey.inside,
        answer=state.address("/lathe/answer"),
        place="learn",
        same=states.command(state, "map"),
    )


def _surveyed(state, records):
    advice = states.answer(state, records)
    return _survey(advice), advice


@lru_cache(maxsize=8)
def _survey_of(key, advice_of):
    advice = advice_of.advice
    axes = {
        n: mapping.axis_for(name, advice.callout, option=f"--{n}", low=None, high=None)
        for n, name in (("x", "quantity"), ("y", "tolerance"))
    }
    return mapping.survey(advice.callout, advice.shop, rules=Desk(advice.shop, ()).rules, size=SIZE, **axes)


class _Of:
    """An Advice beside a key that can be looked up."""

    def __init__(self, key, advice):
        self.key, self.advice = key, advice

    def __hash__(self):
        return hash(self.key)

    def __eq__(self, other):
        return self.key == other.key


def _survey(advice):
    key = repr(advice.callout) + advice.shop.name
    return _survey_of(key, _Of(key, advice))


def map_picture(state, *, records, **_):
    """The map as a picture: the methods' colours and hatches, the dot of this callout."""
    survey, advice = _surveyed(state, records)
    rows, columns = survey.best.shape
    wide, high = WIDE / columns, HIGH / rows
    parts = [_patterns(survey.methods)]
    for row in range(rows):
        start = 0
        for column in range(1, columns + 1):
            if column == columns or survey.best[row, column] != survey.best[row, start]:
                place = int(survey.best[row, start])
                top = HIGH - (row + 1) * high
                box = f'x="{LEFT + start * wide:.2f}" y="{top:.2f}" width="{(column - start) * wide + 0.2:.2f}" height="{high + 0.2:.2f}"'
                if place != mapping.IMPOSSIBLE:
                    parts.append(f'<rect {box} fill="url(#p{max(place, -1) + 1})"/>')
                start = column
    parts += _scales(survey)
    if survey.inside:
        x, y, _ = survey.here
        across, up = _along(survey.x, x) * WIDE + LEFT, HIGH - _along(survey.y, y) * HIGH
        parts.append(
            f'<circle cx="{across:.1f}" cy="{up:.1f}" r="5" fill="#fff" stroke="{svg.INK}" stroke-width="2.5"/><circle cx="{across:.1f}" cy="{up:.1f}" r="1.8" fill="{svg.INK}"/>'
        )
    says = escape(f"Where each method wins, by pieces and tolerance. Here: {advice.recommended or 'no method stands'}")
    box = f"0 -4 {LEFT + WIDE + 8:.0f} {HIGH + BELOW + 6:.0f}"
    text = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" font-family="{svg.FACE}" font-size="7"><title>{says}</title>{"".join(parts)}</svg>'
    return File(text.encode(), "image/svg+xml", keep=True)


def _along(axis, value):
    import math

    if axis.logarithmic:
        return (math.log(value) - math.log(axis.low)) / (math.log(axis.high) - math.log(axis.low))
    return (value - axis.low) / (axis.high - axis.low)


def _patterns(methods):
    """Fill and hatch of each method, as on the map that `turn-radius map` draws."""
    looks = [maps.NO_METHOD_LOOK, *(maps.LOOKS[name] for name in methods)]
    lines = {"/": "M0 8L8 0", "\\": "M0 0L8 8", "|": "M4 0V8", "-": "M0 4H8", "x": "M0 0L8 8M0 8L8 0"}
    made = []
    for n, (fill, hatch) in enumerate(looks):
        line = lines.get(hatch[0])
        drawn = (
            f'<path d="{line}" stroke="#000" stroke-opacity=".35" stroke-width="1" fill="none"/>'
            if line
            else '<circle cx="4" cy="4" r="1" fill-opacity=".4"/>'
        )
        made.append(
            f'<pattern id="p{n}" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" fill="{fill}"/>{drawn}</pattern>'
        )
    return f"<defs>{''.join(made)}</defs>"


def _scales(survey):
    """Round values along both axes, and what they are."""
    units, parts = survey.units, []
    for axis, across in ((survey.x, True), (survey.y, False)):
        factor = 25.4 if units == "inch" and axis.name != "quantity" else 1.0
        for value in mapping.round_values(axis, factor=factor):
            share = (
                _along(axis, value * (factor if axis.name != "quantity" else 1.0))
                if factor != 1.0
                else _along(axis, value)
            )
            if not -0.001 <= share <= 1.001:
                continue
            label = f"{value:g}"
            if across:
                parts.append(
                    f'<text x="{LEFT + share * WIDE:.1f}" y="{HIGH + 9:.1f}" text-anchor="middle" fill="{svg.INK}">{label}</text>'
                )
            else:
                parts.append(
                    f'<text x="{LEFT - 3:.1f}" y="{HIGH - share * HIGH + 2.5:.1f}" text-anchor="end" fill="{svg.INK}">{label}</text>'
                )
    x, y = escape(maps.axis_title(survey.x, units)), escape(maps.axis_title(survey.y, units))
    parts.append(
        f'<text x="{LEFT + WIDE / 2}" y="{HIGH + 20}" text-anchor="middle" fill="{svg.INK}" font-size="8">{x}</text>'
    )
    parts.append(
        f'<text x="8" y="{HIGH / 2}" text-anchor="middle" fill="{svg.INK}" font-size="8" transform="rotate(-90 8 {HIGH / 2})">{y}</text>'
    )
    parts.append(f'<rect x="{LEFT}" y="0" width="{WIDE}" height="{HIGH}" fill="none" stroke="{svg.INK}"/>')
    return parts


# ---- words


def word(state, **_):
    """A word of the trade with its sketch, or all of them."""
    asked = state.more.get("name")
    terms = [(name, states.join("/word", {"name": name})) for name in sorted(glossary.terms(), key=str.lower)]
    term = glossary.find(asked) if asked else None
    see = [(name, states.join("/word", {"name": name})) for name in term.see] if term else []
    import shlex

    return Screen(
        "word.html",
        term=term,
        see=see,
        terms=terms,
        place="learn",
        same=f"turn-radius word {shlex.quote(asked) if asked else ''}".strip(),
    )
