"""The decision rule, and the probability that it rests on (terms of JCGM 106:2012).

A reading and its standard uncertainty say how probable it is that the true value lies beyond the
limits of a check (its target widened by the tolerance). JCGM 106 calls the rest to 1 the
conformance probability; a decision rule with guard bands accepts only where that is high, and
rejects only where it is low. Ours is guarded on both sides:

- ``within`` where the probability of being outside is at most ``within_to`` (0.10);
- ``outside`` where the value lies beyond one limit with at least ``outside_from`` (0.95);
- ``borderline`` between the two;
- ``not-measurable`` where the uncertainty is so large that not even a value in the middle of the
  target would be within. What is sure by ``outside_from`` to be outside, or to be inside, stands
  all the same.

A limit of safety (``safety_limit``) goes by the same numbers. Only what is told of it differs: it
counts as kept where it is surely kept, and not unless it is surely passed.
"""

from dataclasses import dataclass

from formcheck.catalogue.codes import Verdict
from formcheck.catalogue.measures import MEASURES
from formcheck.checks.reading_errors import NORMAL, ReadingErrors
from formcheck.exercises.schema import DEFAULT_DECISION, Check, Decision

ONE_SIDED_REACH = 2.0
"""A single limit leaves its target open, so that it has no middle. The middle is taken to lie this
many tolerances inside the limit, one tolerance inside the target, where somebody is who does what
was asked for without coming near its end: a shoulder that does not rise, of one that may rise by
1 cm and a tolerance of 1.5. A proposal."""
_LEAST_SD = 1e-9
"""Keeps a difference from being divided by nothing. Mechanical."""


@dataclass(frozen=True, slots=True)
class Beyond:
    """The probabilities that the true value lies below the lower limit, and above the upper one."""

    below: float
    above: float

    @property
    def probability(self) -> float:
        """Probability that it lies beyond either."""
        return min(self.below + self.above, 1.0)


def beyond(check: Check, value: float, sd: float, errors: ReadingErrors = NORMAL) -> Beyond:
    """How probable it is that the true value lies beyond the limits of a check."""
    low, high = check.limits
    value = likeliest(check, value, errors)
    sd = max(sd, _LEAST_SD)
    return Beyond(
        below=0.0 if low is None else errors.upper_tail((value - low) / sd),
        above=0.0 if high is None else errors.upper_tail((high - value) / sd),
    )


def likeliest(check: Check, value: float, errors: ReadingErrors) -> float:
    """What is most probably true where ``value`` is read.

    The usual value, from which departures count, is the middle of the target.
    """
    usual = middle(check)
    return usual + errors.gain * (value - usual)


def decide(outside: Beyond, decision: Decision = DEFAULT_DECISION, *, coarse: bool) -> Verdict:
    """The verdict; ``coarse`` if a value in the middle of the target would not be within.

    Outside must be sure as to which limit: where the uncertainty is wider than both limits, beyond
    either is probable whatever the value is.
    """
    if max(outside.below, outside.above) >= decision.outside_from:
        return Verdict.OUTSIDE
    if outside.probability <= (1 - decision.outside_from if coarse else decision.within_to):
        return Verdict.WITHIN
    return Verdict.NOT_MEASURABLE if coarse else Verdict.BORDERLINE


def coarsest_sd(
    check: Check, decision: Decision = DEFAULT_DECISION, errors: ReadingErrors = NORMAL
) -> float:
    """The largest standard uncertainty with which a value in the middle of the target is within."""
    ends = sum(limit is not None for limit in check.limits)
    return _reach(check) / errors.reached(decision.within_to / ends)


def middle(check: Check) -> float:
    """The middle of the target: what is read where somebody does just what was asked for."""
    low, high = check.limits
    if low is not None and high is not None:
        return (low + high) / 2
    return low + _reach(check) if low is not None else (high or 0.0) - _reach(check)


def _reach(check: Check) -> float:
    """From the middle of the target to the nearer limit.

    Without a tolerance, as limits of safety are, half of what the measure has left inside the limit.
    """
    low, high = check.limits
    if low is not None and high is not None:
        return (high - low) / 2
    if check.tolerance > 0:
        return ONE_SIDED_REACH * check.tolerance
    measure = MEASURES[check.measure]
    least, most = measure.usual or measure.bounds
    return (most - low) / 2 if low is not None else ((high or 0.0) - least) / 2
