"""The words of an answer: plain data in, sentences out. Nothing here prints."""

from __future__ import annotations

import itertools
import math
import re
from typing import TYPE_CHECKING

from advisor.asked.callout import LENGTHS
from advisor.formulas.by_rule import about, at_least, is_rough, roughly
from advisor.formulas.numeric import SAME_LENGTH, both, where
from advisor.ground import dials
from advisor.ground.folders import rule_tables
from advisor.ground.methods import methods, names_where
from advisor.ground.units import FOOT, HORSEPOWER, INCH, nearest_fraction, show_length

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from re import Match
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.asked.callout import Assumed
    from advisor.formulas.numeric import Truth
    from advisor.rulebase.rulebook import Finding, Name


_MENTION = re.compile(r"\{([a-z0-9_]+)\}")
CHANCES = ("_in_tolerance", "_chance", "_chance_if_proved")
POUND = 4.4482216  # N
STOCK_STEP = 0.05  # mm, of metric stock sizes; a 64th of an inch that falls on one, such as 1/4 in, is an inch size
ABOUT_PAPER = ("accuracy", "proof")  # topics whose cautions keep a part from the scrap, not a hand from harm
NO_POSITION = "position not given: take it from the drawing"
# What is set along the work and hangs on where a groove or crown lies.
BY_POSITION = {"from_end", "centre_from_face", "filing_stickout"} | names_where("by_position")


def number(value: float, digits: int = 2) -> str:
    """A number with at most so many decimals and no trailing zeros.

    >>> number(12.50), number(3.0), number(0.126, 3)
    ('12.5', '3', '0.126')
    """
    if not math.isfinite(value):
        return "unknown" if value != value else "no end of"
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def minutes(value: float) -> str:
    """Minutes as a shop says them: tenths under ten, whole ones above.

    >>> minutes(3.24), minutes(87.4), minutes(math.inf)
    ('3.2 min', '87 min', 'no end of minutes')
    """
    if value == math.inf:
        return "no end of minutes"
    return f"{number(value, 1 if abs(value) < 10 else 0)} min"


def percent(share: float) -> str:
    """A share in whole per cent, never all or nothing of it.

    >>> percent(0.538), percent(0.9999), percent(0.001)
    ('54 %', 'over 99 %', 'under 1 %')
    """
    if share > 0.99:
        return "over 99 %"
    if share < 0.01:
        return "under 1 %"
    return f"{share * 100:.0f} %"


def chance(share: float) -> str:
    """A chance in plain words: so many of 4, of 10, of 20 or of 100, as near as whole per cent, and never a false certainty.

    >>> chance(0.95), chance(0.9), chance(0.753), chance(0.538), chance(0.012)
    ('19 of 20', '9 of 10', '3 of 4', '54 of 100', '1 of 100')
    >>> chance(0.9999), chance(0.001)
    ('over 99 of 100', 'under 1 of 100')
    """
    if share > 0.99:
        return "over 99 of 100"
    if share < 0.01:
        return "under 1 of 100"
    hundredths = round(share * 100)
    if hundredths in (25, 50, 75):
        return {25: "1 of 4", 50: "1 of 2", 75: "3 of 4"}[hundredths]
    if hundredths % 10 == 0 and hundredths < 100:
        return f"{hundredths // 10} of 10"
    return f"{hundredths // 5} of 20" if hundredths % 5 == 0 else f"{hundredths} of 100"


def money(amount: float | None, advice: Advice) -> str:
    """An amount in the shop's money; '' where it is not known.

    >>> from types import SimpleNamespace
    >>> money(12.5, SimpleNamespace(shop=SimpleNamespace(currency="EUR")))
    '12.50 EUR'
    """
    return "" if amount is None else f"{amount:,.2f} {advice.shop.currency}".strip()


def length(mm: float, units: str) -> str:
    """A length to read off a screen: to a thousandth of a millimetre, or to a ten-thousandth of an inch and its
    fraction."""
    return show_length(mm, units)


