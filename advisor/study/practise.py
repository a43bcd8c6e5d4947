"""Practice for the apprentice: a ladder of callouts from plain to hard, what each choice is worth, and the score kept.

A round draws worked cases and callouts made up of round numbers until every method is right in enough of them, and takes
from these so that each method is right about equally often, more often where the apprentice went wrong before. The
answers are the program's own advice; nothing here knows which method suits what.
"""

from __future__ import annotations

import functools
import json
import math
import os
import random
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from advisor.answer import wording
from advisor.answer.advice import advise, givens, lathe_for, measured, overrides, rule_base
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.asked.sizes import SIZES
from advisor.engine import generated
from advisor.ground import strangers, whole_files
from advisor.ground.errors import CalloutError, InputError, did_you_mean
from advisor.ground.folders import data_folder, rule_tables, user_folder
from advisor.ground.methods import methods
from advisor.ground.units import read_quantity, shown
from advisor.study import changes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence, Set
    from random import Random
    from typing import Any

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop
    from advisor.rulebase.rulebook import Rulebook
    from advisor.study.changes import Change, Comparison, Gain


ENVIRONMENT = "TURN_RADIUS_PRACTICE"
NOTHING = "nothing stands"
NUMBER = "a number to set"
MOST_DRAWN = 500
ENOUGH = 6  # of each method, where they can be found
RUNGS = 4
DEARER = (2.0, 1.4)  # the next best takes so many times as much on the first and the second rung
LEAN = 3.0  # how much oftener what always went wrong is drawn than what always went right
MOST_SCORE = 1_000_000  # bytes
CLOSE_ENOUGH = (0.02, 0.02)  # mm, and share, by which a number that is set may be off: reading and rounding

# Round numbers as drawings have them, for callouts that are made up.
RADII = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 40, 50, 60)
LARGE_RADII = (30, 40, 60, 80, 100, 150, 200, 250, 300, 400, 500)  # on ends
TOLERANCES = (0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 1.0, 2.0, 4.0)
DIAMETERS = (6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 50, 60, 80, 100, 120, 150)
QUANTITIES = (1, 1, 2, 3, 4, 6, 10, 12, 20, 30, 50, 100, 200)
SHOPS = ("training-shop", "training-shop", "training-shop-no-pivot", "jobbing-shop", "bench-shop")

# What an apprentice may name as his reason: the words he says it by, and the names of the rule base that it stands for.
REASONS = {
    "the quantity": (
        ("quantity", "piece", "batch", "off", "many", "few", "dozen", "one"), {"quantity", "arcs", "batch"},
    ),
    "the width of the edge": (
        ("width", "wide", "blank", "edge", "chatter"), {"edge_width", "widest_blank", "contact_share", "form_tool_contact"},
    ),
    "the tolerance": (
        ("tolerance", "close", "accurate", "accuracy", "limit", "hold"),
        {"tolerance", "profile_tolerance", "accuracy", *(f"{m['prefix']}_chance_if_proved" for m in rule_base().methods)},
    ),
    "the gauge": (("gauge", "leaf", "prove", "template"), {"best_sees", "proof_sees", "proof", "gauge"}),
    "the reach": (
        ("reach", "range", "radius", "big", "large", "small"),
        {name for method in methods().values() for name in method.reach},
    ),
    "the material": (("material", "hard", "steel", "tough"), {"hardness", "material", "straight_speed_hss"}),
    "the shape": (("corner", "shoulder", "end", "dome", "round", "shape"), {"location", "form", "arc_kind", "sweep"}),
}  # fmt: skip
# Names that are wound on the cross slide.
WOUND = {name for m in methods().values() for name, dial in m.dials.items() if dial in ("infeed", "depth", "cross")}


class Exercise(NamedTuple):
    """One callout to choose for. name: of the case, "" where it is made up; callout, shop: as for advise; right: method
    that wins, None where nothing stands; accepted: methods that count as right; rung: 1 for plain to RUNGS for hard; trap:
    whether a method that would be quicker will not do."""

    name: str
    callout: callouts.Callout
    shop: Shop
    right: str | None
    accepted: tuple[str, ...]
    rung: int
    trap: bool


