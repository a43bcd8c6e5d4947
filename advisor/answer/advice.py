"""Puts it together: a callout and a shop in, an Advice out. Plain data; the wording is in answer/wording.py, the looks in
show/."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.asked.options import plain as plain_options
from advisor.engine import generated
from advisor.formulas import common, gauging, geometry, minutes
from advisor.formulas.numeric import NAN, both, where
from advisor.ground.errors import CalloutError, InputError, ShopError
from advisor.ground.folders import data_folder, rule_tables
from advisor.ground.methods import Method, methods, own_module
from advisor.ground.units import INCH
from advisor.rulebase import loading
from advisor.rulebase.rulebook import KINDS

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from advisor.asked.callout import Assumed, Callout
    from advisor.asked.options import Option
    from advisor.asked.radius_text import Radius
    from advisor.asked.shop import Lathe, Shop
    from advisor.engine.chaining import Fired
    from advisor.formulas.numeric import Numeric, Truth, Values
    from advisor.records.experience import Experience
    from advisor.records.job_records import Job
    from advisor.rulebase.rulebook import Finding, Outcome, Rulebook

ESTIMATES = ("low", "likely", "high", "mean")
BY = ("minutes", "cost")  # what methods are chosen by
LEAST_CHANCE = 0.01  # below it nobody starts enough pieces to get a good one


@functools.cache
def rule_base() -> Rulebook:
    """The rule base that travels with the program."""
    return loading.load(data_folder("rules"))


@dataclass(frozen=True)
class MethodAdvice:
    """What is to be said of one method.

    standing: recommended, usable or ruled out; rank: 1 for the best of those that stand, None where ruled out;
    minutes: as in the JSON contract [min]; set_error, piece_error: standard deviations [mm]; in_tolerance: chance;
    holds: tolerance that nine pieces in ten would keep [mm]; findings: what rules found for or against it;
    setup: numbers to set, None where the geometry does not permit the method; steps, cautions: findings in order;
    checks: ways to prove the radius.
    """

    name: str
    prefix: str
    standing: str
    rank: int | None
    minutes: dict[str, Any]
    set_error: float
    piece_error: float
    in_tolerance: float
    holds: float
    cost: float | None
    findings: list[Finding]
    setup: dict[str, Any] | None
    steps: list[Finding]
    checks: list[dict[str, Any]]
    cautions: list[Finding]

    @property
    def to_set(self) -> dict[str, Any]:
        """The numbers to set, of a method that the geometry permits: the setup. Raises ValueError of another."""
        if self.setup is None:
            raise ValueError(f"the geometry does not permit the {self.name}")
        return self.setup

    @property
    def ruled_out_by(self) -> list[Finding]:
        """The findings that rule the method out, in order: list of findings."""
        return [finding for finding in self.findings if finding.kind == "rules_out"]

    @property
    def cannot_be_tried(self) -> list[Finding]:
        """Those of them that leave nothing to be tried: list of findings."""
        return [finding for finding in self.ruled_out_by if not finding.rule.could_be_tried]


@dataclass(frozen=True)
class Shortfall:
    """What the method that comes nearest would still cost, where none stands.

    name: of the method; chance: of one piece; pieces: to start, to get the good ones on average; minutes: for all of
    them [min]; cost: in the shop's money, None without a rate.
    """

    name: str
    chance: float
    pieces: int
    minutes: float
    cost: float | None


@dataclass(frozen=True)
class Advice:
    """The whole answer for one callout.

    values: every name of the rule base; outcome: findings and trace of the run; experience: what the shop's records
    make of the figures, None where it has none; order_without_records: names of the methods that stand, best first, had
    there been no records; by: what the methods were chosen by, of BY.
    """

    callout: callouts.Callout
    shop: shops.Shop
    lathe: shops.Lathe
    rules: Rulebook
    values: dict[str, Any]
    outcome: Outcome
    methods: dict[str, MethodAdvice]
    recommended: str | None
    close_call: bool
    experience: Experience | None = None
    order_without_records: tuple = ()
    by: str = "minutes"

    @property
    def order(self) -> tuple[str, ...]:
        """Names of the methods that stand, best first."""
        return tuple(m.name for m in self.ranked if m.rank)

    @property
    def ranked(self) -> list[MethodAdvice]:
        """The methods that stand, best first, then those that are ruled out, in the order of expected minutes."""
        return sorted(self.methods.values(), key=lambda m: (m.rank is None, m.rank or 0, m.minutes["batch"]["mean"]))

    @property
    def best(self) -> MethodAdvice | None:
        """The recommended method, or None."""
        return self.methods.get(self.recommended) if self.recommended else None

    def measure(self, method: MethodAdvice) -> float:
        """What a method is chosen by, whether it stands or not: its batch minutes [min], or its cost; without end where
        that is not known."""
        if self.by == "minutes":
            return method.minutes["batch"]["mean"]
        return math.inf if method.cost is None else method.cost

    @functools.cached_property
    def nearest(self) -> MethodAdvice | None:
        """The method that comes nearest where none stands, or None: one that could be carried out all the same before one
        that could not, then the best chance, then the fewest minutes."""
        if self.recommended:
            return None
        able = [method for method in self.methods.values() if method.setup is not None]
        return min(able, key=_shortcomings, default=None)

    @property
    def winner(self) -> MethodAdvice:
        """The recommended method, of an answer in which one stands. Raises ValueError where none does."""
        if self.best is None:
            raise ValueError("no method stands")
        return self.best

    @property
    def shown(self) -> MethodAdvice | None:
        """The method whose numbers and steps an answer shows: the recommended one, or the one that comes nearest if it
        could be carried out all the same; None where neither is."""
        if self.best or self.nearest is None:
            return self.best
        return None if self.nearest.cannot_be_tried else self.nearest

    @functools.cached_property
    def shortfall(self) -> Shortfall | None:
        """What the nearest method would still cost (Shortfall), or None."""
        method = self.nearest
        if method is None:
            return None
        chance = max(method.in_tolerance, LEAST_CHANCE) ** self.callout.places
        pieces = math.ceil(self.callout.quantity / chance - 1e-9)
        once = method.minutes["tooling"]["mean"] + method.minutes["setup"]["mean"] + method.minutes["resetting"]
        each = method.minutes["per_piece"]["mean"] + method.minutes["wear"]
        minutes = once + pieces * self.callout.places * each
        cost = None
        if method.cost is not None:
            spent_on_time = method.minutes["batch"]["mean"] / 60 * self.shop.hourly_rate
            cost = method.cost + minutes / 60 * self.shop.hourly_rate - spent_on_time
        return Shortfall(method.name, chance, pieces, minutes, cost)

    @functools.cached_property
    def trace(self) -> list[Fired]:
        """What the forward-chaining engine did for this callout, in order: list of engine.chaining.Fired. Worked out now
        where another executor gave the answer."""
        given = {name: self.values[name] for name in self.rules.givens}
        return self.outcome.trace or _chained(self.rules, given).trace

    @functools.cached_property
    def assumed(self) -> list[tuple[Assumed, list[tuple[float | str, str | None]]]]:
        """What nobody stated: list of (Assumed, the other values that would change the choice, each with the method that
        they lead to; none where none would)."""
        return [(entry, turns(self, entry.name)) for entry in self.callout.assumed]


def _shortcomings(method: MethodAdvice) -> tuple[int, int, float]:
    """What keeps a method from standing, as something to sort by: the less, the nearer. Chances within a twentieth are
    alike, and then the minutes decide."""
    hard = {finding.rule.id for finding in method.cannot_be_tried}
    return len(hard), -round(20 * method.in_tolerance), method.minutes["batch"]["mean"]


def advise(
    callout: Callout,
    shop: Shop,
    *,
    rules: Any = None,
    executor: Callable[..., Any] | None = None,
    records: Sequence[Job] = (),
    by: str = "minutes",
) -> Advice:
    """Advice for one callout in one shop.

    rules: a Rulebook, the program's own if None; executor: function (rulebook, givens) -> Outcome, the
    forward-chaining engine with its trace if None; records: jobs that were recorded (records.Job), of which those of
    this shop count; by: what the method is chosen by, of BY. Raises InputError where the shop cannot swing the work, or
    methods are to be chosen by a cost that it does not know.
    """
    if by == "cost" and not has_rate(shop):
        fix = "Give it an hourly_rate and a currency, or choose by minutes."
        raise ShopError("shop", shop.name, "states no hourly rate, so no method can be chosen by its cost", fix)
    starting = (rules or rule_base()).revalued(overrides(shop), where=f"shop {shop.name}")
    experience = _experience(records, shop, starting) if records else None
    rules = starting
    if experience:
        rules = starting.revalued({name: starting.base[name] * factor for name, factor in experience.factors.items()})
    lathe = lathe_for(callout, shop)
    callout = with_tool_at_hand(callout, lathe)
    given = givens(callout, shop, lathe)
    outcome = (executor or _chained)(rules, given)
    values = outcome.values
    order = ranking(rules, values, by)
    methods = {method["name"]: _method_advice(method, outcome, order, callout) for method in rules.methods}
    return Advice(
        callout=callout,
        shop=shop,
        lathe=lathe,
        rules=rules,
        values=values,
        outcome=outcome,
        methods=methods,
        recommended=order[0] if order else None,
        close_call=bool(len(order) > 1 and is_close(rules, values, by)),
        experience=experience,
        order_without_records=tuple(standing(starting, given, by)) if experience else tuple(order),
        by=by,
    )


def _experience(records: Sequence[Job], shop: Shop, rules: Rulebook) -> Experience | None:
    from advisor.records.experience import drawn

    return drawn(records, shop=shop.name, constants=rules.base)


def read_by(text: str) -> str:
    """What methods are chosen by, as somebody says it: of BY. Raises CalloutError."""
    if text not in BY:
        raise CalloutError("--by", text, "is no way to choose", f"Give {' or '.join(BY)}.")
    return text


def has_rate(shop: Shop) -> bool:
    """Whether a shop states what an hour costs."""
    return math.isfinite(shop.hourly_rate)


def overrides(shop: Shop) -> dict[str, str]:
    """Limits, minutes and spreads that the shop states for itself."""
    return {**shop.limits, **shop.minutes, **shop.spreads}


def _chained(rules: Rulebook, given: Values) -> Outcome:
    from advisor.engine import chaining

    return chaining.run(rules, given)


def lathe_for(callout: Callout, shop: Shop) -> Lathe:
    """The lathe of the shop that the work goes on; ShopError where none takes it."""
    largest = geometry.swung_diameter(
        diameter=callout.diameter,
        radius=callout.radius,
        shoulder_height=_number(callout.shoulder_height),
        convex=callout.form == "convex",
        corner=callout.location == "corner",
    )
    stickout = callout.stickout or 0.0
    return shops.choose_lathe(shop, largest_diameter=largest, stickout=stickout, name=callout.lathe)


def shape(callout: Callout) -> dict[str, bool]:
    """The three truth values by which formulas tell the six shapes."""
    return {
        "convex": callout.form == "convex",
        "corner": callout.location == "corner",
        "end": callout.location == "end",
    }


def _number(value: float | None) -> float:
    return NAN if value is None else float(value)


def tolerance_source(callout: Callout | Radius) -> str:
    """Where the tolerance stands: at the radius ("written"), in "ISO 2768-1", or in the "title block"."""
    if callout.tolerance_from.table:
        return "ISO 2768-1"
    return "title block" if callout.tolerance_from.general else "written"


def givens(callout: Callout, shop: Shop, lathe: Lathe) -> dict[str, Any]:
    """What the rule base is given: plain values in its units, by the names of its vocabulary."""
    carbide = bool(
        takes_carbide(
            carbide=callout.tool == "carbide",
            tool_open=tool_open(callout),
            hardness=_number(callout.hardness),
            lathe=lathe,
        )
    )
    given = {
        "radius": callout.radius,
        "tolerance": callout.tolerance,
        "radius_low": callout.radius_low,
        "radius_high": callout.radius_high,
        "symbol": callout.symbol,
        "form": callout.form,
        "location": callout.location,
        "diameter": callout.diameter,
        "chord": _number(callout.width),
        "from_end": _number(callout.from_end),
        "shoulder_height": _number(callout.shoulder_height),
        "length": _number(callout.length),
        "finish": _number(callout.finish),
        "inch_drawing": callout.units == "inch",
        "stickout": _number(callout.stickout),
        "support": callout.support,
        "bore": float(callout.bore or 0.0),
        "hardness": _number(callout.hardness),
        "carbide": carbide,
        "quantity": float(callout.quantity),
        "places": float(callout.places),
        **{name: _given(option, getattr(callout, name)) for name, option in plain_options().items()},
        "tolerance_source": tolerance_source(callout),
        **material_givens(callout.material, _number(callout.hardness), carbide),
        **shops.shop_values(shop, lathe),
    }
    known = rule_base().givens
    return {name: value for name, value in given.items() if name in known}


def _given(option: Option, value: Any) -> Any:
    return value if option.kind == "words" else option.code(value)


def tool_open(callout: Callout) -> bool:
    """Whether nobody stated the material of the tool."""
    return any(entry.name == "tool" for entry in callout.assumed)


def takes_carbide(*, carbide: Truth, tool_open: bool, hardness: Numeric, lathe: Lathe) -> Truth:
    """Whether the tool is carbide: as stated, or else where the work is too hard for high-speed steel and carbide tools
    lie at the lathe. carbide, tool_open: truth values; hardness [HB]; numbers or arrays."""
    too_hard = hardness > rule_base().base["hss_hardest"]
    return where(tool_open, both(too_hard, "carbide" in lathe.tools), carbide)


def with_tool_at_hand(callout: Callout, lathe: Lathe) -> Callout:
    """The callout with the tool that is taken where none is stated, and why."""
    if not tool_open(callout):
        return callout
    hard = takes_carbide(carbide=False, tool_open=True, hardness=_number(callout.hardness), lathe=lathe)
    if not hard:
        return callout
    because = "no tool is stated; the work is too hard for high-speed steel"
    assumed = tuple(callouts.Assumed("tool", "carbide", because) if a.name == "tool" else a for a in callout.assumed)
    return replace(callout, tool="carbide", assumed=assumed)


def material_givens(name: str, hardness: Numeric, carbide: Truth) -> dict[str, Numeric | str]:
    """What the rule base is given of a material; hardness [HB] and carbide may be arrays."""
    row = materials.find_material(name)
    return {
        "material_group": row["group"],
        "usual_hardness_low": float(row["hardness_range"][0]),
        "usual_hardness_high": float(row["hardness_range"][1]),
        "chip": row["chip"],
        **materials.material_values(row=row, hardness=hardness, carbide=carbide),
    }


def measures(rules: Rulebook, values: Values, by: str = "minutes") -> list[Any]:
    """What every method is chosen by, in the order of methods.toml: expected batch minutes [min], or its cost [money];
    without end where it is ruled out.

    values: of one run, numbers or arrays; by: of BY, "cost" only with a rate.
    """
    prefixes = [method["prefix"] for method in rules.methods]
    standing = [values[f"{prefix}_standing_minutes"] for prefix in prefixes]
    if by == "minutes":
        return standing
    costs = [values[f"{prefix}_cost"] for prefix in prefixes]
    return [where(time < math.inf, cost, math.inf) for time, cost in zip(standing, costs, strict=True)]


def ranking(rules: Rulebook, values: Mapping[str, float], by: str = "minutes") -> list[str]:
    """Names of the methods that stand, the least of their `measures` first; ties in the order of methods.toml."""
    found = [(least, place) for place, least in enumerate(measures(rules, values, by)) if math.isfinite(least)]
    return [rules.methods[place]["name"] for _, place in sorted(found)]


def is_close(rules: Rulebook, values: Values, by: str = "minutes") -> Truth:
    """Whether the second least of the `measures` lies within the stated share of the least; numbers or arrays."""
    if by == "minutes":
        return values["close_call"]
    each = zip(rules.methods, measures(rules, values, by), strict=True)
    of = {f"{method['prefix']}_standing_minutes": measure for method, measure in each}
    return minutes.second_least(**of) <= minutes.least(**of) * (1 + rules.base["close_call_share"])


def _method_advice(method: Mapping[str, str], outcome: Outcome, order: Sequence[str], callout: Callout) -> MethodAdvice:
    name, prefix = method["name"], method["prefix"]
    values = outcome.values
    of = {key: values[f"{prefix}_{key}"] for key in ("set_error", "piece_error", "in_tolerance", "holds")}
    findings = [f for f in outcome.findings if f.rule.kind == "rule" and _concerns(f, name, prefix)]
    cost = values[f"{prefix}_cost"]
    spoken = [f for f in outcome.findings if f.kind == "cautions" and _for(f, name)]
    steps = [f for f in outcome.findings if f.kind == "says" and _for(f, name)]
    nowhere = {"from_end": math.nan, "centre_from_face": math.nan} if callout.position_open else {}
    kind = methods().get(name) or Method(name=name, prefix=prefix)
    setup = setup_of(kind, setup_values(values, kind) | nowhere)
    return MethodAdvice(
        name=name,
        prefix=prefix,
        standing="ruled out" if name not in order else "recommended" if name == order[0] else "usable",
        rank=order.index(name) + 1 if name in order else None,
        minutes=_minutes(values, prefix),
        cost=cost if math.isfinite(cost) else None,
        findings=findings,
        setup=setup,
        steps=sorted(steps, key=lambda f: f.rule.order) if setup else [],
        checks=gauging.checks(values),
        cautions=spoken,
        **of,
    )


def _for(finding: Finding, name: str) -> bool:
    return not finding.methods or name in finding.methods


def _concerns(finding: Finding, name: str, prefix: str) -> bool:
    """Whether a finding speaks for or against a method: it acts on one of its names, or tells something about it
    alone."""
    if KINDS[finding.kind].speaks:
        return bool(finding.methods) and name in finding.methods
    return bool(finding.target) and finding.target.startswith(prefix + "_")


def _minutes(values: Mapping[str, float], prefix: str) -> dict[str, float | dict[str, float]]:
    def of(element: str) -> dict[str, float]:
        return {key: values[f"{prefix}_{element}_{key}"] for key in ESTIMATES}

    return {
        "tooling": of("tooling"),
        "setup": of("setup"),
        "per_piece": of("piece"),
        "misses": values[f"{prefix}_miss_minutes"],
        "wear": values[f"{prefix}_wear_minutes"],
        "resetting": values[f"{prefix}_correcting_minutes"],
        "arcs": values["arcs"],
        "batch": {"mean": values[f"{prefix}_batch_mean"], "p80": values[f"{prefix}_batch_p80"]},
    }


def setup_of(method: Method, values: Values) -> dict[str, Any] | None:
    """The numbers that a method sets: what its formulas work out, and the names of the rule base that it sets besides; None
    where the geometry does not permit it.

    method: a ground.methods.Method; values: as setup_values gives them.
    """
    formulas = own_module("advisor.formulas", method.prefix)
    setup = formulas.setup(values) if formulas else None
    if setup is None:
        return None
    names = rule_base().names
    for number in method.numbers:
        for key, name in number.sets.items():
            if key not in setup:
                setup[key] = (common.whole if names[name].unit == "count" else common.plain)(values[name])
    return setup


def setup_values(values: Values, method: Method) -> dict[str, Any]:
    """The named values that a method's setup reads, with the radius, nose and speed of that method."""
    prefix, own = method.prefix, {}
    if method.aims:
        own = {name: values[f"{prefix}_{name}"] for name in ("radius", "depth", "sweep")}
        own |= {"centre_from_axis": values[f"{prefix}_from_axis"], "centre_from_face": values[f"{prefix}_from_face"]}
    return {
        **values,
        **own,
        "nose_radius": values[method.nose],
        f"{prefix}_rpm": values[f"{method.speed}_rpm"],
        f"{prefix}_surface_speed": values[f"{method.speed}_surface_speed"],
    }


