"""My shop: which there are, what one can do, how a lathe is measured, and a new shop file out of a form."""

from __future__ import annotations

import re
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.asked import settings
from advisor.asked import shop as shops
from advisor.asked.shop_keys import recipes, shop_tables
from advisor.drawing import measuring
from advisor.ground import whole_files
from advisor.ground.errors import InputError, ShopError, together
from advisor.ground.units import shown
from advisor.page import labels, svg
from advisor.page import state as states
from advisor.page.guard import Refused
from advisor.page.made import File, Move, Screen
from advisor.show import measuring as measured
from advisor.show import shop as words
from advisor.study.ability import ability

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from starlette.datastructures import FormData
    from starlette.requests import Request

    from advisor.page.made import Made
    from advisor.page.state import Stamp, State

ROOM = (120.0, 92.0)  # mm of paper
ASKED = (
    "lathe",
    "lathe.compound",
    "lathe.rod",
    "pivot_attachment",
    "form_tools",
    "files",
)  # tables that the form asks for
UNITS = ("mm", "inch")


def shop(state: State, **_: object) -> Screen:
    """Every shop, or what one can do."""
    usual, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
    name = state.fields.get("shop")
    listed = []
    for one in states.shop_names():
        try:
            found = states.shop_called(one)
            listed.append({"name": one, "told": found.about or ", ".join(lathe.name for lathe in found.lathes), "wrong": "",
                           "address": states.join("/shop", {"shop": one}), "usual": one == usual})  # fmt: skip
        except ShopError as problem:
            listed.append({"name": one, "told": "", "wrong": str(problem.each[0]), "address": "", "usual": False})
    able = None
    if name is not None:
        able = _able(name, states._stamp())
    return Screen(
        "shop.html",
        shops=listed,
        usual=shown(str(usual), 60),
        chosen_by=chosen_by,
        able=able,
        name=name or "",
        measure=states.join("/shop/measure", {"shop": name} if name else {}),
        place="shop",
        same=f"turn-radius shop {name}" if name else "turn-radius shop",
    )


@lru_cache(maxsize=8)
def _able(name: str, stamp: Stamp) -> dict[str, Any]:
    """What a shop can do, in words."""
    found = states.shop_called(name)
    able = ability(found)
    reaches = []
    for form in words.FORMS:
        for method in able.methods:
            cells = [
                words.reach_words(able.reaches.get((method, form, place)), found.units) for place in words.LOCATIONS
            ]
            if any(cell != "-" for cell in cells):
                reaches.append([form, method, *cells])
    helps = [(one.kind, one.made, one.quicker) for one in able.helps if one.made or one.quicker][:5]
    return {
        "name": found.name,
        "about": found.about or "",
        "lathes": [words.lathe_line(lathe, found.units) for lathe in found.lathes],
        "heads": ["form", "method", *words.LOCATIONS],
        "reaches": reaches,
        "gaps": any("*" in cell for line in reaches for cell in line),
        "units": "inches" if found.units == "inch" else "mm",
        "stand": able.stand,
        "tried": able.tried,
        "helps": helps,
    }


# ---- how it is measured


def _drawn(state: State) -> tuple[list[measuring.Shown], str]:
    found = states.shop_called(state.fields["shop"]) if "shop" in state.fields else None
    units = "inch" if state.fields.get("units") == "inch" else found.units if found else settings.read().units or "mm"
    return _pictured(state.fields.get("shop"), units, states._stamp())


@lru_cache(maxsize=4)
def _pictured(name: str | None, units: str, stamp: Stamp) -> tuple[list[measuring.Shown], str]:
    lathe, whose = measured.drawn_lathe(states.shop_called(name) if name else None, units)
    return measuring.pictures(lathe, units, room=ROOM), whose


def measure(state: State, **_: object) -> Screen:
    """Pictures of what is measured, with what is done."""
    found, whose = _drawn(state)
    listed = [
        {"title": one.title, "steps": one.steps, "picture": state.address("/drawing/measure.svg", which=n)}
        for n, one in enumerate(found)
    ]
    return Screen("measure.html", listed=listed, whose=whose, place="shop", same="turn-radius shop measure")


def measure_picture(state: State, **_: object) -> File:
    found, _ = _drawn(state.without("which"))
    which = state.more.get("which", "0")
    if not which.isdecimal() or len(which) > 3 or int(which) >= len(found):
        raise Refused(404, "drawing", which[:10], "is none of them", "Go back.")
    one = found[int(which)]
    return File(svg.drawn(one.picture, says=one.title).encode(), "image/svg+xml", keep=True)


# ---- which one counts


def use(state: State, *, request: Request, form: FormData | None, **_: object) -> Move:
    """Keep a shop as the one that counts."""
    name = state.fields.get("shop", "")
    if request.method == "POST":
        states.shop_called(name)
        settings.keep(shop=name)
    return Move(states.join("/shop", {"shop": name}))


