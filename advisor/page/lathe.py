"""At the lathe, from the drawing to the answer: what each screen shows, out of what its address says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.asked import allowed, materials
from advisor.asked.callout import WORDS, word_of
from advisor.asked.options import plain as plain_options
from advisor.asked.radius_text import read_radius
from advisor.asked.spelling import decided, evidence, parse
from advisor.ground.errors import CalloutError
from advisor.ground.units import Unreadable, read_quantity, shown
from advisor.ground.version import version
from advisor.page import labels
from advisor.page import state as states
from advisor.page.made import File, Move, Screen
from advisor.records import job_records
from advisor.rulebase.rulebook import KINDS
from advisor.show import ask as asks
from advisor.show import onescreen, reading, records, rows, sheet_content, sheet_pages
from advisor.study import changes, interview

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.asked.shop import Shop
    from advisor.ground.errors import InputError
    from advisor.page.made import Made
    from advisor.page.state import Records, State

EXAMPLES = ("R6 ±0.1", "R3/8", "2X R.125 ±.005", "R2.5 MAX", "SR10")
# What the third screen asks for, by shape: what is needed, and what helps.
ALSO = ("bore", "places", "finish", "general_tolerance")
CHANGED = (
    "quantity",
    "material",
    "skill",
    "stickout",
    "support",
    "tool",
    "general_tolerance",
)  # on the answer's own screen
CHOICES = {"support", "tool", *(name for name, option in plain_options().items() if option.kind == "words")}
LEAST_TOLD = 1.0  # mm: a least diameter under it says nothing to anybody


def ready() -> None:
    """Have read what the screens need."""
    records = states.Records()
    state = states.state_of([("radius", "R6 ±0.1"), ("shape", "rounded corner"), ("diameter", "40 mm")])
    where(state, records=records)
    size(state, records=records)
    answer(state, records=records)


def _input(name: str, state: State, **more: Any) -> dict[str, Any]:
    """A field of a form for something of the job."""
    return labels.field(name, state.fields.get(name, ""), **more)


# ---- 1 what the drawing says


def callout(state: State, *, wrong: Sequence[InputError] = (), **_: object) -> Screen:
    """The first screen: what stands at the radius."""
    units = [("", "as the shop works"), ("mm", "mm"), ("inch", "inch")]
    fields = [_input("radius", state, big=True), _input("units", state, type="choice", choices=units)]
    return Screen(
        "callout.html",
        400 if wrong else 200,
        fields=fields,
        wrong=wrong,
        elsewhere=labels.elsewhere(wrong, fields),
        examples=[(text, states.join("/lathe/where", {"radius": text})) for text in EXAMPLES],
        hidden=state.hidden("radius", "units"),
        place="lathe",
        same=_same(state),
    )


def _same(state: State, name: str = "ask") -> str:
    return states.command(state, name) if state.fields else ""


# ---- 2 where


def echo(state: State) -> list[tuple[str, str]]:
    """How what stands at the radius is read: list of (name, words). Raises CalloutError."""
    shop = states.shop_called(state.fields.get("shop"))
    fields = states.with_unit(state.fields)
    text = fields.get("radius")
    if text is None:
        raise CalloutError("radius", "", "is missing", "Write it as it stands on the drawing, such as R6 ±0.1.")
    try:
        written = parse(text)
    except Unreadable as wrong:
        raise CalloutError("radius", shown(text), wrong.problem, wrong.fix) from None
    if written.size is None:
        return [("Read as", "a full radius: half of what it is tied to")]
    units, why = _units(fields, shop)
    read = read_radius(
        text, units=units, general_tolerance=fields.get("general_tolerance"), inch_tolerances=shop.inch_tolerances
    )
    low, high = (wording.length(mm, units) for mm in (read.low, read.high))
    unit = "" if written.unit else f", {reading.reason_for(why)}"
    told = [
        ("Read as", f"{read.echo}{unit}"),
        ("R may be", f"{low.split(' (')[0]} to {high.split(' (')[0]}"),
        ("Tolerance", str(read.tolerance_from)),
    ]
    if read.count:
        told.append(("Places", f"{read.count} on each piece"))
    return told


def where(state: State, *, records: Records, **_: object) -> Screen:
    """The second screen: six sketches, one tap."""
    try:
        told = echo(state)
    except CalloutError as wrong:
        return callout(state, wrong=wrong.each)
    bare = state.without("form", "location", "shape")
    shapes = [
        {
            "name": name,
            "words": f"{place['form']}, on the {place['location']}",
            "address": bare.address("/lathe/size", shape=name),
            "picture": f"/drawing/shape/{name.replace(' ', '-')}.svg",
            "chosen": state.fields.get("shape") == name,
        }
        for name, place in interview.SHAPES.items()
    ]
    return Screen(
        "where.html",
        told=told,
        shapes=shapes,
        back=state.address("/lathe"),
        place="lathe",
        same=_same(state),
    )


# ---- 3 how large


def shape_of(state: State) -> tuple[str, str] | None:
    """The shape that is chosen: (location, form), or None."""
    place = interview.SHAPES.get(state.fields.get("shape", ""))
    if place is None and {"form", "location"} <= state.fields.keys():
        return state.fields["location"], state.fields["form"]
    return (place["location"], place["form"]) if place else None


def size(state: State, *, records: Records, **_: object) -> Made:
    """The third screen: the diameter, what the shape needs besides, and what else the drawing shows there."""
    shape = shape_of(state)
    if shape is None:
        return Move(state.without("shape", "form", "location").address("/lathe/where"))
    if "asked" in state.more:
        onward = state.without("asked")
        wrong = _wrong_sizes(onward)
        if not wrong:
            return Move(onward.address("/lathe/ask"))
        return _size_screen(onward, shape, wrong)
    return _size_screen(state, shape, ())


def _wrong_sizes(state: State) -> Sequence[InputError]:
    """What is wrong with the callout so far: errors."""
    shop = states.shop_called(state.fields.get("shop"))
    try:
        states.reader(shop)(state.fields)
    except CalloutError as wrong:
        return wrong.each
    return ()


def _size_screen(state: State, shape: tuple[str, str], wrong: Sequence[InputError]) -> Screen:
    ranges = _ranges(state, shape)
    needs = ["diameter"] + (["width", "depth"] if shape[0] == "outside diameter" else [])
    helps = [name for name in ("width", "depth") if name in allowed.sizes_of(*shape) and name not in needs]
    if shape == ("end", "convex"):
        helps = []  # its width is the diameter
    helps += [name for name in allowed.sizes_of(*shape) if name not in ("width", "depth")]
    helps += ["length"] if shape[0] == "corner" else []
    fields = [_input(name, state, told=ranges.get(name, ""), big=True) for name in needs]
    if len(needs) > 1:
        fields[1]["label"] += ", or"
        fields[2]["label"] += " instead"
    also = [_input(name, state, told=ranges.get(name, "")) for name in [*helps, *ALSO]]
    yes_no = [("", "no"), ("yes", "yes")]
    also += [_input(n, state, type="choice", choices=yes_no) for n, o in plain_options().items() if o.kind == "truth"]
    fields.append(_input("quantity", state, type="count", told="1 if you leave it out"))
    names = [field["name"] for field in [*fields, *also]]
    return Screen(
        "size.html",
        400 if wrong else 200,
        fields=fields,
        also=also,
        opened=any(field["value"] for field in also)
        or any(error.field in {f["name"] for f in also} for error in wrong),
        wrong=wrong,
        elsewhere=labels.elsewhere(wrong, [*fields, *also]),
        hidden=state.hidden(*names),
        picture=f"/drawing/shape/{_shape_name(shape).replace(' ', '-')}.svg",
        shape=_shape_name(shape),
        back=state.address("/lathe/where"),
        place="lathe",
        same=_same(state),
    )


def _shape_name(shape: tuple[str, str]) -> str:
    return next(name for name, place in interview.SHAPES.items() if (place["location"], place["form"]) == shape)


def _units(fields: Mapping[str, str], shop: Shop) -> tuple[str, str]:
    """The unit of bare numbers, and why. KeyError without a radius."""
    if fields.get("units"):
        return "inch" if word_of("units", fields["units"]) == "inch" else "mm", "stated"
    units, why = decided(evidence(fields["radius"], radius=True), states.shops.drawing_units(shop))
    return units or shop.units, why


def _ranges(state: State, shape: tuple[str, str]) -> dict[str, str]:
    """Between what each size may lie, in words: name -> text."""
    shop = states.shop_called(state.fields.get("shop"))
    fields = states.with_unit(state.fields)
    location, form = shape
    try:
        units, _ = _units(fields, shop)
        radius = read_radius(fields["radius"], units=units, inch_tolerances=shop.inch_tolerances, form=form).radius
    except (CalloutError, KeyError):
        return {}
    stated = {}
    for name in allowed.STATED:
        try:
            unit = "in" if units == "inch" else "mm"
            if fields.get(name):
                stated[name] = read_quantity(
                    fields[name], field=name, dimension="length", default_unit=unit, at_least=0.0
                )
        except CalloutError:
            continue
    largest = max(lathe.swing_over_bed for lathe in shop.lathes)
    told = {}
    for name in ("diameter", *allowed.sizes_of(location, form)):
        others = {key: mm for key, mm in stated.items() if key != name}
        if name in ("width", "depth"):
            others = {key: mm for key, mm in others.items() if key not in ("width", "depth")}
        found = allowed.allowed(name, others, radius=radius, location=location, form=form, largest=largest)
        told[name] = _range_words(found, name, units, largest)
    return told


def _range_words(found: tuple[float | None, float | None] | None, name: str, units: str, largest: float) -> str:
    if found is None:
        return ""
    low, high = found
    low = None if low is not None and low < LEAST_TOLD else low
    say = lambda mm: wording.rule_length(mm, units)  # noqa: E731
    if name == "diameter":
        top = f"{say(high)}" if high is not None else f"{say(largest)}, which is what swings over the bed"
        return f"{say(low)} to {top}" if low is not None else f"up to {top}"
    if low is None:
        return "" if high is None else f"up to {say(high)}"
    return f"from {say(low)}" if high is None else f"{say(low)} to {say(high)}"


# ---- 4 only what still matters


def ask(state: State, *, records: Records, **_: object) -> Made:
    """The fourth screen: the question that settles most, or on to the answer."""
    asked = state.more.get("asked")
    questions = interview.questions()
    if asked in questions:
        onward = state.without("asked")
        left = [fact for fact in questions[asked].facts if fact not in onward.fields]
        unknown = list(dict.fromkeys([*onward.unknown, *left]))
        onward = onward.having(unknown=",".join(unknown))
        return Move(onward.address("/lathe/ask"))
    step, talk = states.interview_step(state, records)
    if step.question is None:
        return Move(state.address("/lathe/answer"))
    if step.question.needed or step.outlook is None:
        return Move(state.address({"radius": "/lathe", "place": "/lathe/where"}.get(step.question.name, "/lathe/size")))
    found = step.outlook
    fields = [_fact(name, found, state) for name in step.question.facts if name in found.values or name in found.live]
    if found.choice is None:
        so_far = "So far nothing stands."
    else:
        so_far = f"So far: {found.choice}, which is the choice in {wording.chance(found.agreed)} of the ways tried."
    names = [field["name"] for field in fields]
    unknown = ",".join(dict.fromkeys([*state.unknown, *step.question.facts]))
    return Screen(
        "ask.html",
        question=step.question.asks,
        asked=step.question.name,
        none=step.question.none,
        fields=fields,
        so_far=so_far,
        reading=reading.sentence(found.callout),
        hidden=state.hidden(*names),
        skip=state.address("/lathe/ask", unknown=unknown),
        enough=state.address("/lathe/answer"),
        back=_back(state),
        place="lathe",
        same=states.command(state, "ask"),
    )


def _back(state: State) -> str:
    """The screen before: the last question that was not answered is asked again, else the sizes."""
    return state.address("/lathe/size", unknown=None)


def _fact(name: str, found: interview.Outlook, state: State) -> dict[str, Any]:
    """A field for one fact, with what hangs on it."""
    live = name in found.live
    told = asks.hangs(name, found.values.get(name, ()), found.callout) if live else ""
    if live and not told:
        told = f"turns the choice in {wording.chance(found.live[name])} of the ways in which the rest may lie"
    made = _input(name, state, told=told)
    if name in CHOICES or name in plain_options() and plain_options()[name].kind == "truth":
        words = list(WORDS[name])
        made |= {"type": "radios", "choices": [*((word, word) for word in words), ("", "not known")]}
    elif name == "material":
        made |= {"type": "list", "choices": [(word, word) for word in materials.materials()]}
    elif name in interview.WHOLE:
        made |= {"type": "count"}
    return made


# ---- 5 the answer


def answer(state: State, *, records: Records, **_: object) -> Screen:
    """The answer on one screen."""
    advice = states.answer(state, records)
    method = chosen(advice, state)
    nearest = advice.best is None
    shown_method = method or advice.shown
    numbers, aside = numbers_of(shown_method, advice) if shown_method else ([], [])
    table = rows.table_rows(shown_method, advice) if shown_method else None
    told = wording.headline(shown_method, advice) if shown_method else []
    harm, paper, general = wording.cautions_apart(shown_method or advice.ranked[0], advice)
    special = [*harm, *paper]
    return Screen(
        "answer.html",
        asked=wording.callout_line(advice),
        reading=reading.sentence(advice.callout),
        notes=reading.notes(advice.callout),
        shop=f"{advice.shop.name}, {advice.lathe.name}",
        tolerance="" if advice.values["tolerance_source"] == "written" else str(advice.callout.tolerance_from),
        stands=not nearest,
        method=shown_method.name if shown_method else "",
        headline=told,
        notice=records_notice(advice),
        numbers=numbers,
        aside=aside,
        table=table,
        why=_deciding(advice) if not nearest else "",
        whynot=[(one.name, wording.why_not(one, advice)) for one in advice.ranked] if nearest else [],
        wayout=_way_out(advice) if nearest else [],
        checks=rows.check_lines(shown_method, advice, usable=True)[:2] if shown_method else [],
        cautions=special,
        always=general,
        others=[
            {"name": one.name, "told": wording.against(one, advice), "address": _instead(state, one, advice)}
            for one in advice.ranked
            if one is not shown_method and not nearest
        ],
        assumed=_assumed(advice),
        changed=_changed(state, advice),
        hidden=state.hidden(*CHANGED, "method", "job"),
        job=states.job_number(state, shown_method, records),
        keeps=records.keeps() and shown_method is not None,
        kept=[*state.hidden("job")],
        do=state.address("/lathe/do", step=0) if shown_method else "",
        why_address=state.address("/lathe/why"),
        sheet=state.address("/lathe/sheet.pdf") if shown_method else "",
        work=state.address("/drawing/work.svg"),
        setup=state.address("/drawing/setup.svg") if shown_method else "",
        pictures=_picture_words(shown_method, advice),
        back=state.address("/lathe/size"),
        place="lathe",
        same=states.command(state.without("method")),
    )


def chosen(advice: Advice, state: State) -> MethodAdvice | None:
    """The method that the address names where it stands, else the recommended one; None where none stands."""
    name = state.flow.get("method")
    if name is None:
        return advice.best
    return sheet_content.chosen(advice, name)


def settable(advice: Advice, state: State) -> MethodAdvice:
    """The method that is set up: the chosen one, else the nearest. Raises CalloutError where none can be set."""
    method = chosen(advice, state) or advice.shown
    if method is None or method.setup is None:
        problem = "cannot be shown, since no method can be set"
        raise CalloutError("method", "", problem, "Look at the answer for what would help.")
    return method


def _instead(state: State, method: MethodAdvice, advice: Advice) -> str:
    """The address of the same answer with another method, '' where that will not do."""
    if method.rank is None:
        return ""
    return state.address("/lathe/answer", method=None if method is advice.best else method.name)


def records_notice(advice: Advice) -> list[str]:
    return [sentence for sentence, _ in records.notice(advice)]


def numbers_of(method: MethodAdvice, advice: Advice) -> tuple[list[sheet_content.Big], list[sheet_content.Big]]:
    """What is set, in order, and what is only to know: two lists of (label, number, rest, dial)."""
    listed = onescreen.in_order(method, advice)
    made = [(row, sheet_content.numbered(row)) for row in listed]
    main = [big for row, big in made if not sheet_content.aside(row)]
    return main, [big for row, big in made if sheet_content.aside(row)]


def _deciding(advice: Advice) -> str:
    return " ".join(wording.deciding(advice, onescreen.weights(advice)))


def _way_out(advice: Advice) -> list[str]:
    helps = wording.helps(advice, changes.equipment(advice))
    return [text for text in (helps, wording.to_settle(advice), *wording.shortfall(advice)) if text]


def _assumed(advice: Advice) -> dict[str, list[tuple[str, str]]]:
    """What was assumed: those that can change the method, and the others, as (name, value, address part)."""
    told = [(wording.assumption(entry, advice), bool(matters)) for entry, matters in advice.assumed]
    return {
        "matters": [(name, value) for (name, value, _), matters in told if matters],
        "rest": [(name, value) for (name, value, _), matters in told if not matters],
    }


def _changed(state: State, advice: Advice) -> list[dict[str, Any]]:
    """Fields on the answer's own screen: what is changed there changes the answer."""
    made = []
    for name in CHANGED:
        field = _input(name, state)
        value = advice.callout.general_tolerance if name == "general_tolerance" else getattr(advice.callout, name)
        field["like"] = wording.fact_value(name, value, advice.callout.units) if value is not None else ""
        if name in CHOICES:
            assumed = f"{value}, assumed"
            field |= {"type": "choice", "choices": [("", assumed), *((word, word) for word in WORDS[name])]}
        elif name == "material":
            field |= {"type": "list", "choices": [(word, word) for word in materials.materials()]}
        elif name == "quantity":
            field |= {"type": "count"}
        made.append(field)
    shops = [("", f"{advice.shop.name}, the usual one" if "shop" not in state.fields else "the usual one")]
    made.append(_input("shop", state, type="choice", choices=[*shops, *((name, name) for name in states.shop_names())]))
    return made