# ---- what matters


@functools.lru_cache(maxsize=8)
def _deciding(prefixes: tuple[str, ...], by: str) -> frozenset[str]:
    ends = ("standing_minutes",) if by == "minutes" else ("standing_minutes", "cost")
    return frozenset(f"{prefix}_{end}" for prefix in prefixes for end in ends)


def deciding_names(rules: Rulebook, by: str = "minutes") -> frozenset[str]:
    """The names of the rule base that decide between the methods: what `measures` reads."""
    return _deciding(tuple(method["prefix"] for method in rules.methods), by)


def measured(rules: Rulebook, given: Values, by: str = "minutes") -> dict[str, float]:
    """The `measures` on these givens by the same rules without findings, for searches: name of a method -> number."""
    values = generated.run(rules, given, want=deciding_names(rules, by), values_only=True).values
    return dict(zip((method["name"] for method in rules.methods), measures(rules, values, by), strict=True))


def standing(rules: Rulebook, given: Mapping[str, float | str], by: str = "minutes") -> list[str]:
    """Names of the methods that stand on these givens, best first."""
    found = measured(rules, given, by)
    return sorted((name for name, least in found.items() if math.isfinite(least)), key=found.__getitem__)


def recommended(rules: Rulebook, given: Mapping[str, float | str], by: str = "minutes") -> str | None:
    """The method that wins on these givens, or None."""
    order = standing(rules, given, by)
    return order[0] if order else None


