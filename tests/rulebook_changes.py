"""The rule base with something taken away, to see what it held."""

from advisor.rulebase.rulebook import Rule, Rulebook


def without_rules(rulebook, ids):
    """The same rule base, in which some rules do nothing."""
    rules = []
    for rule in rulebook.rules:
        copy = Rule(*rule.fields())
        copy.effects = [] if rule.id in ids else rule.effects
        rules.append(copy)
    made = Rulebook(
        rulebook.names, rules, rulebook.order, rulebook.methods, rulebook.package, rulebook.label, {},
        bounds=rulebook.bounds,
    )  # fmt: skip
    made.base = rulebook.base
    return made