def _picture_words(method: MethodAdvice | None, advice: Advice) -> dict[str, str]:
    return {
        "work": f"The work to scale: {wording.callout_line(advice)}",
        "setup": f"The setup for {wording.the(method.name)}, from above, to scale" if method else "",
    }


# ---- by its number


def keep(state: State, *, records: Records, **_: object) -> Move:
    """Keep the answer by a short number, and show it with that."""
    state = state.having(job=None)
    advice = states.answer(state, records)
    method = settable(advice, state)
    fields = states.kept_fields(state)
    job = job_records.job_to_keep(advice=advice, method=method.name, fields=fields, program=version())
    number = job_records.Records(records.place()).keep(job)
    return Move(state.address("/lathe/answer", job=number))


def find(state: State, *, records: Records, **_: object) -> Move:
    """The answer of the job that was kept by a number."""
    text = state.more.get("number", "")
    if not text.isascii() or not text.isdecimal() or len(text) > 9:
        fix = "Give the number that stands on the sheet or on the answer, such as 7."
        raise CalloutError("number", shown(text), "is not the number of a job", fix)
    job, fields = job_records.kept_job(records.place(), int(text))
    fields = states.as_typed(fields)
    if fields.get("shop") == states.usual_name() and fields["shop"] not in states.shop_names():
        fields = {name: text for name, text in fields.items() if name != "shop"}
    found = states.state_of([*fields.items(), ("job", text)])
    best = states.answer(found, records).best
    return Move(found.address("/lathe/answer", method=None if best and best.name == job.method else job.method))