# ---- a new one


def new(state: State, *, request: Request, form: FormData | None, **_: object) -> Made:
    """A form for a shop file, and the file out of it."""
    units = "inch" if state.fields.get("units") == "inch" else "mm"
    values = {
        name: " ".join(str(value).split())[: states.LONGEST]
        for name, value in (form or {}).items()
        if isinstance(value, str)
    }
    wrong = ()
    if request.method == "POST":
        try:
            name = _written(values, units)
            return Move(states.join("/shop", {"shop": name}))
        except ShopError as problem:
            wrong = problem.each
    tables = []
    pictures = {key: n for n, recipe in enumerate(recipes()) for key in recipe.keys}
    told = _drawn(state)[0]
    for name in ASKED:
        table = shop_tables().get(name)
        if table is None:
            continue
        fields = [
            labels.field(
                f"{name}.{key.name}",
                values.get(f"{name}.{key.name}", ""),
                label=key.name.replace("_", " "),
                told=f"{key.meaning[:1].upper()}{key.meaning[1:]}. {key.find}".strip(),
                like=key.line(units).partition(" = ")[2].strip('"'),
            )
            for key in table.keys.values()
            if key.metric
        ]
        shown_here = sorted({pictures[key.name] for key in table.keys.values() if key.name in pictures})
        tables.append(
            {
                "heading": table.name.replace(".", ": ").replace("_", " ").capitalize(),
                "about": table.about,
                "fields": fields,
                "open": name == "lathe" or any(field["value"] for field in fields),
                "pictures": [
                    (told[n].title, told[n].steps, states.join("/drawing/measure.svg", {"units": units, "which": n}))
                    for n in shown_here
                    if n < len(told)
                ],
            }
        )
    return Screen(
        "newshop.html",
        400 if wrong else 200,
        wrong=wrong,
        values=values,
        units=units,
        others=[("", "nothing: all of it stands here"), *((name, name) for name in states.shop_names())],
        tables=tables,
        place="shop",
        same=f"turn-radius shop new {values.get('called') or 'my-shop'} --units {units}",
    )


def _written(values: Mapping[str, str], units: str) -> str:
    """Write a shop file -> its name. Raises ShopError for all that is wrong; then nothing was written."""
    name = values.get("called", "").lower().replace(" ", "-")
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,40}", name):
        raise ShopError(
            "name",
            shown(values.get("called", "")),
            "is no name for a shop",
            "Give letters, figures and hyphens, such as my-shop.",
        )
    if name in states.shop_names():
        raise ShopError(
            "name", name, "is the name of a shop that is there", "Give another name; that one is left as it is."
        )
    text = _text(name, values, units)
    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / f"{name}.toml"
        trial.write_text(text, encoding="utf-8")
        try:
            shops.read_shop(str(trial))
        except ShopError as problem:
            raise _here(problem, str(trial)) from None
    path = whole_files.check(shops.new_place(name), ("toml",), replace=False, field="shop", error=ShopError)
    whole_files.write(path, [text.encode()], replace=False)
    return name


def _here(problem: ShopError, path: str) -> InputError:
    """The same error without the place where it was tried."""
    bare = lambda text: str(text).replace(f"{path}: ", "").replace(path, "the file")  # noqa: E731
    return together([ShopError(bare(one.field), one.value, bare(one.problem), bare(one.fix)) for one in problem.each])


def _text(name: str, values: Mapping[str, str], units: str) -> str:
    """The file, with what was filled in alone."""
    lines = [f'name = "{name}"', f'units = "{units}"']
    if values.get("like") in states.shop_names():
        lines.insert(0, f'like = "{values["like"]}"')
    for key in ("hourly_rate", "currency"):
        if values.get(key):
            lines.append(f"{key} = {_value(values[key])}")
    for table in ASKED:
        told = shop_tables().get(table)
        filled = [(key, values[f"{table}.{key}"]) for key in told.keys if values.get(f"{table}.{key}")] if told else []
        if told and filled:
            lines += ["", told.heading, *(f"{key} = {_value(text)}" for key, text in filled)]
    return "\n".join(lines) + "\n"


def _value(text: str) -> str:
    """What somebody typed as a value of a shop file."""
    if text.startswith("[") and text.endswith("]"):
        text = text[1:-1]
        return f"[{', '.join(_one(part) for part in text.split(',') if part.strip())}]"
    if re.search(r", ?\S", text):
        return f"[{', '.join(_one(part) for part in text.split(',') if part.strip())}]"
    return _one(text)


def _one(text: str) -> str:
    text = text.strip().strip('"')
    if text.lower() in ("yes", "true"):
        return "true"
    if text.lower() in ("no", "false"):
        return "false"
    if re.fullmatch(r"[+-]?(0|[1-9][0-9]*)(\.[0-9]+)?", text):
        return text
    if re.fullmatch(r"\.[0-9]+", text):
        return f"0{text}"
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