def as_marked(mm: float, units: str) -> str:
    """A gauge, pin, ball or nose by its stock size, as it is marked: a 64th of an inch as a fraction and a round metric size
    in millimetres, whatever the drawing's units; what is neither as any length.

    mm: its size [mm]; units: of the drawing.

    >>> as_marked(25.4 * 15 / 64, "mm"), as_marked(3.0, "inch"), as_marked(12.7, "mm"), as_marked(0.635, "inch")
    ('15/64 in', '3 mm', '1/2 in', '.0250 in')
    """
    fraction = nearest_fraction(mm / INCH)
    if math.isfinite(mm) and abs(mm * 64 / INCH - round(mm * 64 / INCH)) * INCH / 64 < SAME_LENGTH:
        return f"{fraction} in"
    if math.isfinite(mm) and abs(mm / STOCK_STEP - round(mm / STOCK_STEP)) * STOCK_STEP < SAME_LENGTH:
        return f"{number(mm)} mm"
    return length(mm, units)


def rule_length(mm: float, units: str) -> str:
    """A length as it is read off a rule or a calliper: to a hundredth of a millimetre or a thousandth of an inch.

    >>> rule_length(171.5, "mm"), rule_length(34.925, "inch")
    ('171.5 mm', '1.375 in')
    """
    return f"{number(mm / 25.4, 3)} in" if units == "inch" else f"{number(mm)} mm"


NOSES = {method.nose for method in methods().values()}
GAUGES = ("leaf", "pins", "ball")  # ways of proof whose gauge is such a one


def is_marked(name: str, declared: Any) -> bool:
    """Whether a length is told as it is marked on a gauge or a tool."""
    return declared.told == "as marked" or name in NOSES


def quantity(name: str, declared: Any, value: Any, *, units: str, currency: str = "") -> str:
    """One value of the rule base as a reader sees it, in the drawing's units."""
    if declared.holds == "words":
        return str(value)
    if declared.holds == "truth":
        return "yes" if value else "no"
    if declared.holds == "list":
        return ", ".join(number(v, 3) for v in value)
    if name.endswith(CHANCES):
        return chance(value)
    unit = declared.unit or ""
    if unit == "mm":
        if declared.told == "roughly" and units == "inch" and is_rough(value, units):
            return f"{number(value / INCH)} in".removeprefix("0")
        return as_marked(value, units) if is_marked(name, declared) else length(value, units)
    if unit == "min":
        return minutes(value)
    if unit == "money":
        return f"{number(value)} {currency}".strip()
    return in_unit(value, unit, inch=units == "inch")


def in_unit(value: float, unit: str, *, inch: bool) -> str:
    """A number in a unit of the rule base with the unit that a reader of such drawings is used to.

    >>> in_unit(36.0, "m/min", inch=False), in_unit(36.0, "m/min", inch=True), in_unit(1.5, "kW", inch=True)
    ('36 m/min', '118 ft/min', '2.01 hp')
    """
    if unit == "deg":
        return f"{number(value, 1)}°"
    if unit == "mm**2":
        return f"{number(value / INCH**2, 2)} sq in" if inch else f"{number(value / 100, 1)} cm²"
    if unit == "mm**3":
        return f"{number(value / INCH**3, 3)} cu in" if inch else f"{number(value / 1000, 1)} cm³"
    if unit == "m/min":
        return f"{number(value / FOOT, 0)} ft/min" if inch else f"{number(value, 0 if value >= 10 else 1)} m/min"
    if unit == "m":
        return f"{number(value / FOOT, 0)} ft" if inch else f"{number(value, 0)} m"
    if unit == "kW":
        return f"{number(value / HORSEPOWER, 2)} hp" if inch else f"{number(value, 2)} kW"
    if unit == "N":
        return f"{number(value / POUND, 0)} lbf" if inch else f"{number(value, 0)} N"
    if unit == "um":
        return f"{number(value / (INCH / 1000), 0)} µin" if inch else f"{number(value, 2)} µm"
    if unit == "count":
        return number(value, 0 if value >= 2 else 1)
    if unit in ("share", ""):
        return number(value, 3 if abs(value) < 0.1 else 2)
    return f"{number(value, 1)} {unit}"


def speed(rpm: float) -> str:
    """A spindle speed.

    >>> speed(355.0), speed(22.4)
    ('355 rpm', '22.4 rpm')
    """
    return f"{number(rpm, 1)} rpm"


def swing(degrees: float) -> str:
    """An angle to swing a tool through, to a tenth of a degree.

    >>> swing(23.578)
    '23.6°'
    """
    return f"{number(degrees, 1)}°"


# Ways in which the vocabulary lets a length be told, and how it is rounded for each.
ROUNDED = {"at least": at_least, "about": about, "roughly": roughly}
AT_LEAST = names_where("at_least")