# ---- why, and on paper


def why(state: State, *, records: Records, **_: object) -> Screen:
    """Why this method, why not the others, what would change it."""
    advice = states.answer(state, records)
    method = advice.best
    sections = [("Why", wording.why(advice))]
    if method:
        told = [
            wording.because(f, advice) for f in method.findings if KINDS[f.kind].reason and not KINDS[f.kind].counts
        ]
        sections.append(("What counted", list(dict.fromkeys(told))))
    rivals = [one for one in advice.ranked if one is not method]
    sections.append(("Why not the others", [f"{_upper(one.name)}: {wording.why_not(one, advice)}" for one in rivals]))
    assumed = _assumed(advice)
    if assumed["matters"]:
        told = [
            f"{_upper(name)}: {value} is taken. Another value can change the method."
            for name, value in assumed["matters"]
        ]
        sections.append(("Assumed, and it matters", told))
    return Screen(
        "why.html",
        asked=wording.callout_line(advice),
        method=method.name if method else "",
        sections=[(title, lines) for title, lines in sections if lines],
        minutes=_minutes(advice),
        back=state.address("/lathe/answer"),
        place="lathe",
        same=states.command(state, "why"),
    )


def _minutes(advice: Advice) -> tuple[list[str], list[list[str]]]:
    """Each method's minutes by element: headings and rows of words."""
    heads = ["", *[words for words, _ in wording.parts(advice.ranked[0], 1)], "together"]
    lines = []
    for method in advice.ranked:
        parts = wording.parts(method, method.minutes["arcs"])
        cells = [wording.minutes(value) for _, value in parts]
        whole = wording.minutes(method.minutes["batch"]["mean"]) if method.rank else "will not do"
        lines.append([method.name, *cells, whole])
    return heads, lines


def sheet(state: State, *, records: Records, **_: object) -> File:
    """The sheet on paper."""
    advice = states.answer(state, records)
    paper = sheet_content.paper_named(None, inch=advice.callout.units == "inch")
    told = sheet_content.chosen(advice, state.flow.get("method"))
    number = states.job_number(state, told, records)
    made = sheet_content.sheet(advice, paper=paper, method=told.name, number=number)
    return File(sheet_pages.rendered(made, "pdf")[0], "application/pdf", "turn-radius.pdf")


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]
