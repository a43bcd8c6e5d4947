"""What every command on a callout takes: its options, and the callout and shop that they state."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING, Any

from advisor.asked.options import helped
from advisor.commands import with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import Door
from advisor.ground.errors import CalloutError, ShopError
from advisor.ground.version import version

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop

# The names of a case file, each an option, with what a reader of --help needs.
OPTIONS = helped()
CASE_OR_RADIUS = "the radius as on the drawing, such as 'R6 ±0.1' or 'R3/8', a case (a file, or its name), or the number of a kept job"


def options(parser: Parser) -> None:
    """A radius or a case, and all that a callout takes."""
    parser.add_argument("radius", nargs="?", help=CASE_OR_RADIUS)
    parser.add_argument("shape_word", nargs="?", metavar="shape", help="one word for form and location, as --shape")
    parser.add_argument(
        "--case", metavar="FILE", help="a case file, or the name of a worked case; other options override its values"
    )
    field_options(parser)


def field_options(parser: Parser) -> None:
    """All that a callout takes, without the radius."""
    for title, names in OPTIONS.items():
        group = parser.add_argument_group(title)
        for name, meaning in names.items():
            group.add_argument(f"--{name}", metavar="TEXT", help=meaning)


def by_option(parser: Parser) -> None:
    """By what the method is chosen."""
    parser.add_argument("--by", metavar="WORD", help="choose the method by minutes or by cost; minutes if left out")


def advised(options: Namespace) -> Advice:
    """The advice that the options ask for."""
    from advisor.answer.advice import advise, read_by

    if options.by is not None:
        read_by(options.by)
    callout, shop = read_job(options)
    return advise(callout, shop, records=with_records.counting(options), by=read_by(options.by or "minutes"))


def stated(options: Namespace) -> dict[str, str]:
    """The options with the names of a case file that are stated: name -> text."""
    names = [name.replace("-", "_") for group in OPTIONS.values() for name in group]
    found = {name: getattr(options, name) for name in names if getattr(options, name) is not None}
    word = getattr(options, "shape_word", None)
    if word is None:
        return found
    from advisor.asked.callout import is_shape
    from advisor.asked.spelling import shapes_known
    from advisor.ground.errors import did_you_mean

    if not is_shape(word):
        near = did_you_mean(word, [shape.word for shape in shapes_known()])
        fix = f'{near}Put quotes round what has spaces in it, such as "R6 ±0.1".'
        raise CalloutError("command line", word, "is one word too many", fix)
    if "shape" in found:
        raise CalloutError("shape", word, f"is given beside --shape {found['shape']}", "Give one of them.")
    return found | {"shape": word}


def read_job(options: Namespace) -> tuple[Callout, Shop]:
    """Callout and shop that the options state, or the job of the number that stands in their first place."""
    from advisor.asked import callout as callouts

    case_first(options)
    given = _given(options)
    case = callouts.open_case(options.case) if options.case is not None else None
    fields = (case.fields if case else {}) | given
    shop, known = _shop_and_known(fields, from_case=case is not None)
    options.fields = fields | {"shop": fields.get("shop") or usual_name()}
    if case:
        return callouts.read_case(options.case, overrides=given, **known), shop
    return callouts.read_callout(given, **known), shop


def job_so_far(options: Namespace) -> tuple[dict[str, str], Callable[[Mapping[str, str]], Callout], Shop]:
    """What the options and the case state, a function that reads a callout from such fields, and the shop."""
    from advisor.asked import callout as callouts

    case_first(options)
    given = _given(options)
    case = callouts.open_case(options.case) if options.case is not None else None
    fields = (case.fields if case else {}) | given
    shop, known = _shop_and_known(fields, from_case=case is not None)
    return fields, lambda fields: callouts.read_callout(fields, **known), shop


def _given(options: Namespace) -> dict[str, str]:
    """What the options state, over what the job did whose number stands in their first place: name -> text."""
    job = kept(options)
    return job | stated(options) | ({} if options.radius is None or job else {"radius": options.radius})


def _shop_and_known(fields: Mapping[str, Any], *, from_case: bool) -> tuple[Shop, dict[str, Any]]:
    """The shop that the fields of a callout name, else the one that counts, and what a callout is read with there."""
    from advisor.asked import materials, settings
    from advisor.asked import shop as shops

    named = fields.get("shop")
    shop = usual_shop() if named is None else shops.read_shop(named)
    known: dict[str, Any] = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
    if named is not None or not from_case:  # a case means the same whatever somebody keeps in his settings
        lasting = settings.read().units if named is None else ""
        known["shop_units"] = lasting or shops.drawing_units(shop)
    return shop, known


def usual_shop() -> Shop:
    """The shop that counts where none is named: of the environment, of the settings, or the program's own."""
    from advisor.asked import settings
    from advisor.asked import shop as shops

    name, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
    try:
        return shops.read_shop(name)
    except ShopError as problem:
        if problem.field != "shop":
            raise
        fix = f"{problem.fix} It is the shop of {chosen_by}: choose another with turn-radius shop use."
        raise ShopError("shop", problem.value, problem.problem, fix) from None


def usual_name() -> str:
    """Name or path of the shop that counts where none is named."""
    from advisor.asked import settings
    from advisor.asked import shop as shops

    return settings.usual_shop(shops.USUAL_SHOP)[0]


def kept(options: Namespace) -> dict[str, str]:
    """What was stated of the job whose number stands in the first place: name -> text; {} where no number stands there.

    A bare whole number is a radius where its shape or the diameter is given with it, and else the number of a job.
    """
    text = (options.radius or "").strip()
    is_radius = options.case is not None or stated(options).keys() & {"shape", "form", "location", "diameter"}
    if not (text.isascii() and text.isdecimal() and len(text) <= 9) or is_radius:
        return {}
    from advisor.records import job_records

    job, fields = job_records.kept_job(job_records.place(getattr(options, "records", None)), int(text))
    if getattr(options, "method", "") is None:
        options.method = job.method
    by = fields.pop("by", None)
    if getattr(options, "by", "") is None:
        options.by = by
    return fields


def keep(options: Namespace, advice: Advice, method: str, door: Door) -> int | None:
    """Keep this job by a short number and return it; None, with a word of why, where that cannot be."""
    from advisor.records import job_records

    if options.records is None and job_records.nowhere():
        return None
    job = job_records.job_to_keep(advice=advice, method=method, fields=options.fields, program=version())
    try:
        return job_records.Records(job_records.place(options.records)).keep(job)
    except job_records.RecordError as problem:
        door.complain(f"No job number: {problem}")
        return None


def case_first(options: Namespace) -> None:
    """Take a first argument that is a case for the case, and find the file of a case that is named."""
    from advisor.asked import worked

    if options.radius and not options.case and worked.is_case(options.radius):
        options.case, options.radius = options.radius, None
    if options.case:
        options.case = worked.case_path(options.case)