def say(text: str, advice: Advice, *, told_to_do: bool = False) -> str:
    """A sentence of the rule base with its values put in, in the drawing's units.

    told_to_do: of a step, where numbers are rounded to what can be set, and what the dial shows stands beside every one
    that is set by a dial which counts otherwise than the drawing. Elsewhere a length is told as closely as its name in
    the vocabulary says, but never so that it seems to be on another side of a second one.
    """
    units, currency = advice.callout.units, advice.shop.currency
    told = as_told(_MENTION.findall(text), advice.values, advice.rules.names, units, told_to_do=told_to_do)

    def put(match: Match[str]) -> str:
        name = match[1]
        if name in BY_POSITION and advice.callout.position_open:
            return NO_POSITION
        shown = quantity(name, advice.rules.names[name], told[name], units=units, currency=currency)
        reading = dials.reading_of(name, advice) if told_to_do else None
        if reading is None or not dials.differs(reading, units):
            return shown
        return f"{shown} ({dials.aside(reading)})"

    return _MENTION.sub(put, text)


def as_told(
    names: Sequence[str],
    values: Mapping[str, Any],
    declared: Mapping[str, Name],
    units: str,
    *,
    told_to_do: bool = False,
) -> dict[str, Any]:
    """The values of some names as one sentence tells them: name -> value, numbers or arrays as they were.

    names: that the sentence mentions; values: name -> value; declared: of the rule base; units: of the drawing.
    """
    told = {name: values[name] for name in names}
    for name in told:
        how = "at least" if name in AT_LEAST else declared[name].told
        if how in ROUNDED and declared[name].unit == "mm" and not (told_to_do and how == "roughly"):
            told[name] = ROUNDED[how](values[name], units)
    changed = [name for name in told if told[name] is not values[name]]
    if told_to_do or not changed:
        return told
    lengths = [name for name in told if declared[name].unit == "mm"]
    alike: Truth = True
    for one, other in itertools.permutations(lengths, 2):
        alike = both(alike, (told[one] < told[other]) == (values[one] < values[other]))
    return told | {name: where(alike, told[name], values[name]) for name in changed}


def because(finding: Finding, advice: Advice) -> str:
    """The reason of a finding's rule as a sentence."""
    return say(finding.rule.because, advice)


def spoken(finding: Finding, advice: Advice) -> str:
    """What a finding itself says: its caution, advice or step; its reason where it says nothing of its own."""
    return say(finding.text, advice, told_to_do=finding.kind == "says")


# ---- why


def why(advice: Advice) -> list[str]:
    """Two or three sentences on why the recommended method wins, or why nothing stands."""
    if advice.best is None:
        return [first_need(advice)]
    best, sentences = advice.best, []
    for_it = [f for f in best.findings if f.kind == "favours"]
    if for_it:
        sentences.append(spoken(for_it[0], advice))
    sentences += _against_others(advice, best)
    if not sentences:
        sentences.append(_what_is_left(best))
    return sentences[:3]


def _what_is_left(best: MethodAdvice) -> str:
    return f"{_upper(the(best.name))} is what the drawing and this shop leave."


def _against_others(advice: Advice, best: MethodAdvice) -> list[str]:
    rivals = [m for m in advice.ranked if m is not best]
    usable = [m for m in rivals if m.rank]
    sentences = []
    if usable:
        second = usable[0]
        behind = amount(advice.measure(second) - advice.measure(best), advice)
        sentences.append(
            f"Next best is {the(second.name)}, about {behind} {WORSE[advice.by]}: {_where_it_goes(second, advice)}."
        )
    better = better_but_out(advice)
    if better:
        sentences.append(
            f"{_upper(the(better.name))} would be {BETTER[advice.by]} but will not do. {_because_out(better, advice)}"
        )
    if not usable and not better and rivals:
        reason = next((r for r in rivals if r.setup), rivals[0])
        sentences.append(
            f"Nothing else stands here; {the(reason.name)}, for one: {lower(_because_out(reason, advice))}"
        )
    return sentences


def better_but_out(advice: Advice) -> MethodAdvice | None:
    """The method that would take the fewest minutes or cost least, and less than the recommended one, were it not ruled
    out; None where there is none."""
    most = advice.measure(advice.winner)
    found = [m for m in advice.ranked if not m.rank and m.setup and advice.measure(m) < most]
    return min(found, key=advice.measure, default=None)