class Judged(NamedTuple):
    """What a choice is worth. right: whether it counts; mistake: kind, "" where right; comparison: of the winner with the
    choice, or with the next best where the choice is right, None where there is nothing to compare; change: the nearest
    Change or Gain that would make the choice right, None where no single one does."""

    right: bool
    mistake: str
    comparison: Comparison | None
    change: Change | Gain | None


class Score(NamedTuple):
    """What an apprentice got right. methods: name -> [right, asked]; mistakes: kind -> how often; rounds: how many."""

    methods: dict[str, list[int]]
    mistakes: dict[str, int]
    rounds: int


# ---- the ladder


def method_names() -> list[str]:
    """The methods in the order of the rule base."""
    return [method["name"] for method in rule_base().methods]


def ladder(seed: int, count: int, score: Score | None = None) -> list[Exercise]:
    """So many exercises from plain to hard: list of Exercise. score: of what was done before, towards whose mistakes they
    lean."""
    score = score or Score({}, {}, 0)
    draw = random.Random(seed)
    found = _pool(draw, count)
    draw.shuffle(found)
    wanted = _wanted(draw, count, score, {exercise.right for exercise in found})
    taken = []
    for place in range(count):
        rung = 1 + place * RUNGS // count
        method = wanted[place]
        taken.append(_nearest(found, method, rung, "will not do" in _commonest(score)))
        found.remove(taken[-1])
    return sorted(taken, key=lambda exercise: exercise.rung)


def _wanted(draw: Random, count: int, score: Score, there: Set[str | None]) -> list[str | None]:
    """The method that is to be right in each exercise, in random order: as often as it went wrong, beside an equal share."""
    names = [name for name in (*method_names(), None) if name in there]
    weights = {name: _weight(score, name) * (0.5 if name is None else 1.0) for name in names}
    got = dict.fromkeys(names, 0)
    wanted = []
    for _ in range(count):
        name = min(names, key=lambda name: ((got[name] + draw.random() * 0.5) / weights[name], names.index(name)))
        got[name] += 1
        wanted.append(name)
    draw.shuffle(wanted)
    return wanted


def _weight(score: Score, name: str | None) -> float:
    right, asked = score.methods.get(name or NOTHING, (0, 0))
    return 1.0 + LEAN * (1 - right / asked) if asked else 1.0 + LEAN / 2


def _commonest(score: Score) -> str:
    return max(score.mistakes, key=score.mistakes.__getitem__, default="")


def _nearest(found: Sequence[Exercise], method: str | None, rung: int, trapped: bool) -> Exercise:
    """Of what was drawn, an exercise with this answer, as near to this rung as there is one; any other where none is
    left."""
    of_it = [one for one in found if one.right == method] or found
    return min(of_it, key=lambda one: (abs(one.rung - rung), trapped and not one.trap))


