"""What the rule base answers to every worked case, as lines of text: one file that shows at a glance what a change
moves."""

from functools import cache
from pathlib import Path

from advisor.answer import advice
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated

HOUSE = Path(__file__).parent.parent
GOLDEN = Path(__file__).parent / "golden" / "answers.txt"
CASES = sorted((HOUSE / "cases").glob("*.toml"))


@cache
def stated(path):
    """What the rules are given of a case, and what its shop values otherwise."""
    shop = shops.read_shop(callouts.open_case(path).fields.get("shop", "training-shop"))
    callout = callouts.read_case(path, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    return advice.givens(callout, shop, advice.lathe_for(callout, shop)), advice.overrides(shop)


def answer(path, rules):
    """The lines of one case: what is recommended, each method's minutes, and every rule and step that fires with what
    it tells."""
    given, own = stated(path)
    outcome = generated.run(rules.revalued(own), given)
    order = advice.ranking(rules, outcome.values)
    minutes = [
        f"{m['name']} {outcome.values[m['prefix'] + '_batch_mean']:.3g}" + ("" if m["name"] in order else " out")
        for m in rules.methods
    ]
    close = "a close call" if outcome.values["close_call"] and len(order) > 1 else "clear"
    fired = sorted((rule for rule in outcome.fired if rule.when or rule.mentions), key=lambda rule: rule.id)
    return [
        path.stem,
        f"  {order[0] if order else 'no method'}, {close}",
        f"  minutes: {', '.join(minutes)}",
        *(f"  {rule.id}{told(rule, outcome.values)}" for rule in fired),
    ]


def told(rule, values):
    """The numbers that the sentences of a rule put in."""
    numbers = [name for name in rule.mentions if isinstance(values[name], float)]
    return (": " + ", ".join(f"{name} {values[name]:.4g}" for name in numbers)) if numbers else ""


def answers(rules):
    """The lines of all cases, and first what is said always."""
    always = ["said always", *(f"  {rule.id}" for rule in rules.rules if not rule.when)]
    return "\n\n".join("\n".join(lines) for lines in (always, *(answer(path, rules) for path in CASES))) + "\n"
