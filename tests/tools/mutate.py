"""Changes the rule base in one place at a time and sees whether its examples and the worked cases notice.

    python tests/tools/mutate.py [--all]

Each comparison is turned, each limit moved by 5 %, each line dropped, each rule taken away; a change that neither an
example of a rule nor a worked case nor a golden answer (tests/answers.py) notices has survived, and is listed. Exit
status 1 when more than three in a hundred survive. Everything happens in memory; two processes share the work.
"""

import argparse
import multiprocessing
import sys
import time
from collections import Counter
from functools import cache
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent.parent), str(Path(__file__).parent.parent.parent)]

from answers import CASES, answers, stated

from advisor.answer import advice
from advisor.asked.callout import open_case
from advisor.engine import generated
from advisor.ground.folders import data_folder
from advisor.rulebase import loading, rulebook
from advisor.rulebase.rulebook import Name, Rule

TURNED = {">": (">=", "<"), ">=": (">", "<"), "<": ("<=", ">"), "<=": ("<", ">"), "==": ("!=",), "!=": ("==",)}
WANTED = 0.97


def mutants(rules):
    """Every change: (kind, what it does, what to change, how)."""
    for rule in rules.rules:
        for line, tree in enumerate(rule.when):
            yield "line", f'{rule.id}: without "{rule.texts[line]}"', ("rule", rule.number), ("drop", line)
            for place, (path, changed, told) in enumerate(turned(tree)):
                yield "comparison", f"{rule.id}: {told}", ("rule", rule.number), ("turn", line, place)
        yield "rule", f"{rule.id}: taken away", ("rule", rule.number), ("remove",)
    for name in rules.names.values():
        if name.kind == "expression":
            for place, (path, changed, told) in enumerate(turned(name.tree)):
                yield "comparison", f"{name.name}: {told}", ("name", name.name), ("turn", place)
        if name.kind == "constant" and name.file == "limits.toml" and name.holds == "number" and name.value:
            for factor in (1.05, 0.95):
                yield (
                    "limit",
                    f"{name.name}: {name.value * factor:.6g} for {name.value:.6g}",
                    ("limit", name.name),
                    ("move", factor),
                )


def turned(tree, path=()):
    """Every way to turn one comparison in a tree: (path to it, new tree of the whole, text)."""
    found = []
    kind = tree[0]
    if kind == "compare":
        found += [((), ["compare", tree[1], sign, *tree[3:]], f'{sign} in "{tree[1]}"') for sign in TURNED[tree[2]]]
    elif kind == "member":
        found.append(((), [*tree[:4], not tree[4]], f'turned round "{tree[1]}"'))
    parts = tree[1] if kind in ("and", "or") else tree[1:]
    for place, part in enumerate(parts):
        if isinstance(part, (tuple, list)) and part and isinstance(part[0], str) and part[0] != "word":
            for _, changed, told in turned(part):
                new = list(parts)
                new[place] = changed
                found.append(((), [kind, new] if kind in ("and", "or") else [kind, *new], told))
    return found


def changed(rules, what, how):
    """The rule base with one change, everything else shared."""
    base, names, all_rules = dict(rules.base), dict(rules.names), list(rules.rules)
    if what[0] == "limit":
        base[what[1]] *= how[1]
    elif what[0] == "name":
        name = names[what[1]] = Name(*names[what[1]].fields())
        name.tree = turned(name.tree)[how[1]][1]
    else:
        rule = all_rules[what[1]] = Rule(*all_rules[what[1]].fields())
        rule.when = list(rule.when)
        if how[0] == "drop":
            del rule.when[how[1]]
        elif how[0] == "turn":
            rule.when[how[1]] = turned(rule.when[how[1]])[how[2]][1]
        else:
            rule.when = [["truth", False]]
    copy = rulebook.Rulebook(names, all_rules, rules.order, rules.methods, rules.package, rules.label, {})
    copy.base, copy.functions = base, rules.functions
    return copy


def noticed_by_example(rules, what, how, examples):
    """Whether an example of a rule that is touched comes out otherwise than it says. examples: function from a rule's
    id."""
    if what[0] == "rule" and how[0] == "remove":
        return False  # its examples would go with it
    touched = [rules.rules[what[1]]] if what[0] == "rule" else [rule for rule in rules.rules if what[1] in rule.names]
    return any(
        rules.example_fires(rule.id, example) is not example["fires"]
        for rule in touched
        for example in examples(rule.id)
    )


def noticed_by_case(rules):
    """Whether a worked case expects something else."""
    names = {method["name"] for method in rules.methods}
    for path in CASES:
        given, own = stated(path)
        outcome = generated.run(rules.revalued(own), given)
        order = advice.ranking(rules, outcome.values)
        expect = open_case(path).expect
        close = bool(outcome.values["close_call"]) and len(order) > 1
        if (
            expect.get("method", order[0] if order else None) != (order[0] if order else None)
            or expect.get("stands", True) != bool(order)
            or expect.get("close_call", False) != close
            or set(expect.get("ruled_out", () if order else names)) != names - set(order)
            or not set(expect.get("rules", ())) <= {rule.id for rule in outcome.fired}
        ):
            return True
    return False


def noticed_by_answers(rules):
    """Whether an answer in full is another one than its file of golden answers holds."""
    return any(now != _held(file) for file, now in answers(rules))


@cache
def _held(file):
    return file.read_text(encoding="utf-8")


_rules = None


def judge(mutant):
    """Who noticed a change: "examples", "cases", "answers" or ""."""
    global _rules
    if _rules is None:
        _rules = loading.load(data_folder("rules"))
    kind, told, what, how = mutant
    rules = changed(_rules, what, how)
    for who, noticed in (
        ("examples", lambda: noticed_by_example(rules, what, how, _rules.examples)),
        ("cases", lambda: noticed_by_case(rules)),
        ("answers", lambda: noticed_by_answers(rules)),
    ):
        try:
            if noticed():
                return kind, told, who
        except Exception:  # a rule base that breaks down is noticed by anybody
            return kind, told, who
    return kind, told, ""


def main():
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("--all", action="store_true", help="list also who noticed each change")
    asked = options.parse_args()
    start = time.perf_counter()
    rules = loading.load(data_folder("rules"))
    if noticed_by_case(rules) or noticed_by_answers(rules):
        print("The rule base as it is does not agree with the worked cases and their answers: run the tests first.")
        return 2
    listed = list(mutants(rules))
    with multiprocessing.Pool(2) as pool:
        judged = pool.map(judge, listed, chunksize=10)
    kinds = ("comparison", "limit", "line", "rule")
    print(f"{'change':<12}{'made':>8}{'examples':>10}{'cases':>8}{'answers':>9}{'survive':>9}{'noticed':>9}")
    counted = Counter((kind, who) for kind, _, who in judged)
    for kind in (*kinds, "all"):
        each = [
            sum(counted[k, who] for k in (kinds if kind == "all" else (kind,)))
            for who in ("examples", "cases", "answers", "")
        ]
        share = 1 - each[3] / max(sum(each), 1)
        print(f"{kind:<12}{sum(each):>8}{each[0]:>10}{each[1]:>8}{each[2]:>9}{each[3]:>9}{share:>9.1%}")
    print(f"{time.perf_counter() - start:.0f} s\n")
    for kind, told, who in judged:
        if asked.all or not who:
            print(f"{who or 'SURVIVES':<10}{kind:<12}{told}")
    return 0 if share >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
