"""An answer on one screen: what is needed at the lathe, as much of it as forty lines take. Builds rich renderables;
cli.py prints them. The whole of it is in terminal.py."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.ground.methods import methods
from advisor.show import records, rows, terminal
from advisor.show.blocks import Columns, Prose, SideBySide, asked, paragraph, put
from advisor.show.set_order import in_order, kind
from advisor.study import changes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from typing import Any

    from rich.console import Console, ConsoleOptions, RenderableType

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.study.changes import Weight

    Form = tuple[str, float | None, Any]  # name, worth, what is printed or None

LINES = 39  # of the forty one is left for the next command
COLUMNS = 80
STEPPED = 60  # what the table of a step-off is worth: it is what is set
KEPT = 200  # what a caution that keeps from harm is worth: more than all else that can be left out
FIRST_CAUTIONS = 2  # of this job, which are worth more than that
LABEL = "{:<9}"  # what stands at the left of a section of a line or two


class Part:
    """A part of the screen with shorter forms of it. forms: list of (name, worth, renderable), the fullest first; worth
    is that of keeping this form instead of the next, None for the last, which stands; name is what it is called where
    it is left out, or ''."""

    def __init__(self, *forms: Form) -> None:
        self.forms, self.at = list(forms), 0

    @property
    def worth(self) -> float | None:
        """What the present form is worth against the next shorter one; None where there is none."""
        return self.forms[self.at][1]

    @property
    def shown(self) -> list[RenderableType]:
        """What is printed of it: list of renderables."""
        return [] if self.forms[self.at][2] is None else [self.forms[self.at][2]]

    @property
    def left_out(self) -> list[str]:
        """Names of what is left out."""
        return [name for name, _, _ in self.forms[: self.at] if name]

    def put(self, words: Callable[[str], str]) -> None:
        """Put its words otherwise."""
        self.forms = [(words(n), worth, None if one is None else put(one, words)) for n, worth, one in self.forms]


class Screen:
    """Parts, shortened until they take no more lines than a screen has."""

    def __init__(self, parts: Sequence[Part]) -> None:
        self.parts = parts
        self.words: Callable[[str], str] = str

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Group]:
        # A narrow terminal leaves out no more than one of eighty columns does.
        width = options.update(width=max(options.max_width, COLUMNS))
        heights = {}

        def too_long() -> bool:
            for part in self.parts:
                if (part, part.at) not in heights:
                    heights[part, part.at] = len(console.render_lines(Group(*part.shown), width, pad=False))
            whole = sum(heights[part, part.at] for part in self.parts)
            return whole + len(list(self.more().__rich_console__(console, width))) > LINES

        for part in self.parts:
            part.at = 0
        left_out = []
        while too_long():
            worths = [(part.worth, place) for place, part in enumerate(self.parts) if part.worth is not None]
            if not worths:
                break
            least = self.parts[min(worths)[1]]
            left_out.append(least)
            least.at += 1
        # What is worth little and long may have gone last, and what went before it has room again.
        for part in reversed(left_out):
            part.at -= 1
            if too_long():
                part.at += 1
        yield Group(*(one for part in self.parts for one in part.shown), self.more())

    def more(self) -> Prose:
        """Where the rest is, and what is left out of this."""
        out = [name for part in self.parts for name in part.left_out]
        counted = [name if out.count(name) == 1 else f"{out.count(name)} {name}s" for name in dict.fromkeys(out)]
        left = f" Left out here: {'; '.join(counted)}." if counted else ""
        told = f"Steps and all the rest: the same with --full.{left}"
        return Prose(self.words(told), lead=LABEL.format("More"))

    def put(self, words: Callable[[str], str]) -> Screen:
        """The same with its words put otherwise."""
        for part in self.parts:
            part.put(words)
        self.words = words
        return self


def screen(advice: Advice) -> Screen:
    """The answer on one screen -> Screen. Where no method stands: the reasons first, then what would help, then what comes
    nearest."""
    if advice.best:
        method = advice.best
        return Screen([
            _stays(asked(advice)), _stays(_answer(method, advice)), _Set(method, advice), _gap(),
            _why(advice), *_prove(method, advice), _Care(method, advice),
            _others(advice), _assumed(advice),
        ])  # fmt: skip
    shown = advice.shown
    nearest = [_Set(shown, advice), _gap(), *_prove(shown, advice)] if shown else [_gap()]
    return Screen([
        _stays(asked(advice)), _stays(Text("\nNO METHOD STANDS", style="bold reverse")), _reasons(advice),
        _labelled("Helps", wording.helps(advice, changes.equipment(advice)), worth=90, name="what would help"), *_way_out(advice), *nearest,
        _Care(shown or advice.ranked[0], advice), _assumed(advice),
    ])  # fmt: skip


def weights(advice: Advice) -> Sequence[Weight]:
    """What decides between the recommended method and the next best: changes.Weights, strongest first."""
    rival = advice.order[1] if len(advice.order) > 1 else None
    return changes.compare(advice, advice.recommended, rival).weights if rival else ()


def _why(advice: Advice) -> Part:
    told = wording.deciding(advice, weights(advice))
    lines = [Prose(text, lead=LABEL.format("Why")) for text in (" ".join(told), told[0])]
    return Part(("", 30, lines[0]), ("why", STEPPED - 2, lines[1]), ("", None, None))


def _stays(renderable: RenderableType) -> Part:
    return Part(("", None, renderable))


def _gap() -> Part:
    return Part(("", 1, Text()), ("", None, None))


def _labelled(label: str, text: str, *, worth: float | None = None, name: str = "") -> Part:
    """A text with a label at its left, which goes where there is no room for something worth more."""
    shown = Prose(text, lead=LABEL.format(label))
    return Part((name, worth, shown), ("", None, None)) if worth is not None else _stays(shown)


def _answer(method: MethodAdvice, advice: Advice) -> Group:
    lines = [Prose(text, lead="", style="bold") for text in wording.headline(method, advice)]
    return Group(Text(f"\n{method.name.upper()}", style="bold reverse"), *lines, *records.notice_lines(advice))


# ---- the numbers


class _Set(Part):
    """The numbers to set, which shed the rows that matter least, and the table of an edge or a step-off; those of a method
    that only comes nearest may go altogether."""

    def __init__(self, method: MethodAdvice, advice: Advice) -> None:
        self.title = "SET, in this order" if advice.best else f"NEAREST: {method.name.upper()}. SET, in this order"
        self.rows = in_order(method, advice)
        self.table = rows.table_rows(method, advice)
        self.words: Callable[[str], str] = str
        self.at = 0
        there = {kind(row) for row in self.rows}
        listed = [label for label in methods()[method.name].aside if label in there]
        self.shed: list[tuple[int, object, str]] = [(10 + n, label, label.lower()) for n, label in enumerate(listed)]
        if self.table:
            # The edge is ground to a gauge or to the drawing that `profile` writes; a step-off is what is set.
            by_hand = methods()[method.name].by_hand
            name = f"the {self.table.title.lower()} ({len(self.table.rows)} lines)"
            self.shed.append((STEPPED if by_hand else 5, _TABLE, name))
        if not advice.best:
            self.shed.append((STEPPED + 1, _ALL, "the numbers to set for the nearest"))
        self.shed.sort(key=lambda one: one[0])

    @property
    def worth(self) -> float | None:
        return self.shed[self.at][0] if self.at < len(self.shed) else None

    @property
    def shown(self) -> list[RenderableType]:
        out = {what for _, what, _ in self.shed[: self.at]}
        if _ALL in out:
            return []
        kept = [terminal.said(row) for row in self.rows if kind(row) not in out]
        found = [Text(f"\n{self.title}", style="bold"), Columns(kept, styles=("", "bold"))]
        if self.table and _TABLE not in out:
            title, note, headings, lines = self.table
            found += [paragraph(f"{title}, {note}:"), SideBySide(headings, lines, enough=4)]
        return [put(one, self.words) for one in found]

    @property
    def left_out(self) -> list[str]:
        names = [name for _, _, name in self.shed[: self.at]]
        return names[-1:] if any(what is _ALL for _, what, _ in self.shed[: self.at]) else names

    def put(self, words: Callable[[str], str]) -> None:
        self.words = words


_TABLE, _ALL = object(), object()  # what is shed beside rows, whose names are labels


# ---- what proves it, and what to take care of


def _prove(method: MethodAdvice, advice: Advice) -> list[Part]:
    """The first ways that prove it; where none does, the first that compares."""
    listed = list(zip(method.checks, rows.check_lines(method, advice), strict=True))
    proven = [lines for check, lines in listed if check["use"] == "proves"]
    good = proven or [lines for check, lines in listed if check["use"] == "compares"]
    parts = []
    for n, (how, sees) in enumerate(good[:2]):
        text = how if proven else f"{how}: {sees}"
        parts.append(
            _labelled(
                "" if n else "Prove",
                text,
                worth=20 if n else STEPPED - 1,
                name="another way to prove it" if n else "what proves it",
            )
        )
    return parts or [_labelled("Prove", wording.NOTHING_PROVES)]


class _Care(Part):
    """The cautions of this very job, which are shed from the last: those of gauging and the drawing where there is no
    room, those that keep from harm after everything else; and in one line the standing ones, which stay."""

    def __init__(self, method: MethodAdvice, advice: Advice) -> None:
        harm, paper, general = wording.cautions_apart(method, advice)
        self.special, self.harm = harm + paper, len(harm)
        self.always = f"Always: {'; '.join(general)}. In full: --full."
        self.at = 0
        self.words: Callable[[str], str] = str

    @property
    def worth(self) -> float | None:
        last = len(self.special) - self.at - 1
        if last < self.harm:
            return None if last < 0 else KEPT - last / 10
        return (STEPPED + 5 if last < FIRST_CAUTIONS else STEPPED - 10) - last / 10

    @property
    def shown(self) -> list[RenderableType]:
        texts = [*self.special[: len(self.special) - self.at], self.always]
        return [
            Prose(self.words(text), lead=LABEL.format("" if n else self.words("Care"))) for n, text in enumerate(texts)
        ]

    @property
    def left_out(self) -> list[str]:
        return ["caution"] * self.at

    def put(self, words: Callable[[str], str]) -> None:
        self.words = words


# ---- the others, and what was assumed


def _others(advice: Advice) -> Part:
    rivals = [method for method in advice.ranked if method is not advice.best]
    whole = [(method.name, wording.against(method, advice)) for method in rivals]
    short = [(method.name, wording.against(method, advice)) for method in rivals if method.rank]
    out = [method.name for method in rivals if not method.rank]
    if out:
        short.append(("Will not do", ", ".join(out)))
    return Part(
        ("why others will not do", 25, _beside("Others", whole)), ("", None, _beside("Others", short)),
    )  # fmt: skip


def _beside(label: str, listed: Sequence[tuple[str, str]]) -> Columns:
    """Rows with a label at the left of the first."""
    return Columns(listed, label=LABEL.format(label), lead=LABEL.format(""), fixed=1)


def _reasons(advice: Advice) -> Part:
    """Why each method will not do; where there is no room, why the nearest will not and that others will not either."""
    found = [(method.name, wording.why_not(method, advice)) for method in advice.ranked]
    last = advice.nearest or advice.ranked[0]
    short = [(last.name, wording.why_not(last, advice)), ("the others", "will not do either")]
    name = "why others will not do"
    return Part((name, STEPPED + 2, _beside("Why not", found)), ("", None, _beside("Why not", short)))


def _way_out(advice: Advice) -> list[Part]:
    told = [wording.to_settle(advice), *wording.shortfall(advice)]
    first, *nearest = told
    marked = [_stays(Prose(text, lead=LABEL.format(""), style="bold")) for text in nearest]
    return [_labelled("Way out", first), *marked]


def _assumed(advice: Advice) -> Part:
    told = wording.assumed(advice)
    if not told:
        return Part(("", None, None))
    listed = ", ".join(f"{name} {value}" for name, value, _ in told)
    text = f"{listed}. Another value can change the method."
    return _labelled("Assumed", text, worth=40, name="what was assumed")
