"""Methods chosen by what they cost: the same choice by every executor, told in money, and kept with the job."""

import dataclasses
import math

import pytest
import shown
from command import CORNER, run

from advisor.answer import advice as advising
from advisor.answer import column_advice, wording
from advisor.engine import generated
from advisor.ground.errors import ShopError
from advisor.lists.pricing import Desk
from advisor.show import terminal, why
from advisor.study import changes, estimate, mapping

SOME = [path for path in shown.WORKED if not path.stem.endswith("no-pivot")][::6]


def both(path):
    """The advice on a worked case by minutes and by cost."""
    found = shown.worked(path)
    return found, advising.advise(found.callout, found.shop, executor=generated.run, by="cost")


@pytest.mark.parametrize("path", SOME, ids=lambda path: path.stem)
def test_the_cheapest_that_stands_is_chosen_by_every_executor(path):
    quick, cheap = both(path)
    costs = {method.name: method.cost for method in cheap.ranked if method.rank}
    assert set(quick.order) == set(cheap.order) == set(costs)
    assert list(cheap.order) == sorted(costs, key=costs.get)
    if len(costs) > 1:
        first, second = sorted(costs.values())[:2]
        assert cheap.close_call == (second <= first * (1 + cheap.rules.base["close_call_share"]))
    assert advising.choice(cheap.callout, cheap.shop, cheap.rules, "cost") == cheap.recommended
    assert advising.advise(cheap.callout, cheap.shop, by="cost").order == cheap.order
    given = mapping.given_at(cheap.callout, {}, lambda *_: None)
    part = column_advice.givens(given, cheap.shop, cheap.lathe)
    (found,) = column_advice.advise(Desk(cheap.shop, ()).rules, part, rows=1, by="cost", workers=1)
    place = [method["name"] for method in cheap.rules.methods].index(cheap.recommended) if cheap.recommended else -1
    assert (int(found.best[0]), bool(found.close_call[0])) == (place, cheap.close_call)


def test_some_are_chosen_otherwise_than_by_minutes():
    assert any(quick.recommended != cheap.recommended for quick, cheap in map(both, shown.WORKED))


@pytest.mark.parametrize("path", SOME[:4], ids=lambda path: path.stem)
def test_words_go_by_money(path):
    _, cheap = both(path)
    for method in cheap.ranked[1:]:
        if method.rank and cheap.best:
            more = f"{method.cost - cheap.best.cost:,.2f} {cheap.shop.currency} dearer"
            assert wording.against(method, cheap).startswith(more) and wording.why_not(method, cheap).startswith(more)
    told = shown.as_text(terminal.screen(cheap))
    if cheap.best:
        assert "Chosen by cost." in told
        assert wording.BY_COST not in shown.as_text(terminal.screen(shown.worked(path)))


def test_what_would_change_it_is_tried_by_cost():
    path = next(path for path in shown.WORKED if path.stem == "knob-corner")
    found = shown.worked(path)
    cheap = advising.advise(changes.varied(found.callout, "quantity", 8), found.shop, executor=generated.run, by="cost")
    point = next(point for point in changes.changes(cheap).points if point.name == "quantity" and point.value > 8)
    for pieces, method in ((point.value, point.method), (point.last, cheap.recommended)):
        there = changes.varied(cheap.callout, "quantity", pieces)
        assert advising.advise(there, cheap.shop, by="cost").recommended == method
    assert estimate.Change(point.value, point.method, cheap.recommended) in estimate.changes(cheap, 100, by="cost")
    compared = changes.compare(cheap, cheap.recommended, cheap.order[1])
    assert compared.gap == pytest.approx(cheap.methods[cheap.order[1]].cost - cheap.best.cost)
    assert f"{compared.gap:,.2f} EUR" in shown.as_text(why.screen(cheap)) and math.isfinite(compared.gap)


def test_a_shop_without_a_rate_cannot_choose_by_cost():
    shed = dataclasses.replace(shown.worked(SOME[0]).shop, hourly_rate=math.nan)
    with pytest.raises(ShopError, match="states no hourly rate"):
        advising.advise(shown.worked(SOME[0]).callout, shed, by="cost")


def test_a_kept_job_keeps_what_it_was_chosen_by(tmp_path, monkeypatch):
    monkeypatch.setenv("TURN_RADIUS_RECORDS", str(tmp_path / "jobs.sqlite"))
    monkeypatch.chdir(tmp_path)
    first = run("advise", *CORNER, "--quantity=8", "--by=cost", "--keep", "--json").data
    assert (first["chosen_by"], first["recommended"]) == ("cost", "pivot attachment")
    again = run("advise", first["job"], "--json").data
    assert (again["chosen_by"], again["recommended"]) == ("cost", "pivot attachment")
    assert run("why", first["job"], "--json").data["recommended"] == "pivot attachment"
    assert run("why", first["job"], "--if", "quantity 40", "--json").data["then"]["chosen_by"] == "cost"
    assert run("estimate", first["job"], "--json").data["recommended"] == "pivot attachment"
    assert run("advise", first["job"], "--by=minutes", "--json").data["recommended"] == "form tool"
    assert run("ask", first["job"], "--json").status == 0


def test_an_estimate_by_cost_still_tells_the_quickest():
    told = run("estimate", *CORNER, "--quantity=8", "--by=cost", "--quantities=1,8")
    assert "Chosen by cost." in told.out and "The form tool takes 7.5 min less, and costs 3.74 EUR more." in told.out
    data = run("estimate", *CORNER, "--quantity=8", "--by=cost", "--json").data
    assert (data["chosen_by"], data["prices"]["quickest"], data["prices"]["cheapest"]) == (
        "cost", "form tool", "pivot attachment",
    )  # fmt: skip


@pytest.mark.parametrize("command", ["advise", "why", "estimate"])
def test_another_way_to_choose_is_an_error(command):
    ran = run(command, *CORNER, "--by=weight")
    assert ran.status == 2 and ran.complaint == "--by: weight is no way to choose. Give minutes or cost.\n"
