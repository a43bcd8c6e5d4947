"""What an address says, and addresses out of that: all that a screen hangs on stands in its own address."""

from __future__ import annotations

import os
import shlex
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import urlencode

from advisor.answer.advice import advise
from advisor.asked import callout as callouts
from advisor.asked import materials, settings
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground.errors import CalloutError, ShopError, did_you_mean
from advisor.ground.units import shown
from advisor.lists.pricing import Desk
from advisor.records import job_records
from advisor.study import interview

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop
    from advisor.records.job_records import Job
    from advisor.rulebase.rulebook import Rulebook

    Stamp = tuple[tuple[str, int], ...]  # names of the user's own shops, and when each was written

LONGEST = 400  # characters of one value in an address
KEPT = 64  # answers that are kept for the next screen of the same job
FLOW = (
    "unknown",
    "method",
    "step",
    "ticked",
    "began",
    "good",
    "ended",
    "away",
    "left",
    "job",
)  # what a screen adds to the job


class State(NamedTuple):
    """What an address says. fields: name of a case file -> text; flow: names of FLOW -> text; more: the rest -> text."""

    fields: dict[str, str]
    flow: dict[str, str]
    more: dict[str, str]

    @property
    def unknown(self) -> list[str]:
        """Names of questions or facts that were asked and not answered."""
        return [word for word in self.flow.get("unknown", "").split(",") if word.strip()]

    def without(self, *names: str) -> State:
        """The same without some of its names."""
        return State(*({k: v for k, v in part.items() if k not in names} for part in self))

    def having(self, **changed: object) -> State:
        """The same with other values; None takes a name away."""
        parts = [dict(part) for part in self]
        for name, value in changed.items():
            part = parts[0] if name in callouts.KEYS else parts[1] if name in FLOW else parts[2]
            part.pop(name, None)
            if value is not None and str(value) != "":
                part[name] = str(value)
        return State(*parts)

    def address(self, path: str, **changed: object) -> str:
        """The address of a screen: what is known of the job, then what the screen adds; of the rest only what is
        named."""
        state = self.having(**changed)
        more = {name: value for name, value in state.more.items() if name in changed}
        return join(path, {**state.fields, **state.flow, **more})

    def hidden(self, *left_out: str) -> list[tuple[str, str]]:
        """Names and values for a form that leads on, without those that it asks for itself."""
        return [(name, value) for name, value in {**self.fields, **self.flow}.items() if name not in left_out]


def join(path: str, values: Mapping[str, object]) -> str:
    """A path with values behind it."""
    return f"{path}?{urlencode(values)}" if values else path


def state_of(pairs: Iterable[tuple[str, object]]) -> State:
    """What pairs of names and texts from an address or a form say -> State. Raises CalloutError for a value that is too
    long."""
    fields: dict[str, str] = {}
    flow: dict[str, str] = {}
    more: dict[str, str] = {}
    for name, text in pairs:
        text = " ".join(str(text).split())
        if len(text) > LONGEST:
            problem = f"has {len(text):,} characters"
            raise CalloutError(shown(name), shown(text), problem, f"Write it in at most {LONGEST}.")
        part = fields if name in callouts.KEYS else flow if name in FLOW else more
        part.pop(name, None)
        if text:
            part[name] = text
    named = {name: fields[name] for name in callouts.KEYS if name in fields}
    return State(named, {name: flow[name] for name in FLOW if name in flow}, more)


# ---- the shop and what was recorded


def shop_names() -> list[str]:
    """Names of the shops that may be chosen on the page: those carried inside, and the user's own."""
    return list(dict.fromkeys([*shops.own_names(), *sorted(path.stem for path in shops.SHOPS.glob("*.toml"))]))


def usual_name() -> str:
    """Name or path of the shop that counts where none is chosen."""
    return settings.usual_shop(shops.USUAL_SHOP)[0]


def shop_called(name: str | None = None) -> Shop:
    """The Shop of a name, or the one that counts; never a path that an address brought along."""
    if name is not None and name not in shop_names():
        known = shop_names()
        fix = f"{did_you_mean(name, known)}Give one of {', '.join(known)}."
        raise ShopError("shop", shown(name), "is not there", fix)
    return _shop(name or usual_name(), _stamp())


def _stamp() -> Stamp:
    """What changes when one of the user's own shops does."""
    return tuple((path.stem, path.stat().st_mtime_ns) for path in shops.own_files())