def headline(method: MethodAdvice, advice: Advice) -> Any:
    """Minutes for the batch and a piece, money, and the chance of a good piece, as two lines of words."""
    m, quantity = method.minutes, advice.callout.quantity
    whole = "for the batch" if quantity > 1 else "for the piece"
    each = minutes(m["per_piece"]["mean"] * advice.callout.places)
    alone = f", {each} of it a piece" if quantity > 1 else ""
    spent = money(method.cost, advice)
    if spent and "told.half_ball" in advice.callout.notes:
        spent += f" for {rule_tables('callouts.toml')['ball']['short']}"
    told = [
        f"{_upper(chance(method.in_tolerance))} in tolerance.",
        *([BY_COST] if advice.by == "cost" else []),
        close_call(advice),
    ]
    return [
        f"{minutes(m['batch']['mean'])} {whole} (4 in 5 under {minutes(m['batch']['p80'])}){alone}{f', {spent}' if spent else ''}",
        " ".join(filter(None, told)),
    ]


def deciding(advice: Advice, weights: Sequence[Any]) -> list[str]:
    """The one reason that decides: what is favoured where that alone turns the choice, or else where the minutes go
    against the next best; where nothing else stands, what speaks for the method. Sentences, of which the first will do
    alone.

    weights: of the recommended method against the next best (changes.Weight), strongest first.
    """
    best = advice.winner
    favours = [f for f in best.findings if f.kind == "favours"]
    if len(advice.order) < 2:
        told = spoken(favours[0], advice) if favours else _what_is_left(best)
        return [f"{told} Nothing else stands."]
    turning = {weight.finding.rule.id for weight in weights if weight.flips}
    second = advice.ranked[1]
    where = f"Next best is {the(second.name)}: {_where_it_goes(second, advice)}."
    return [*[spoken(f, advice) for f in favours if f.rule.id in turning][:1], where]


