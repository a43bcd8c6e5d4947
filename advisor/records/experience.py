"""What a shop's recorded jobs make of the starting values: weight by number of jobs, never more than they can bear.

Every figure starts from what practice says. As jobs are recorded it moves toward the shop's own average, with the
weight
Z = n / (n + k) of credibility theory (credibility), which is also the normal-normal posterior mean: k is the variance
of one job about the shop's average, over the variance of such averages about the starting value.
"""

from __future__ import annotations

import functools
import math
from statistics import NormalDist, fmean
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from advisor.records.job_records import Job


from advisor.ground.methods import methods


def method_named(written: str | None) -> str | None:
    """The method that somebody means by its name, the short one that the rule base has for it, or a word that only its
    name has; None where that is no method.

    >>> method_named("Pivot-attachment"), method_named("pivot"), method_named("form"), method_named("lathe")
    ('pivot attachment', 'pivot attachment', 'form tool', None)
    """
    spoken = " ".join(str(written).replace("_", " ").replace("-", " ").lower().split())
    for name, method in methods().items():
        if spoken in (name, method.prefix, method.prefix.replace("_", " ")):
            return name
    found = [name for name in methods() if spoken in name.split() or spoken == name.replace(" ", "")]
    return found[0] if len(found) == 1 else None


ELEMENTS = ("tooling", "setup", "piece")
PRIOR_JOBS = 4  # jobs that the stated scatter counts for against the scatter that the shop's own jobs show
RAREST, COMMONEST = 1e-6, 0.95  # chances of a miss between which a spread can be told from them


class Figure(NamedTuple):
    """What the records make of one figure.

    method: its name; element: tooling, setup, piece (minutes) or spread (misses); jobs: how many stand behind it;
    ratio:
    minutes that they took as a multiple of the starting value, None of a spread; weight: share that the shop's own
    average gets; factor: what the starting value is multiplied by; misses, arcs, expected: of a spread, arcs missed,
    arcs made, and misses that were expected.
    """

    method: str
    element: str
    jobs: int
    ratio: float | None
    weight: float
    factor: float
    misses: int | None = None
    arcs: int | None = None
    expected: float | None = None


class Experience(NamedTuple):
    """All that the records say to one shop. figures: list of Figure; jobs: jobs that count; left_out: not typical
    ones."""

    figures: tuple
    jobs: int
    left_out: int

    @property
    def factors(self) -> dict[str, float]:
        """Constants of the rule base that carry the figures: name -> factor."""
        return {f"{methods()[f.method].prefix}_{f.element}_record": f.factor for f in self.figures}


def drawn(records: Sequence[Job], *, shop: str, constants: Mapping[str, float]) -> Experience | None:
    """The Experience of a shop from recorded jobs; None where it has recorded none.

    records: jobs (records.Job); shop: its name; constants: name -> value, record_scatter, record_doubt and
    record_prior_arcs among them.
    """
    own = [job for job in records if job.shop == " ".join(shop.split())]
    typical = [job for job in own if job.typical]
    if not own:
        return None
    figures = []
    for element in ELEMENTS:
        groups = {method: ratios(typical, method, element) for method in methods()}
        scatter = pooled_variance(groups=groups.values(), scatter=constants["record_scatter"])
        for method, found in groups.items():
            if found:
                k = scatter / constants["record_doubt"] ** 2
                weight, factor = shrunk(ratios=found, k=k)
                figures.append(Figure(method, element, len(found), math.exp(log_of_mean(ratios=found)), weight, factor))
    for method in methods():
        spread = _spread(typical, method, constants["record_prior_arcs"])
        if spread:
            figures.append(spread)
    order = list(methods())
    figures.sort(key=lambda f: order.index(f.method))
    return Experience(tuple(figures), len(typical), len(own) - len(typical))


