"""`practise`: callouts to choose for, before the program says what it takes."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING, Any

from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door
from advisor.ground.errors import CalloutError, InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from advisor.study.practise import Exercise, Score

HELP = "choose first, then see what the program takes and why"


def options(parser: Parser) -> None:
    parser.add_argument("--count", metavar="N", help="callouts in this round; 10 if left out")
    parser.add_argument(
        "--seed", metavar="N", help="draws the same callouts again; another round each time if left out"
    )
    parser.add_argument("--answers", metavar="TEXT", help="answers ahead, such as 'form tool; freehand; 6 mm'")
    parser.add_argument(
        "--score", metavar="FILE", help="the file that keeps the score, instead of $TURN_RADIUS_PRACTICE"
    )


def run(options: Namespace, door: Door) -> int:
    """One round, with the score at its end."""
    from advisor.records import job_records
    from advisor.study import practise

    count = job_records.count_of(options.count, "count", least=1) or 10
    if count > 100:
        raise CalloutError("count", options.count, "is more than a round holds", "Give 1 to 100.")
    path = practise.place(options.score)
    score = practise.read_score(path)
    seed = job_records.count_of(options.seed, "seed", least=0)
    answers = None if options.answers is None else [part.strip() for part in options.answers.split(";")]
    round_ = _Round(path, score._replace(rounds=score.rounds + 1), answers, door)
    try:
        round_.go(practise.ladder(score.rounds if seed is None else seed, count, score))
    except KeyboardInterrupt:
        door.say("")
    round_.end()
    return DONE


class _Round:
    """A round of practice at a terminal. score: so far, kept after every answer; answers: those given ahead."""

    def __init__(self, path: Path | None, score: Score, answers: list[str] | None, door: Door) -> None:
        self.path, self.score, self.answers, self.door = path, score, answers, door

    def go(self, ladder: Sequence[Exercise]) -> None:
        """Ask for each callout in turn, until somebody stops."""
        for number, exercise in enumerate(ladder, 1):
            if not self.one(number, len(ladder), exercise):
                return

    def one(self, number: int, count: int, exercise: Exercise) -> bool:
        """One callout, and a number to set for it. Returns whether to go on."""
        from advisor.show import practise as screens
        from advisor.study import practise

        advice = practise.advice_on(exercise)
        self.door.show(screens.exercise(number, count, advice))
        said = self.ask(practise.read_choice)
        if said is None:
            return False
        if said:
            choice, reason = said
            judged = practise.judged(exercise, advice, choice)
            self.keep(practise.scored(self.score, exercise, judged))
            self.door.show(screens.result(exercise, advice, choice, judged, reason))
        else:
            self.door.show(screens.passed(advice))
        name = practise.setting(exercise, advice) if practise.asks_number(number, self.score) else None
        if name is None:
            return True
        self.door.show(screens.set_question(name, advice))
        said = self.ask(lambda text: (practise.read_setting(text, exercise.callout),))
        if said is None:
            return False
        right = bool(said) and practise.set_right(said[0], practise.reading(name, advice))
        if said:
            self.keep(practise.set_scored(self.score, right))
        self.door.show(screens.set_result(name, advice, right))
        return True

    def ask(self, read: Callable[[str], tuple[Any, ...]]) -> tuple[Any, ...] | None:
        """What somebody types, read; () where it is passed over, None where he stops."""
        while True:
            text = self.door.typed() if self.answers is None else self.ahead(self.answers)
            if text is None or text.lower() in ("quit", "q", "stop"):
                return None
            if not text:
                return ()
            if text.lower() in ("?", "help"):
                from advisor.show import practise as screens

                self.door.show(screens.help_text())
                continue
            try:
                return read(text)
            except InputError as problem:
                self.door.say(f"  {problem}")

    def ahead(self, answers: list[str]) -> str | None:
        """The next of the answers that were given ahead."""
        if not answers:
            return None
        self.door.say(f"> {answers[0]}")
        return answers.pop(0)

    def keep(self, score: Score) -> None:
        """The score as it is now, in its file."""
        from advisor.study import practise

        self.score = score
        if self.path is not None:
            practise.keep(score, self.path)

    def end(self) -> None:
        """The score on the screen."""
        from advisor.show import practise as screens

        self.door.show(screens.score_table(self.score, self.path))
