"""Every screen of a worked case as text, for tests that read them."""

import contextlib
import functools
import io
import os
from pathlib import Path
from unittest import mock

from often import LONG

from advisor.answer import advice as advising
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.cli import Terminal
from advisor.engine import generated
from advisor.show import blocks, onescreen, terminal, why

WORKED = sorted((Path(__file__).parent.parent / "cases").glob("*.toml"))


def some(first):
    """A third of the worked cases, beginning with the first, second or third; in the long run all. Properties that hold
    of every screen are tried on different ones, and what each case is answered is golden text beside it."""
    return WORKED if LONG else WORKED[first::3]


@functools.cache
def worked(path):
    """The advice on a worked case."""
    shop = shops.read_shop(callouts.open_case(path).fields.get("shop") or shops.USUAL_SHOP)
    callout = callouts.read_case(path, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    return advising.advise(callout, shop, executor=generated.run)


def as_text(renderable, columns=80):
    """What is printed into a pipe of so many columns."""
    out = io.StringIO()
    with mock.patch.dict(os.environ, COLUMNS=str(columns)), contextlib.redirect_stdout(out):
        Terminal().show(renderable)
    return out.getvalue()


def screens(path, *, explained, columns=400):
    """Name -> text of the screens of advise, and of why where it is to be explained, wide enough that no word is
    broken."""
    found = worked(path)
    shown = {"advise": onescreen.screen(found), "full": terminal.screen(found)}
    if explained:
        shown["why"] = why.screen(found, True)
    others = [method.name for method in found.ranked if method is not found.best]
    shown |= {f"instead {name}": why.instead(found, name) for name in (others[0], others[-1])}
    with mock.patch.object(blocks, "READABLE", columns):
        return {name: as_text(screen, columns) for name, screen in shown.items()}