def choice(callout: Callout, shop: Shop, rules: Rulebook, by: str = "minutes") -> str | None:
    """The method that wins for a callout; None where nothing stands or the work does not go on."""
    try:
        return recommended(rules, givens(callout, shop, lathe_for(callout, shop)), by)
    except InputError:
        return None


def _others() -> dict[str, dict[str, Any]]:
    """Other values of what is assumed, by name: tables of rules/alternatives.toml."""
    return rule_tables("alternatives.toml")


def others(callout: Callout, name: str) -> list[Any]:
    """Other values that something nobody stated could well have: list, lengths in mm and the rest in internal units.

    name: of a field, or general_tolerance for another tolerance. Words where a word is wanted.
    """
    value, table = getattr(callout, name, None), _others().get(name, {})
    if name == "material":
        return [word for word in table["values"] if word != value]
    if name == "general_tolerance":
        found = [callout.tolerance * times for times in table["times"]]
        return [tolerance for tolerance in found if tolerance < callout.radius]
    option = plain_options().get(name)
    if option and option.kind == "truth":
        return [not value]
    if option and option.others:
        return [other for other in option.others if other != value]
    if name in callouts.WORDS:
        return [word for word in table.get(callout.location, callouts.WORDS[name]) if word != value]
    of = getattr(callout, table["of"]) if "of" in table else value
    found = table.get("values") or [of * times for times in table.get("times", ()) if of]
    if name == "hardness":  # as far as the material is turned at
        low, high = materials.tried_hardness(materials.find_material(callout.material))
        found = [clipped for hardness in found if (clipped := min(max(hardness, low), high)) != value]
    if name == "stickout":
        least = (callout.from_end or 0.0) + (callout.width or callout.radius)
        found = [stickout for stickout in found if stickout >= least]
    return list(dict.fromkeys(found))


