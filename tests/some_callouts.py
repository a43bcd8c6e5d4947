"""Callouts made up at random, written as people write them: rows for lists, good ones and some that cannot be."""

import random

MATERIALS = (
    "",
    "low-carbon steel",
    "brass",
    "12L14",
    "tool steel",
    "aluminium alloy",
    "austenitic stainless steel",
    "EN24",
)
FORMS = ("convex", "concave")
LOCATIONS = ("corner", "end", "outside diameter")


def rows(count, *, seed=0, bad=0.0, inches=0.3, shops=("",)):
    """`count` rows: name of a case file -> text, '' where nothing is written. bad: share of rows with a slip in
    them.
    """
    draw = random.Random(seed)
    return [
        _slip(draw, one) if draw.random() < bad else one for one in (_row(draw, inches, shops) for _ in range(count))
    ]


def _row(draw, inches, shops):
    inch = draw.random() < inches
    form, location = draw.choice(FORMS), draw.choice(LOCATIONS)
    diameter = round(draw.choice((8, 12, 20, 25, 32, 40, 63, 80, 120)) * draw.choice((1, 1, 0.8, 1.05)), 2)
    most = {"corner": diameter / 2 if form == "convex" else 20, "end": diameter * 3, "outside diameter": 60}[location]
    least = diameter / 2 if location == "end" and form == "convex" else 0.5
    radius = round(least + (most - least) * draw.random() ** 2, draw.choice((0, 1, 2))) or 0.5
    radius = max(radius, round(least + 0.005, 2))
    row = {
        "radius": _radius(draw, radius, inch),
        "form": draw.choice((form, form, form.upper(), "round" if form == "convex" else "hollow")),
        "location": draw.choice((location, location, "od" if location == "outside diameter" else location)),
        "diameter": _length(draw, diameter, inch),
        "units": "inch" if inch else draw.choice(("", "mm")),
        "quantity": draw.choice(("", "1", "3", "12", "25", "100", "600")),
        "material": draw.choice(MATERIALS),
        "skill": draw.choice(("", "apprentice", "journeyman", "expert")),
        "support": draw.choice(("", "", "chuck", "tailstock", "steady rest")),
        "hardness": draw.choice(("", "", "", "180 HB", "28 HRC", "240")),
        "finish": draw.choice(("", "", "Ra 1.6 um", "Ra 63 uin")),
        "bore": draw.choice(("", "", "", "", _length(draw, diameter / 4, inch))),
        "minutes_in_piece": draw.choice(("", "", "30", "1.5 h")),
        "interrupted": draw.choice(("", "", "yes", "no")),
        "shop": draw.choice(shops),
    }
    if location == "corner" and form == "concave" and draw.random() < 0.5:
        row["shoulder_height"] = _length(draw, radius * 1.3 + 0.1, inch)
    if location == "outside diameter" or (location == "end" and form == "concave"):
        width = min(2 * radius, diameter) * draw.uniform(0.3, 0.95)
        row["width"] = _length(draw, width, inch)
    if location == "outside diameter" and draw.random() < 0.5:
        row["from_end"] = _length(draw, diameter * draw.random(), inch)
    if draw.random() < 0.2:
        row["stickout"] = _length(draw, diameter * draw.uniform(1, 6) + radius, inch)
    return row


def _number(draw, mm, inch):
    return f"{mm / 25.4:.3f}".lstrip("0") if inch else f"{mm:g}"


def _radius(draw, radius, inch):
    text = _number(draw, radius, inch)
    tolerance = _number(draw, max(radius * draw.choice((0.01, 0.02, 0.05, 0.1)), 0.03), inch)
    if inch and not text.rstrip("0."):
        text = ".031"
    return draw.choice(
        (
            f"R{text} ±{tolerance}",
            f"R{text} ±{tolerance}",
            f"R{text}",
            f"SR{text} ±{tolerance}",
            f"2X R{text} +{tolerance}/-0",
        )
    )


def _length(draw, mm, inch):
    if inch:
        return draw.choice((f"{mm / 25.4:.4f}", f"{mm / 25.4:.4f} in", f"{mm:.4f} mm"))
    return draw.choice((f"{mm:.3f}", f"{mm:.3f} mm", f"{mm:.2f}".replace(".", ",") + " mm"))


def _slip(draw, row):
    """One thing wrong, or at the edge of wrong."""
    key, text = draw.choice(
        (
            ("radius", "R6 +0.1"), ("radius", ""), ("radius", "Ø12"), ("radius", "R900 ±0.1"), ("diameter", "40 kg"), ("diameter", "3"),
            ("form", "oval"), ("location", ""), ("width", "400"), ("width", "12"), ("depth", "1.5"), ("depth", "90"), ("rim", "2"),
            ("from_end", "10"), ("shoulder_height", "0.7"), ("length", "2"), ("stickout", "4"), ("bore", "39"), ("quantity", "0"),
            ("quantity", "2.5"), ("places", "3"), ("material", "unobtainium"), ("hardness", "900"), ("finish", "Rz 10"), ("skill", "wizard"),
            ("support", "magnet"), ("minutes_in_piece", "-3"), ("general_tolerance", "ISO 2768-x"), ("general_tolerance", "±0.2"),
            ("units", "furlong"), ("tool", "hss"), ("interrupted", "maybe"), ("radius", "R2 MAX"), ("radius", "R1 MIN"), ("radius", "R6"),
        )
    )  # fmt: skip
    return row | {key: text}