@lru_cache(maxsize=16)
def _shop(name: str, stamp: Stamp) -> Shop:
    return shops.read_shop(name)


class Records:
    """The file of records that the server was started with. file: its path, None for the usual one."""

    def __init__(self, file: str | None = None) -> None:
        self.file = file

    def place(self) -> Path:
        return job_records.place(self.file)

    def keeps(self) -> bool:
        """Whether there is a place for a file."""
        return self.file is not None or not job_records.nowhere()

    def jobs(self) -> tuple[Job, ...]:
        """Every recorded job; none where there is no file."""
        if not self.keeps():
            return ()
        place = self.place()
        try:
            told = os.stat(place)
        except OSError:
            return ()
        return _jobs(place, (told.st_mtime_ns, told.st_size))


@lru_cache(maxsize=4)
def _jobs(place: Path, stamp: tuple[int, int]) -> tuple[Job, ...]:
    return job_records.jobs_in(place)


# ---- the job


def with_unit(fields: Mapping[str, str]) -> Mapping[str, str]:
    """The fields with the unit that the user keeps, where none is stated."""
    kept = settings.read().units
    return {**fields, "units": kept} if kept and "units" not in fields else fields


def reader(shop: Shop) -> Callable[[Mapping[str, str]], Callout]:
    """A function fields -> Callout in a shop."""

    def read(fields: Mapping[str, str]) -> Callout:
        return callouts.read_callout(
            with_unit(fields),
            shop_units=shops.drawing_units(shop),
            materials=materials.materials(),
            inch_tolerances=shop.inch_tolerances,
        )

    return read


def answer(state: State, records: Records) -> Advice:
    """The Advice for the job of a State."""
    shop_called(state.fields.get("shop"))
    shop = state.fields.get("shop") or usual_name()
    return _advice(tuple(state.fields.items()), settings.read().units, shop, _stamp(), records.jobs())


@lru_cache(maxsize=KEPT)
def _advice(
    fields: tuple[tuple[str, str], ...], units: str | None, shop: str, stamp: Stamp, jobs: tuple[Job, ...]
) -> Advice:
    shop = _shop(shop, stamp)
    return advise(reader(shop)(dict(fields)), shop, executor=generated.run, records=jobs)


def kept_fields(state: State) -> dict[str, str]:
    """What is kept of a job by its number: as a command line would state it."""
    return {"shop": usual_name(), **with_unit(state.fields)}


def as_typed(fields: Mapping[str, Any]) -> dict[str, str]:
    """What was kept of a job as an address has it: text, a case file's numbers and truth values too."""
    words = {True: "yes", False: "no"}
    typed = {name: words[value] if isinstance(value, bool) else str(value) for name, value in fields.items()}
    return {name: " ".join(text.split()) for name, text in typed.items()}


def job_number(state: State, method: MethodAdvice | None, records: Records) -> int | None:
    """The number of the job in a State where it is that of this job with this method, None where it is not."""
    text = state.flow.get("job", "")
    if not text.isdecimal() or len(text) > 9 or method is None or not records.keeps():
        return None
    try:
        job, fields = job_records.kept_job(records.place(), int(text))
    except job_records.RecordError:
        return None
    return job.number if as_typed(fields) == kept_fields(state) and job.method == method.name else None


def interview_step(state: State, records: Records) -> tuple[interview.Step, interview.Talk]:
    """Where the interview stands: (interview.Step, interview.Talk)."""
    shop = shop_called(state.fields.get("shop"))
    talk = interview.begun(_placed(with_unit(state.fields)), state.unknown)
    rules = _rules(state.fields.get("shop") or usual_name(), _stamp(), records.jobs())
    return interview.step(talk, reader(shop), shop, rules), talk


def _placed(fields: Mapping[str, str]) -> Mapping[str, str]:
    """The fields with form and location in place of one word for both."""
    word = callouts.shape_of("shape", fields["shape"]) if "shape" in fields else None
    if word is None or word.form is None or word.location is None:
        return fields
    return {name: text for name, text in fields.items() if name != "shape"} | {
        "form": word.form,
        "location": word.location,
    }


@lru_cache(maxsize=8)
def _rules(shop: str, stamp: Stamp, jobs: tuple[Job, ...]) -> Rulebook:
    return Desk(_shop(shop, stamp), jobs).rules


def command(state: State, name: str = "advise") -> str:
    """The command line that gives the same answer."""
    talk = interview.begun(with_unit(state.fields), state.unknown)
    return shlex.join(interview.command(talk, name=name))