def alternatives(callout: Callout, name: str) -> list[Callout]:
    """Other values that an assumed value could well have: changed callouts."""
    if name == "units":
        factor = INCH if callout.units == "mm" else 1 / INCH
        scaled = {n: getattr(callout, n) * factor for n in callouts.LENGTHS if getattr(callout, n)}
        return [replace(callout, units="inch" if callout.units == "mm" else "mm", **scaled)]
    found = others(callout, name)
    if name == "material":
        known = materials.materials()
        return [replace(callout, material=word, hardness=float(known[word]["hardness"])) for word in found]
    if name == "general_tolerance":
        return [with_tolerance(callout, tolerance) for tolerance in found]
    if name in callouts.WORDS and not isinstance(getattr(callout, name), bool):
        return [stated(callout, name, word) for word in found]
    return [replace(callout, **{name: other}) for other in found]


def stated(callout: Callout, name: str, value: Any) -> Callout:
    """The callout with a value that somebody stated, whether or not it was assumed before."""
    assumed = tuple(entry for entry in callout.assumed if entry.name != name)
    changed: dict[str, Any] = {name: value, "assumed": assumed}
    return replace(callout, **changed)


def with_tolerance(callout: Callout, tolerance: Any) -> Callout:
    """The callout with another tolerance about the same radius [mm]."""
    low, high = callout.radius - tolerance, callout.radius + tolerance
    return replace(callout, tolerance=tolerance, radius_low=low, radius_high=high)


def turns(advice: Advice, name: str) -> list[tuple[float | str, str | None]]:
    """The other values of something assumed that would change the choice, found by trying them: list of (value, method
    or None for nothing)."""
    if name == "shop":
        return []
    field = "tolerance" if name == "general_tolerance" else name
    found = [
        (getattr(other, field), choice(other, advice.shop, advice.rules, advice.by))
        for other in alternatives(advice.callout, name)
    ]
    return [(value, method) for value, method in found if method != advice.recommended]