def ratios(jobs: Sequence[Job], method: str, element: str) -> list[float]:
    """Minutes that jobs took over the starting values at the time, where both are known and more than nothing."""
    taken, expected = {
        "tooling": ("tooling", "predicted_tooling"),
        "setup": ("setup", "predicted_setup"),
        "piece": ("minutes", "predicted_minutes"),
    }[element]
    pairs = [(getattr(job, taken), getattr(job, expected)) for job in jobs if job.method == method]
    return [took / should for took, should in pairs if took and should]


def log_of_mean(*, ratios: Sequence[float]) -> float:
    """Logarithm of the mean ratio, ȳ + v/2: of a log-normal whose logarithms have this mean ȳ and variance v.

    >>> round(math.exp(log_of_mean(ratios=[2.0, 0.5])), 3), log_of_mean(ratios=[1.0])
    (1.272, 0.0)
    """
    logs = [math.log(ratio) for ratio in ratios]
    middle = fmean(logs)
    return middle + fmean((y - middle) ** 2 for y in logs) / 2


def pooled_variance(*, groups: Iterable[Any], scatter: float) -> float:
    """Variance of one job's log-ratio about the shop's average: s² = (4 σ² + Σ (y − ȳ)²) / (4 + Σ (n − 1)).

    groups: ratios by method; scatter: σ, where the shop's own jobs do not show it yet. As if four jobs had shown it.

    >>> pooled_variance(groups=[[1.0], []], scatter=0.5)
    0.25
    """
    squares, free = PRIOR_JOBS * scatter * scatter, PRIOR_JOBS
    for ratios in groups:
        if ratios:
            logs = [math.log(ratio) for ratio in ratios]
            middle = fmean(logs)
            squares += sum((y - middle) ** 2 for y in logs)
            free += len(logs) - 1
    return squares / free


def shrunk(*, ratios: Sequence[float], k: float) -> tuple[float, float]:
    """Weight Z = n / (n + k) and factor exp(Z (ȳ + v/2)) of n ratios (see log_of_mean).

    Source: credibility.

    >>> shrunk(ratios=[1.5, 1.5], k=2.0)
    (0.5, 1.224744871391589)
    """
    weight = len(ratios) / (len(ratios) + k)
    return weight, math.exp(weight * log_of_mean(ratios=ratios))


def _spread(jobs: Sequence[Job], method: str, prior_arcs: float) -> Figure | None:
    known = [
        (max(job.pieces * job.places, job.misses), job.misses, job.predicted_in_tolerance)
        for job in jobs
        if job.method == method and job.misses is not None and job.predicted_in_tolerance is not None
    ]
    if not known:
        return None
    arcs = sum(made for made, _, _ in known)
    missed = sum(misses for _, misses, _ in known)
    expected = sum(made * (1 - chance) for made, _, chance in known)
    weight, factor = spread_factor(misses=missed, arcs=arcs, expected=expected, prior_arcs=prior_arcs)
    return Figure(method, "spread", len(known), None, weight, factor, missed, arcs, expected)


def spread_factor(*, misses: float, arcs: float, expected: float, prior_arcs: float) -> tuple[float, float]:
    """What misses make of the spread: (weight of the records, factor).

    Beta-binomial: a prior worth prior_arcs with the chance q that was expected gives (prior_arcs q + misses) /
    (prior_arcs + arcs). A normal error that misses that often, not q, is wider in the ratio of the two quantiles.

    misses: counted; arcs: made; expected: misses expected of them.

    >>> spread_factor(misses=0, arcs=0, expected=0.0, prior_arcs=30)
    (0.0, 1.0)
    """
    weight = arcs / (arcs + prior_arcs)
    if not arcs:
        return weight, 1.0
    before = min(max(expected / arcs, RAREST), COMMONEST)
    after = min(max((prior_arcs * before + misses) / (prior_arcs + arcs), RAREST), COMMONEST)
    return weight, _quantile(before) / _quantile(after)


@functools.lru_cache(maxsize=256)
def _quantile(miss: float) -> float:
    """How many standard deviations a normal error must go to be a miss, when so many are."""
    return NormalDist().inv_cdf(1 - miss / 2)