def _upper(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _because_out(method: MethodAdvice, advice: Advice) -> str:
    """Why a method will not do: the first rule that puts it out, or that its minutes have no end."""
    found = method.ruled_out_by
    return because(found[0], advice) if found else "By the shop's own figures it would never be done."


def close_call(advice: Advice) -> str:
    """A sentence that the next method lies near; '' where it does not."""
    if not advice.close_call:
        return ""
    near = number(advice.values["close_call_share"] * 100, 0)
    return f"Close call: {the(advice.order[1])} lies within {near} % of {'its cost' if advice.by == 'cost' else 'it'}."


_HOW = {
    "leaf": "leaf of the radius gauge, against the light",
    "scribed template": "template of thin sheet, scribed and filed to the line, to be made",
    "loupe": "loupe with a scale",
    "ring": "ring laid on the dome, depth micrometer through its bore to the crest",
    "ball": "ball of 2R in the fillet: micrometer over it and the far side of the small diameter; no light behind it",
    "pins": "two pins side by side in the groove: micrometer over both, less over one alone",
    "comparator": "optical comparator, against an arc of this radius",
}


def how(way: str, values: Mapping[str, float]) -> str:
    """What is done to prove the radius in one of the ways of proof.WAYS, on this shape, as words."""
    convex, end = values["convex"], values["end"]
    if way == "template":
        made_from = "plate bored to 2R" if convex else "plug turned to 2R"
        return f"{made_from} as a template, to be made"
    if way == "straightedge":
        return f"straightedge {'on the crest' if convex else 'across the mouth'}, feelers under it"
    if way != "depth":
        return _HOW[way]
    if end and convex:
        top = "the edge of the bore" if values["bored"] else "the crest"
        return f"height gauge, or an indicator and the carriage, from {top} to the rim; micrometer for the width"
    if end:
        bottom = "the edge of the bore" if values["bored"] else "the middle"
        return f"depth micrometer with a pointed rod, across the mouth, down to {bottom}; caliper for the width"
    if convex:
        return "micrometer: half the difference of the diameters at the crest and at the edge; caliper for the width"
    return "depth micrometer with a pointed rod, along the work across the groove; caliper for the width"


def cannot_be_used(check: Mapping[str, Any], advice: Advice) -> str:
    """Why a way of proving the radius cannot be used here; '' where it can."""
    if check["use"] != "cannot be used here":
        return ""
    if check["sees_mm"] is not None:
        allowed = length(advice.values["profile_tolerance"], advice.callout.units).split(" (")[0]
        return f"the profile may be off by {allowed} only"
    return {
        "leaf": "no leaf lies inside the tolerance",
        "depth": "the rim of so deep an arc is nearly a tangent, and its depth says next to nothing of R",
        "comparator": "a hollow in an end casts no shadow",
    }[check["way"]]


def cautions(method: MethodAdvice, advice: Advice) -> list[str]:
    """Cautions for a method: what this very job brings up first, the standing ones after."""
    ordered = sorted(method.cautions, key=lambda finding: finding.rule.kind == "caution")
    return list(dict.fromkeys(spoken(finding, advice) for finding in ordered))


def cautions_apart(method: MethodAdvice, advice: Advice) -> tuple[list[str], list[str], list[str]]:
    """Cautions for a method -> (what this very job brings up for hands, tool and work, as sentences; what it brings up
    for gauging and for the drawing; of the standing ones what has to be said on any screen, in a few words each)."""
    special = [f for f in method.cautions if f.rule.kind != "caution"]
    paper = [f for f in special if f.rule.id.partition(".")[0] in ABOUT_PAPER and not f.rule.tells]
    told = list(dict.fromkeys(spoken(f, advice) for f in special if f not in paper))
    of_paper = list(dict.fromkeys(spoken(f, advice) for f in paper))
    general = [say(f.rule.brief, advice) for f in method.cautions if f.rule.kind == "caution" and f.rule.brief]
    return told, of_paper, list(dict.fromkeys(general))


def advised(method: MethodAdvice, advice: Advice) -> list[str]:
    """What rules advise for a method, and then what they advise for any."""
    own = [f for f in method.findings if f.kind == "advises"]
    shared = [f for f in advice.outcome.findings if f.kind == "advises" and not f.methods]
    return list(dict.fromkeys(spoken(f, advice) for f in own + shared))


def the(name: str) -> str:
    """A method with its article; freehand turning has none.

    >>> the("form tool"), the("freehand")
    ('the form tool', 'freehand turning')
    """
    known = methods().get(name)
    return known.spoken if known and known.spoken else f"the {name}"


def lower(sentence: str) -> str:
    """A sentence to go on with after a colon."""
    head = sentence.split(" ", 1)[0]
    keep = head.isupper() or any(c.isdigit() for c in head)
    return sentence if keep else sentence[:1].lower() + sentence[1:]


def parts(method: MethodAdvice, arcs: float) -> list[tuple[str, float]]:
    """A method's batch minutes by element: list of (words, minutes)."""
    m = method.minutes
    return [
        ("tooling", m["tooling"]["mean"]),
        ("setup", m["setup"]["mean"]),
        ("correcting the first trial", m["resetting"]),
        ("the pieces", m["per_piece"]["mean"] * arcs),
        ("misses", m["misses"] * arcs),
        ("regrinding for wear", m["wear"] * arcs),
    ]


def _where_it_goes(second: MethodAdvice, advice: Advice) -> str:
    """What most of the lead over another method is made of: minutes of a part, or money for stock where that counts and
    is more."""
    best, arcs = advice.winner, advice.winner.minutes["arcs"]
    gaps = [
        (theirs - ours, words, ours, theirs)
        for (words, ours), (_, theirs) in zip(parts(best, arcs), parts(second, arcs), strict=True)
    ]
    gap, words, ours, theirs = max(gaps)
    if advice.by == "cost":
        stock = [stock_money(method, advice) for method in (best, second)]
        if stock[1] - stock[0] > gap / 60 * advice.shop.hourly_rate:
            against = f" against {money(stock[0], advice)}" if stock[0] >= 0.005 else ""
            return f"the stock for its tooling costs {money(stock[1], advice)}{against}"
    verb = "take" if words in ("the pieces", "misses") else "takes"
    against = f" against {minutes(ours)}" if ours >= 0.5 else ""
    return f"{words} {verb} {minutes(theirs)}{against}"


def stock_money(method: MethodAdvice, advice: Advice) -> float:
    """What of a method's cost is not time: the stock for its tooling."""
    return method.cost - method.minutes["batch"]["mean"] / 60 * advice.shop.hourly_rate


def why_not(method: MethodAdvice, advice: Advice) -> str:
    """One line on a method that is not recommended: why it will not do, or how much longer it takes."""
    if method.rank is None:
        return _because_out(method, advice)
    return f"{_behind(method, advice)}: {_where_it_goes(method, advice)}."


def against(method: MethodAdvice, advice: Advice) -> str:
    """A method beside the recommended one in a few words: how much longer and dearer, or why it will not do."""
    if method.rank is None:
        return _because_out(method, advice)
    told = _behind(method, advice)
    if advice.by == "cost":
        more = method.minutes["batch"]["mean"] - advice.winner.minutes["batch"]["mean"]
        same, shown = "takes as long", minutes(abs(more))
    elif method.cost is None or advice.winner.cost is None:
        return told
    else:
        more = method.cost - advice.winner.cost
        same, shown = "costs the same", money(abs(more), advice)
    if abs(more) < (0.05 if advice.by == "cost" else 0.005):
        return f"{told}, {same}"
    other = "minutes" if advice.by == "cost" else "cost"
    return f"{told}, {shown} {WORSE[other] if more > 0 else BETTER[other]}"


BY_COST = "Chosen by cost."
NOTHING_PROVES = "Nothing in this shop proves it."
# By what methods are chosen by, or compared in beside it.
WORSE = {"minutes": "longer", "cost": "dearer"}
BETTER = {"minutes": "quicker", "cost": "cheaper"}
_TIMES = {"minutes": "as long", "cost": "the cost"}


def amount(value: float, advice: Advice) -> str:
    """Minutes or money, whichever the methods are chosen by."""
    return money(value, advice) if advice.by == "cost" else minutes(value)


def _behind(method: MethodAdvice, advice: Advice) -> str:
    """`21 min longer (29 %)`, `35 min longer (3.3 times as long)`, `5.41 EUR dearer (9 %)`."""
    now = advice.measure(advice.winner)
    more = advice.measure(method) - now
    if not now:
        return f"{amount(more, advice)} {WORSE[advice.by]}"
    share = more / now
    times = f"{number(1 + share, 0 if share > 9 else 1)} times {_TIMES[advice.by]}"
    return f"{amount(more, advice)} {WORSE[advice.by]} ({f'{number(share * 100, 0)} %' if share <= 1 else times})"


_RESCUES = {
    "support": "with a {value}",
    "stickout": "standing out no more than {value}",
    "tool": "with a {value} tool",
    "lathe": "on the {value}",
    "tolerance": "with ±{value} on the radius",
}


def first_need(advice: Advice) -> str:
    """The smallest changes that would let a method stand, when nothing does."""
    found = _rescued(advice)
    if found:
        return f"What would help: {'; '.join(found[:3])}."
    return f"No change of holding, tool or tolerance alone helps. {_needs_of_nearest(advice)}".strip()


def _rescued(advice: Advice) -> list[str]:
    from advisor.answer.rescue import rescues

    found = []
    for rescue in rescues(advice):
        value = length(rescue.value, advice.callout.units) if isinstance(rescue.value, float) else rescue.value
        if rescue.name == "support" and value == "chuck":
            found.append(f"held in the chuck alone {the(rescue.method)} would do")
        else:
            found.append(f"{_RESCUES[rescue.name].format(value=value)} {the(rescue.method)} would do")
    return found


def helps(advice: Advice, equipment: Sequence[Any]) -> str:
    """What would help where no method stands, in one sentence: changes of the holding, the tool or the drawing, and
    equipment that the shop lacks (changes.Gain)."""
    found = _rescued(advice)[:3] + [f"with {gain.what} {the(gain.method)} would do" for gain in equipment[:2]]
    if found:
        return f"{_upper('; '.join(found))}."
    return (
        "No change of holding, tool or tolerance alone helps, and no equipment that is known here. "
        f"{_needs_of_nearest(advice)}"
    ).strip()


def _needs_of_nearest(advice: Advice) -> Any:
    method = advice.nearest
    if method is None:
        return ""
    needs = list(dict.fromkeys(say(f.rule.needs, advice) for f in method.ruled_out_by if f.rule.needs))
    return f"{the(method.name).capitalize()} would need: {' And: '.join(needs)}" if needs else ""


def shortfall(advice: Advice) -> list[str]:
    """What the nearest method would still take, where none stands: sentences; none where no method can be set at all."""
    short, method = advice.shortfall, advice.nearest
    if short is None or method is None:
        return []
    hard = method.cannot_be_tried
    if hard:
        return [f"Nearest is {the(method.name)}, but as things are it cannot be done. {because(hard[0], advice)}"]
    money = "" if short.cost is None else f", {number(short.cost, 0)} {advice.shop.currency}".rstrip()
    wanted, start = advice.callout.quantity, short.pieces
    pieces = "start one piece and expect to start over" if start == 1 else f"start {start} to get {wanted} good"
    return [
        f"Nearest is {the(method.name)}: {chance(method.in_tolerance)} pieces would lie in tolerance, so "
        f"{pieces}, about {minutes(short.minutes)}{money}."
    ]


def to_settle(advice: Advice) -> str:
    """What to settle with whoever owns the drawing, where no method stands: one sentence."""
    nearest = advice.nearest
    if nearest is None or nearest.cannot_be_tried:
        return "Ask whoever owns the drawing what may change, or who has the machine for it: it is not the tolerance alone."
    units, values = advice.callout.units, advice.values
    allowed = length(values["profile_tolerance"], units).split(" (")[0]
    stated = length(values["tolerance"], units).split(" (")[0]
    return f"Ask whoever owns the drawing whether ±{stated} is meant: it is {allowed} of profile."


def assumption(entry: Assumed, advice: Advice) -> tuple[str, str, str]:
    """One assumed value as a line: its name and value."""
    value = fact_value(entry.name, entry.value, advice.callout.units)
    if entry.name == "from_end":
        value += " (to compare by; nothing is set by it)"
    return entry.name.replace("_", " "), value, entry.origin


def assumed(advice: Advice) -> list[tuple[str, str, str]]:
    """What nobody stated and would matter, as assumption() gives it: list."""
    return [assumption(entry, advice) for entry, turns in advice.assumed if turns or entry.name == "from_end"]


def fact_value(name: str, value: Any, units: str) -> str:
    """A value of something that a drawing or a job states, as a reader has it."""
    if value is None:
        return "not stated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name == "general_tolerance" and isinstance(value, float):
        return f"±{length(value, units).split(' (')[0]}"
    if name in LENGTHS:
        return length(float(value), units)
    if name == "hardness":
        return f"{number(float(value), 0)} HB"
    if name == "minutes_in_piece":
        return minutes(float(value))
    if name == "finish":
        return f"Ra {in_unit(value, 'um', inch=units == 'inch')}"
    return number(value, 0) if isinstance(value, float) else str(value)


def leads_to(name: str, pairs: Sequence[tuple[float | str, str | None]], units: str) -> str:
    """What values of a fact make of the choice, such as "5, 25: form tool; 500: nothing stands".

    pairs: (value, method or None for nothing), in any order. A long list of words that all make the same comes last.
    """
    numbers = all(isinstance(value, (int, float)) and not isinstance(value, bool) for value, _ in pairs)
    by_method: dict[str | None, list[str]] = {}
    for value, method in sorted(pairs) if numbers else pairs:
        told = by_method.setdefault(method, [])
        text = fact_value(name, value, units).split(" (")[0]
        if text not in told:
            told.append(text)
    found = list(by_method.items())
    if not numbers and len(found) > 1:
        found.sort(key=lambda pair: len(pair[1]))
        if len(found[-1][1]) > 2:
            found[-1] = (found[-1][0], ["any other"])
    return "; ".join(f"{', '.join(texts)}: {method or 'nothing stands'}" for method, texts in found)


def callout_line(advice: Advice) -> str:
    """What the drawing asks, in one line."""
    c, units = advice.callout, advice.callout.units
    across = f", {length(c.width, units)} across" if c.width is not None and c.location != "corner" else ""
    pieces = f"{c.quantity} off" + (f", {c.places} places each" if c.places > 1 else "")
    return (
        f"{c.symbol}{bare(c.radius, units)} ±{length(c.tolerance, units).split(' (')[0]}, {c.form}, on the "
        f"{c.location} of {length(c.diameter, units)} {c.material}{across}, {pieces}"
    )


def bare(mm: float, units: str) -> str:
    """A length without its unit, as it stands before a tolerance.

    >>> bare(6.0, "mm"), bare(6.35, "inch")
    ('6', '.2500')
    """
    return length(mm, units).split(" ", 1)[0]
