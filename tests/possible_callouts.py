"""Callouts drawn at random, as they would be written: all six shapes, every shop, sizes that belong together."""

import random
from functools import cache
from pathlib import Path

from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.ground.errors import InputError

SHOPS = sorted(path.stem for path in (Path(__file__).parent.parent / "cases" / "shops").glob("*.toml"))
SHAPES = [(location, form) for location in ("corner", "end", "outside diameter") for form in ("convex", "concave")]


def written(seed):
    """The fields of one callout and the name of a shop: lengths as numbers of mm, which `in_millimetres` and others
    write out."""
    draw = random.Random(seed)
    location, form = SHAPES[seed % len(SHAPES)]
    radius = 10 ** draw.uniform(-0.3, 1.7)
    lengths = {}
    if location == "corner":
        diameter = 2 * radius * draw.uniform(1.05, 6)
        if form == "concave":
            diameter = draw.uniform(4, 120)
            lengths["shoulder_height"] = radius * draw.uniform(1, 3)
    elif location == "end":
        diameter = 2 * radius * draw.uniform(0.1, 0.99)
        if form == "concave":
            lengths["width"] = diameter * draw.uniform(0.4, 1)
    else:
        lengths["width"] = 2 * radius * draw.uniform(0.1, 0.99)
        diameter = max(draw.uniform(0.5, 5) * lengths["width"], 3)
        if draw.random() < 0.7:
            lengths["from_end"] = draw.uniform(0, 60)
    lengths["diameter"] = diameter
    if draw.random() < 0.5:
        lengths["stickout"] = (
            draw.uniform(0.5, 5) * diameter + lengths.get("from_end", 0) + lengths.get("width", radius)
        )
    if draw.random() < 0.15:
        lengths["bore"] = diameter * draw.uniform(0.05, 0.6)
    words = {
        "form": form,
        "location": location,
        "material": draw.choice(list(materials.materials())),
        "support": draw.choice(["chuck", "chuck", "tailstock", "steady rest"]),
        "skill": draw.choice(["apprentice", "journeyman", "expert"]),
        "tool": draw.choice(["high-speed steel", "high-speed steel", "carbide"]),
        "interrupted": draw.choice(["no", "no", "no", "yes"]),
        "quantity": str(draw.choice([1, 2, 6, 12, 50, 300, 5000])),
        "places": str(draw.choice([1, 1, 2, 4])),
        "minutes_in_piece": f"{draw.choice([0, 0, 20, 200])} min",
    }
    if draw.random() < 0.3:
        words["finish"] = f"{draw.choice([0.8, 1.6, 3.2])} um"
    lengths["radius"] = radius
    lengths["tolerance"] = radius * 10 ** draw.uniform(-2.3, -0.3)
    return lengths, {"symbol": draw.choice(["R", "R", "CR", "SR"]), **words}, draw.choice(SHOPS)


def in_millimetres(lengths, words):
    """The fields as a drawing in millimetres has them."""
    sizes = {name: f"{value!r} mm" for name, value in lengths.items()}
    return _fields(sizes, words, "mm")


def in_inches(lengths, words):
    """The same as a drawing in inches has them."""
    sizes = {name: f"{value / 25.4!r} in" for name, value in lengths.items()}
    return _fields(sizes, words, "inch")


def _fields(sizes, words, units):
    radius, tolerance = sizes.pop("radius"), sizes.pop("tolerance")
    unit = radius.split()[1]
    text = f"{words['symbol']}{float(radius.split()[0]):.9f} ±{float(tolerance.split()[0]):.9f} {unit}"
    return sizes | {name: word for name, word in words.items() if name != "symbol"} | {"radius": text, "units": units}


def read(fields, shop):
    """The callout and the shop."""
    held = shop_called(shop)
    return callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=held.inch_tolerances), held


@cache
def shop_called(name):
    """A shop by its name, read once."""
    return shops.read_shop(name)


def possible(count, *, write=in_millimetres, first=0):
    """So many callouts that can be turned on a lathe of their shop: list of (seed, callout, shop)."""
    from advisor.answer.advice import lathe_for

    found, seed = [], first
    while len(found) < count:
        lengths, words, shop = written(seed)
        try:
            callout, held = read(write(lengths, words), shop)
            lathe_for(callout, held)
            found.append((seed, callout, held))
        except InputError:
            pass
        seed += 1
    return found