def _pool(draw: Random, count: int) -> list[Exercise]:
    """Exercises to take from: all worked cases in random order, and made up ones until each answer is there often
    enough."""
    names = sorted((data_folder("cases")).glob("*.toml"))
    draw.shuffle(names)
    found = [exercise for path in names if (exercise := _of_case(path))]
    need = max(ENOUGH, count // 3)
    for _ in range(MOST_DRAWN):
        fewest = min(sum(one.right == name for one in found) for name in method_names())
        if fewest >= need:
            break
        exercise = _made_up(draw)
        if exercise:
            found.append(exercise)
    return found


@functools.cache
def _of_case(path: Path) -> Exercise | None:
    case = callouts.open_case(path)
    return _exercise(path.stem, case.fields, case.fields.get("shop") or shops.USUAL_SHOP)


def _made_up(draw: Random) -> Exercise | None:
    """A callout of round numbers, or None where those drawn do not go together."""
    location, form = draw.choice(list(SIZES))
    large = location == "end" and draw.random() < 0.7
    radius, diameter = draw.choice(LARGE_RADII if large else RADII), draw.choice(DIAMETERS)
    if (location, form) == ("end", "convex") and radius < diameter / 2:
        radius = diameter / 2
    written: dict[str, Any] = {"location": location, "form": form, "diameter": f"{diameter} mm"}
    if location == "outside diameter" or (location, form) == ("end", "concave"):
        widest = min(2 * radius, diameter if location == "end" else 2 * diameter)
        written["width"] = f"{max(2, round(widest * draw.choice((0.3, 0.5, 0.8, 1.0)))):g} mm"
    if location == "outside diameter":
        written["from_end"] = f"{draw.choice((0, 10, 20, 40))} mm"
    if (location, form) == ("corner", "concave"):
        written["shoulder_height"] = f"{round(radius * draw.choice((1, 1.5, 2)), 1):g} mm"
    ball = (location, form) == ("end", "convex") and radius == diameter / 2
    tolerance = draw.choice([value for value in TOLERANCES if 0.008 * radius <= value < 0.1 * radius] or [radius / 10])
    written["radius"] = f"{'SR' if ball else 'R'}{radius:g} ±{tolerance:g}"
    written["material"] = draw.choice(callouts_materials())
    written["quantity"] = draw.choice(QUANTITIES)
    written["skill"] = draw.choice(("apprentice", "journeyman", "journeyman", "expert"))
    if location != "end" and draw.random() < 0.25:
        written["support"] = "tailstock"
    return _exercise("", written, draw.choice(SHOPS))


def callouts_materials() -> list[str]:
    """Materials for what is made up: those that are tried where nobody states one."""
    return rule_tables("alternatives.toml")["material"]["values"]


@functools.cache
def _room(name: str) -> tuple[Shop, Rulebook]:
    """A shop by its name, and the rules as they are in it."""
    shop = shops.read_shop(name)
    return shop, rule_base().revalued(overrides(shop), where=f"shop {shop.name}")


def _exercise(name: str, fields: Mapping[str, Any], shop_name: str) -> Exercise | None:
    shop, rules = _room(shop_name)
    known: dict[str, Any] = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
    try:
        callout = callouts.read_callout(fields, **known)
        lathe = lathe_for(callout, shop)
    except InputError:
        return None
    given = givens(callout, shop, lathe)
    minutes = measured(rules, given)
    order = sorted((value, method) for method, value in minutes.items() if math.isfinite(value))
    right = changes.best(minutes)
    close = rules.base["close_call_share"]
    accepted = tuple(method for value, method in order if value <= order[0][0] * (1 + close)) if order else ()
    trap = _trap(rules, given, minutes, right)
    return Exercise(name, callout, shop, right, accepted, _rung(order, accepted, trap), trap)


def _rung(order: Sequence[tuple[float, str]], accepted: Sequence[str], trap: bool) -> int:
    """How hard a choice is: the nearer the next best, the harder; a quicker method that will not do makes it harder."""
    if len(accepted) != 1:
        return RUNGS
    if len(order) < 2:
        return 1 + trap
    ratio = order[1][0] / order[0][0]
    return min(1 + sum(ratio < dearer for dearer in DEARER) + trap, RUNGS)


def _trap(rules: Rulebook, given: Mapping[str, float | str], minutes: Mapping[str, float], right: str | None) -> bool:
    """Whether some method that is ruled out would take fewer minutes than the one that wins."""
    if right is None:
        return False
    names = {method["name"]: f"{method['prefix']}_batch_mean" for method in rules.methods}
    values = generated.run(rules, given, want=frozenset(names.values()), values_only=True).values
    return any(not math.isfinite(minutes[name]) and values[mean] < minutes[right] for name, mean in names.items())


# ---- a choice


def read_choice(text: str) -> tuple[str | None, str]:
    """The method and the reason that an apprentice types, such as "form tool because there are twelve": (name or None
    for nothing, reason). Raises CalloutError."""
    choice, _, reason = text.partition(" because ")
    spoken = callouts.as_spoken(choice)
    names = [*method_names(), NOTHING]
    if spoken.isdecimal() and 1 <= int(spoken) <= len(names):
        spoken = names[int(spoken) - 1]
    near = [name for name in names if spoken and (name == spoken or name.startswith(spoken) or name.endswith(spoken))]
    if spoken in ("none", "nothing"):
        near = [NOTHING]
    if len(near) != 1:
        fix = f"{did_you_mean(spoken, names)}Give a number from 1 to {len(names)}, or {', '.join(names[:-1])} or {NOTHING}."
        raise CalloutError("choice", shown(choice), "is none of the methods", fix)
    return (None if near[0] == NOTHING else near[0]), reason.strip()


def advice_on(exercise: Exercise) -> Advice:
    """The program's own advice on an exercise."""
    return advise(exercise.callout, exercise.shop, executor=generated.run)


def judged(exercise: Exercise, advice: Advice, choice: str | None) -> Judged:
    """What a choice is worth -> Judged."""
    right = choice in exercise.accepted if exercise.right else choice is None
    if right:
        second = next((m for m in advice.ranked if m.name != (choice or advice.recommended)), None)
        if advice.best is None or second is None or choice is None:
            return Judged(True, "", None, None)
        ours, theirs = (advice.recommended, choice) if choice != advice.recommended else (choice, second.name)
        return Judged(True, "", changes.compare(advice, ours, theirs), None)
    if choice is None:
        return Judged(False, "one stands after all", None, None)
    comparison = changes.compare(advice, advice.recommended, choice)
    return Judged(False, _mistake(comparison), comparison, nearest_change(advice, choice))


def _mistake(comparison: Any) -> str:
    """The kind of a mistake: that the method will not do, or the part of the work in which it is dearest."""
    if comparison.obstacles or comparison.ours is None:
        return "will not do"
    arcs = comparison.ours.minutes["arcs"]
    ours, theirs = (dict(wording.parts(method, arcs)) for method in (comparison.ours, comparison.theirs))
    return f"dearer in {max(theirs, key=lambda words: theirs[words] - ours[words])}"


def shop_facts(advice: Advice) -> dict[str, float | bool | tuple[float, float, float, float]]:
    """What the shop has that decides on this callout: names of the rule base, those that are known."""
    form = advice.callout.form
    names = ["widest_blank", "ready_tool", "nose_radii", f"pivot_{form}_min", f"pivot_{form}_max", "nearest_leaf"]
    names += ["rod_low", "rod_high"] if advice.callout.location == "end" else []
    values = {name: advice.values[name] for name in names}
    return {
        name: value for name, value in values.items() if not (isinstance(value, float) and not math.isfinite(value))
    }


def named_reasons(reason: Any) -> Any:
    """The keys of REASONS that a reason speaks of: list."""
    words = callouts.as_spoken(reason).replace("-", " ").split()
    return [
        key for key, (said, _) in REASONS.items() if any(word.rstrip("s") in said or word in said for word in words)
    ]


def deciding_reasons(advice: Any, comparison: Any) -> Any:
    """The keys of REASONS that decide between two methods: by the rules that put the other out or turn the choice, and the
    quantity where the one costs before the first piece what it saves on each. A list, empty where none of them does."""
    if comparison.obstacles:
        read = {name for finding in comparison.obstacles for name in finding.rule.names}
        return [key for key, (_, names) in REASONS.items() if names & read]
    read = {name for weight in comparison.weights if weight.flips for name in weight.finding.rule.names}
    traded = changes.trade(advice, comparison.ours.name, comparison.theirs.name)
    if traded.first is not None or traded.last is not None:
        read.add("quantity")
    return [key for key, (_, names) in REASONS.items() if names & read]


def help_by_shop(advice: Advice) -> Gain | None:
    """The thing that the shop lacks and that saves most, where it saves a worthwhile share of the batch or lets something
    stand: a Gain, or None."""
    now = advice.best.minutes["batch"]["mean"] if advice.best else math.inf
    share = advice.values["close_call_share"]
    gains = [gain for gain in changes.equipment(advice) if gain.measure <= (1 - share) * now]
    return min(gains, key=lambda gain: gain.measure, default=None)


def nearest_change(advice: Advice, method: str) -> Change | Gain | None:
    """The nearest other value, or the thing in the shop, with which a method would be the choice: a Change, a Gain, or
    None."""
    found = changes.changes(advice)
    tried: list[Change | Gain] = [*found.points, *found.words, *found.equipment]
    for change in tried:
        if change.method == method:
            return change
    return None


# ---- a number to set


def asks_number(place: int, score: Score) -> bool:
    """Whether a number to set is asked at the exercise in this place, 1 for the first: at every second one, at every one
    where that goes wrong most."""
    return place % 2 == 0 or _commonest(score) == NUMBER


def _may_be_asked(advice: Any) -> Any:
    return methods()[advice.recommended].exercise if advice.recommended else ()


def setting(exercise: Exercise, advice: Advice) -> str | None:
    """The name of a number that the recommended method is set to, one that has to be worked out before one that is the
    radius itself; None where there is nothing to ask."""
    values = {name: advice.values.get(name, math.nan) for name in _may_be_asked(advice)}
    known = [name for name, value in values.items() if isinstance(value, float) and math.isfinite(value) and value > 0]
    return min(known, key=lambda name: set_right(values[name], exercise.callout.radius), default=None)


def reading(name: str, advice: Advice) -> float:
    """What is right for a number to set [mm]: what the dial reads where it is wound on the cross slide, which is twice as
    much on a dial that reads the diameter."""
    return advice.values[name] * (2 if name in WOUND and advice.values["diameter_dial"] else 1)


def read_setting(text: str, callout: Callout) -> float:
    """A length that an apprentice types [mm]. Raises CalloutError."""
    unit = "in" if callout.units == "inch" else "mm"
    return read_quantity(text, field="setting", dimension="length", default_unit=unit, at_least=0.0)


def set_right(value: float, right: float) -> bool:
    """Whether a number is as good as the right one [mm]."""
    return abs(value - right) <= max(CLOSE_ENOUGH[0], CLOSE_ENOUGH[1] * right)


# ---- the score


def scored(score: Score, exercise: Exercise, result: Judged) -> Score:
    """The Score with one more answer."""
    right, asked = score.methods.get(exercise.right or NOTHING, (0, 0))
    methods = score.methods | {exercise.right or NOTHING: [right + result.right, asked + 1]}
    return score._replace(methods=methods, mistakes=_more(score.mistakes, result.mistake))


def set_scored(score: Score, right: bool) -> Score:
    """The Score with one more number to set."""
    got, asked = score.methods.get(NUMBER, (0, 0))
    methods = score.methods | {NUMBER: [got + right, asked + 1]}
    return score._replace(methods=methods, mistakes=_more(score.mistakes, "" if right else NUMBER))


def _more(mistakes: dict[str, int], kind: str) -> dict[str, int]:
    return mistakes | {kind: mistakes.get(kind, 0) + 1} if kind else mistakes


def place(stated: Any = None) -> Path | None:
    """The file that keeps the score: the one stated, that of the environment, or the user's own; None where the user has
    no home."""
    if stated is not None and not stated.strip():
        raise CalloutError("--score", "", "names no file", "Give the path of a file.")
    named = stated or os.environ.get(ENVIRONMENT)
    if named:
        return Path(named)
    root = user_folder("data")
    return root and root / "turn-radius" / "practice.json"


def read_score(path: Path | None) -> Score:
    """The Score in a file, an empty one where there is no file. Raises CalloutError where it is no score."""
    name = shown(str(path), 300)
    wrong = CalloutError(
        name, "", "is not a score of turn-radius practise", "Name another file with --score, or remove it."
    )
    try:
        if path is None or not path.exists():
            return Score({}, {}, 0)
        data = json.loads(strangers.text(path, MOST_SCORE))
        methods = {str(name): [int(right), int(asked)] for name, (right, asked) in data["methods"].items()}
        mistakes = {str(kind): int(count) for kind, count in data["mistakes"].items()}
        score = Score(methods, mistakes, int(data["rounds"]))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError, strangers.Unreadable):
        raise wrong from None
    if any(not 0 <= right <= asked for right, asked in methods.values()) or min(mistakes.values(), default=0) < 0:
        raise wrong
    return score


def keep(score: Score, path: Path) -> None:
    """Write a Score, whole or not at all. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with whole_files.whole(path, replace=True) as file:
        file.write((json.dumps(score._asdict(), indent=1) + "\n").encode())
