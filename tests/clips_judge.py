"""An outside judge: the same rules, written for CLIPS and run by it.

`Judge` turns the checked trees of a rule base into CLIPS constructs: a template a level for all that the rules of this
level read, a template a conclusion, and a rule for each rule that asserts its number and its amounts. Formulas and
expressions of names are worked out in Python and asserted level by level; conditions and amounts are left to CLIPS.
"""

import math

import clips

from advisor.engine import generated
from advisor.language import expression
from advisor.rulebase.rulebook import Outcome

NEW_ENVIRONMENT_AFTER = 500  # an environment slows down as it is used


class Judge:
    """Runs callouts of one rule base through CLIPS."""

    def __init__(self, rulebook):
        self.rulebook = rulebook
        self.rules = [rule for rule in rulebook.rules if rule.kind != "step"]
        nodes = [*rulebook.rules, *rulebook.names.values()]
        self.levels = 1 + max(node.stage for node in nodes)
        self.concluded = {name for name, declared in rulebook.names.items() if declared.kind == "conclusion"}
        self.read_at = {level: [] for level in range(self.levels)}
        for rule in self.rules:
            self.read_at[rule.stage] += [name for name in self.reads(rule) if name not in self.concluded]
        self.read_at = {level: list(dict.fromkeys(names)) for level, names in self.read_at.items()}
        self.runs = NEW_ENVIRONMENT_AFTER

    @staticmethod
    def reads(rule):
        """Names that the conditions and amounts of a rule read."""
        trees = [*rule.when, *(effect.amount for effect in rule.effects if effect.amount is not None)]
        return list(dict.fromkeys(name for tree in trees for name in expression.names(tree)))

    def constructs(self):
        """The rule base in CLIPS."""
        yield "(deftemplate fired (slot number) (multislot amounts))"
        for level, names in self.read_at.items():
            yield f"(deftemplate known{level} {' '.join(f'(slot {_clips_name(name)})' for name in names)})"
        for name in sorted(self.concluded):
            yield f"(deftemplate concluded_{name} (slot value))"
        for rule in self.rules:
            reads = self.reads(rule)
            slots = " ".join(f"({_clips_name(name)} ?{name})" for name in reads if name not in self.concluded)
            facts = [f"(known{rule.stage} {slots})"]
            facts += [f"(concluded_{name} (value ?{name}))" for name in reads if name in self.concluded]
            tests = [f"(test (and TRUE {_lisp(tree)}))" for tree in rule.when]
            amounts = " ".join(_lisp(effect.amount) for effect in rule.effects if effect.amount is not None)
            patterns = " ".join(facts + tests)
            fired = f"(assert (fired (number {rule.number}) (amounts {amounts})))"
            yield f"(defrule rule{rule.number} {patterns} => {fired})"

    def environment(self):
        if self.runs >= NEW_ENVIRONMENT_AFTER:
            self.clips = clips.Environment()
            self.clips.define_function(lambda a, b: expression.quotient(float(a), float(b)), "quotient")
            self.clips.define_function(lambda a, n: expression.power(float(a), float(n)), "power_of")
            for called in ("min", "max", "abs"):
                self.clips.define_function(_called(called), f"{called}_of")
            for construct in self.constructs():
                self.clips.build(construct)
            self.runs = 0
        self.runs += 1
        self.clips.reset()
        return self.clips

    def run(self, givens, constants=None):
        """As plain.run: an Outcome of what CLIPS fires."""
        environment = self.environment()
        values = self.rulebook.inputs(givens, constants)
        amounts = {}
        for level in range(self.levels):
            for node in self.rulebook.order:
                name = self.rulebook.names.get(node) if isinstance(node, str) else None
                if name and name.stage == level and name.kind not in ("given", "constant"):
                    values[node] = self.value(name, values, amounts)
            for name in sorted(self.concluded):
                if self.rulebook.names[name].stage == level:
                    environment.find_template(f"concluded_{name}").assert_fact(value=_clips_value(values[name]))
            known = {_clips_name(name): _clips_value(values[name]) for name in self.read_at[level]}
            environment.find_template(f"known{level}").assert_fact(**known)
            environment.run()
            for fact in environment.facts():
                if fact.template.name == "fired":
                    amounts[int(fact["number"])] = fact["amounts"]
        fired = [r for r in self.rulebook.rules if r.number in amounts or (r.kind == "step" and r.holds(values))]
        return Outcome(values, fired)

    def value(self, name, values, amounts):
        """The value of a name whose level has come: from Python's formulas, or from what CLIPS fired."""
        if name.kind == "formula":
            arguments = {parameter: expression.evaluate(tree, values) for parameter, tree in name.arguments}
            return generated.guarded(name, self.rulebook.function(name.name), [], **arguments)
        if name.kind == "expression":
            return expression.evaluate(name.tree, values)
        given = []
        for rule, effect in self.rulebook.affecting(name.name):
            if rule.number in amounts:
                place = [e for e in rule.effects if e.amount is not None].index(effect)
                given.append((rule.id, _python_value(name, amounts[rule.number][place])))
        if name.kind == "conclusion":
            return given[0][1] if given else expression.evaluate(name.tree, values)
        if name.combine == "any":
            return bool(given)
        given = [amount for _, amount in sorted(given, key=lambda pair: pair[0])]
        return math.prod(given, start=1.0) if name.combine == "product" else _sum(given)


