"""`ask`: questions, until nothing that is left can change the answer."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from advisor.commands import on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door
from advisor.ground.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.asked.shop import Shop
    from advisor.records.job_records import Job
    from advisor.study.interview import Step, Talk

HELP = "be asked only what can still change the answer, and get the answer"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument(
        "--unknown", metavar="LIST", help="what you cannot say, such as material,holding: it is not asked"
    )
    parser.add_argument(
        "--minutes", action="store_true", help="ask too for what changes the minutes by more than a fifth"
    )
    parser.add_argument("--json", action="store_true", help="print the next question and what hangs on it as JSON")
    with_records.options(parser)


def run(options: Namespace, door: Door) -> int:
    """Ask at a terminal until the answer stands, or tell the next question as JSON."""
    from advisor.lists.pricing import Desk
    from advisor.show import ask as screens
    from advisor.study import interview

    fields, read, shop = on_a_callout.job_so_far(options)
    talk = interview.begun(fields, [word for word in (options.unknown or "").split(",") if word.strip()])
    jobs = with_records.counting(options)
    rules = Desk(shop, jobs).rules

    def step(talk: Talk) -> Step:
        return interview.step(talk, read, shop, rules, minutes_too=options.minutes)

    now = step(talk)
    if options.json:
        door.data(screens.state(now, talk, minutes_too=options.minutes))
        return DONE
    while asked := now.question:
        door.show(screens.asked(now, talk))
        text = door.typed()
        if text is None or text.lower() in interview.QUIT:
            door.say(f"\nStopped. To go on from here:\n  {screens.command(talk, name='ask')}")
            return NO_METHOD
        if text.lower() in interview.BACK:
            talk = interview.back(talk)
            now = step(talk)
            continue
        try:
            further = interview.answer(talk, asked, text or talk.said.get(asked.name, ""))
            now, talk = step(further), further
        except InputError as problem:
            door.say(f"  {problem}")
    return _answered(now, talk, shop, jobs, options, door)


def _answered(now: Step, talk: Talk, shop: Shop, jobs: Sequence[Job], options: Namespace, door: Door) -> int:
    """The end of an interview: that nothing else matters, the answer, and the command line for it."""
    from advisor.answer.advice import advise
    from advisor.show import ask as screens
    from advisor.show import onescreen

    assert now.callout is not None  # nothing is left to be asked
    advice = advise(now.callout, shop, records=jobs)
    door.show(screens.settled(now, talk, minutes_too=options.minutes))
    door.say("")
    door.show(onescreen.screen(advice))
    door.say(f"\nThe same again:\n  {screens.command(talk)}")
    return DONE if advice.recommended else NO_METHOD
