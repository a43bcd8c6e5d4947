"""What the screens call the names of a case file and the methods, and what a field of a form is."""

import re

_OPTION = re.compile(r'(?<![\w-])--([a-z]+(?:-[a-z]+)*)(?: "([^"]*)")?')
LABELS = {
    "radius": ("The radius, as the drawing has it", "R6 ±0.1"),
    "shape": ("Where it is", "fillet"),
    "form": ("Convex or concave", "convex"),
    "location": ("Where it is", "corner"),
    "diameter": ("Diameter of the work there", "40 mm"),
    "width": ("Width straight across the arc", "10 mm"),
    "depth": ("Depth of the arc", "2 mm"),
    "from_end": ("From the end face to the near edge", "20 mm"),
    "shoulder_height": ("Height of the shoulder", "8 mm"),
    "length": ("Length of the diameter there", "30 mm"),
    "rim": ("Flat rim left round it", "2 mm"),
    "units": ("Unit of bare numbers", "mm"),
    "general_tolerance": ("General tolerance in the title block", "ISO 2768-m"),
    "finish": ("Roughness", "Ra 1.6"),
    "material": ("Material", "brass"),
    "hardness": ("Hardness", "28 HRC"),
    "stickout": ("How far it stands out of the chuck", "60 mm"),
    "support": ("Held by", "chuck"),
    "bore": ("Hole along the axis", "12 mm"),
    "interrupted": ("Keyway, flat or cross hole", "no"),
    "tool": ("Tool", "high-speed steel"),
    "quantity": ("Pieces", "12"),
    "places": ("Radii of this kind on each piece", "1"),
    "skill": ("Who turns it", "journeyman"),
    "minutes_in_piece": ("Minutes of work already in each piece", "30"),
    "shop": ("Shop", "training-shop"),
    "lathe": ("Lathe", ""),
}


def label(name):
    """What a name is called: the screens' word for it, or the name in words."""
    return LABELS.get(name, (name.replace("_", " ").capitalize(), ""))[0]


def like(name):
    """Such an answer."""
    return LABELS.get(name, ("", ""))[1]


def in_labels(sentence):
    """A sentence in which what a command line calls an option is called as its field here.

    >>> in_labels('halve again with --moved "0.021 mm", or give --general-tolerance.')
    'halve again with “Moved” 0.021 mm, or give “General tolerance in the title block”.'
    """

    def named(found):
        return f"“{label(found[1].replace('-', '_'))}”" + (f" {found[2]}" if found[2] else "")

    return _OPTION.sub(named, str(sentence))


def field(name, value="", **more):
    """A field of a form, as parts.html shows it.

    more: label; like: such an answer; told: a line under it; choices: as (value, words); big; slide: its stops, as a
    where_each_wins.Slide, with moves: what slides; type: text, count (a whole number), list (text with suggestions), choice
    or radios.
    """
    known = {
        "label": label(name),
        "like": like(name),
        "type": "text",
        "told": "",
        "choices": (),
        "big": False,
        "slide": None,
    }
    return {"name": name, "value": value} | known | more


def css(method):
    """The end of the class of a method's colour and hatch; "" stands for no method.

    >>> css("form tool"), css("")
    ('form-tool', 'no-method-stands')
    """
    return (method or "no method stands").replace(" ", "-")


def elsewhere(errors, fields):
    """Errors that are told at none of some fields of a form."""
    names = {one["name"] for one in fields}
    return [error for error in errors if error.field not in names]