def _called(name):
    """min, max or abs as a function of CLIPS's numbers: whatever is taken of what is not a number is none either."""

    def of(*numbers):
        numbers = [float(number) for number in numbers]
        if any(number != number for number in numbers):
            return math.nan
        return {"min": min, "max": max, "abs": abs}[name](*numbers)

    of.__name__ = f"{name}_of"
    return of


def _sum(numbers):
    total = 0.0
    for number in numbers:
        total += number
    return total


def _clips_name(name):
    return f"s_{name}"


def _clips_value(value):
    if isinstance(value, bool):
        return clips.Symbol("TRUE" if value else "FALSE")
    return value if isinstance(value, str) else float(value)


def _python_value(name, value):
    if name.holds == "truth":
        return str(value) == "TRUE"
    return str(value) if name.holds == "words" else float(value)


def _lisp(tree):
    """A checked tree in CLIPS, whose own < and > hold for what is not a number."""
    kind = tree[0]
    if kind == "number":
        return f"{tree[1]:.17g}" if "." in f"{tree[1]:.17g}" or "e" in f"{tree[1]:.17g}" else f"{tree[1]:.1f}"
    if kind == "name":
        return f"?{tree[1]}"
    if kind == "truth":
        return "TRUE" if tree[1] else "FALSE"
    if kind == "word":
        return f'"{tree[1]}"'
    if kind in ("and", "or"):
        return f"({kind} {' '.join(_lisp(part) for part in tree[1])})"
    if kind == "not":
        return f"(not {_lisp(tree[1])})"
    if kind == "negative":
        return f"(- 0.0 {_lisp(tree[1])})"
    if kind in ("min", "max", "abs"):
        return f"({kind}_of {' '.join(_lisp(part) for part in tree[1:])})"
    if kind == "power":
        return f"(power_of {_lisp(tree[1])} {float(tree[2])})"
    if kind == "/":
        return f"(quotient {_lisp(tree[1])} {_lisp(tree[2])})"
    if kind == "if":
        return f"(if {_lisp(tree[1])} then {_lisp(tree[2])} else {_lisp(tree[3])})"
    if kind == "member":
        found = f"(or {' '.join(f'(eq {_lisp(tree[2])} {chr(34)}{word}{chr(34)})' for word, _ in tree[3])})"
        return found if tree[4] else f"(not {found})"
    if kind == "compare":
        left, right = _lisp(tree[3]), _lisp(tree[4])
        if tree[5] in ("words", "truth"):
            return f"({'eq' if tree[2] == '==' else 'neq'} {left} {right})"
        if tree[2] in ("==", "!="):
            return f"({'=' if tree[2] == '==' else '<>'} {left} {right})"
        return f"(and (= {left} {left}) (= {right} {right}) ({tree[2]} {left} {right}))"
    return f"({kind} {_lisp(tree[1])} {_lisp(tree[2])})"
