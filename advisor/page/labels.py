"""What the screens call the names of a case file, and how such an answer looks."""

from advisor.asked.options import options

LABELS = {name: (option.label, option.like) for name, option in options().items()}


def label(name):
    """What a name is called: the screens' word for it, or the name in words."""
    return LABELS.get(name, (name.replace("_", " ").capitalize(), ""))[0]


def like(name):
    """Such an answer."""
    return LABELS.get(name, ("", ""))[1]
