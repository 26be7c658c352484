"""Limits and values in words, the same on every page, in the terminal and in a batch.

Of a measure that goes two ways, as a lean or the hips off a line, the way stands in words (``7 cm
above the line``) where its sign would have to be known.
"""

from typing import Protocol

from formcheck.catalogue.codes import LimitState
from formcheck.checks.result import Finding, LimitReport
from formcheck.words.labels import measure_label
from formcheck.words.words import Words


class Reading(Protocol):
    """A value with its limits: a check of one repetition, or a limit of safety."""

    @property
    def measure(self) -> str:
        """The measure that was read."""

    @property
    def value(self) -> float | None:
        """What was read."""

    @property
    def uncertainty(self) -> float | None:
        """Its standard uncertainty."""

    @property
    def unit(self) -> str:
        """The unit of all its numbers."""

    @property
    def low(self) -> float | None:
        """The lower limit."""

    @property
    def high(self) -> float | None:
        """The upper limit."""


def limits_text(
    measure: str, low: float | None, high: float | None, unit: str, words: Words
) -> str:
    """``80 to 100°``, ``at most 8° either way``, ``at most 7 cm above the line``."""
    if low is not None and high is not None and low == -high:
        return words("limits.either_way", limit=words.exact(-low, unit))
    if not (words.knows("way", measure) and _below_zero(low, high)):
        return words.limits(low, high, unit)
    minus = words(f"way.{measure}.minus")
    if low is None:
        return words("limits.at_least", low=f"{words.exact(-(high or 0.0), unit)} {minus}")
    least = f"{words.exact(-low, unit)} {minus}"
    if high is None:
        return words("limits.at_most", high=least)
    if high < 0:
        return words("limits.between", low=words.exact(-high, ""), high=least)
    most = f"{words.exact(high, unit)} {words(f'way.{measure}.plus')}"
    return words("limits.both_ways", low=least, high=most)


def limits_of(read: Reading, words: Words) -> str:
    """The limits that a value was judged by."""
    return limits_text(read.measure, read.low, read.high, read.unit, words)


def value_text(read: Reading, words: Words, *, bare: bool = False) -> str:
    """``91 ± 4°``, ``0.8 ± 1.8 cm above the line``; ``bare`` without the unit, for a narrow cell."""
    value, unit = read.value, read.unit
    plain = words.measured(value, read.uncertainty, unit)
    is_zero = plain == words.measured(0.0, read.uncertainty, unit)
    if value is None or is_zero or not words.knows("way", read.measure):
        way = ""
    elif value < 0:
        plain, way = words.measured(-value, read.uncertainty, unit), "minus"
    else:
        way = "plus" if _below_zero(read.low, read.high) else ""
    if bare:
        plain = plain.removesuffix(words.unit(unit))
    table = "way_short" if bare else "way"
    return f"{plain} {words(f'{table}.{read.measure}.{way}')}" if way else plain


def past_but_fine(finding: Finding, words: Words) -> str:
    """How often a reading past its limit that is called probably fine is truly within; else empty.

    The value is told as it was read, the verdict also counts how such readings usually turn out.
    """
    past = finding.probably_fine and not finding.safety_limit and (finding.margin or 0.0) < 0
    within = 1 - (finding.probability_outside or 0.0)
    return words("limit.past_but_fine", count=words.number(10 * within, 0)) if past else ""


def _below_zero(low: float | None, high: float | None) -> bool:
    return any(limit is not None and limit < 0 for limit in (low, high))


def limit_heading(limit: LimitReport, words: Words) -> str:
    """``Limit passed``."""
    return words(f"limit.heading.{limit.state}")


def limit_line(limit: LimitReport, words: Words) -> str:
    """``Arm height 128 ± 9° in 5 of 5, limit at most 90°.``, or why it is unchecked."""
    values = {
        "label": measure_label(limit.measure, words),
        "limits": limits_of(limit, words),
        "value": value_text(limit, words),
    }
    if limit.state is LimitState.UNCHECKED:
        key = "limit.unchecked.better_view" if limit.better_view else "limit.unchecked.no_view"
        reason = words.tell(limit.reason) if limit.reason else ""
        return words(key, reason=reason, view=limit.better_view, **values)
    if limit.per_clip:
        return words("limit.line.clip", **values)
    seen = {"count": limit.times_seen, "total": limit.among}
    return words("limit.line.reps", **seen, **values)


def limit_for_client(limit: LimitReport, words: Words) -> tuple[str, str]:
    """A title, and what was read beside the number that was agreed; with ± where that is the doubt."""
    agreed = limit.high if limit.high is not None else limit.low
    values = {
        "value": _one_way(limit.measure, limit.value, limit.unit, words),
        "read": value_text(limit, words),
        "limit": _one_way(limit.measure, agreed, limit.unit, words, exact=True),
        "label": measure_label(limit.measure, words),
    }
    way = "above" if limit.high is not None else "below"
    said = "above" if _goes_back(limit.measure, limit.low, words) else way
    return (
        words(f"limit.client.title.{way}.{limit.state}"),
        words(f"limit.client.{said}.{limit.state}", **values),
    )


def never_text(measure: str, end: float, unit: str, words: Words, *, upward: bool) -> str:
    """``never above 90°``, ``never more than 20° outward``."""
    if _goes_back(measure, end, words):
        key = "less" if upward else "more"
    else:
        key = "above" if upward else "below"
    return words(f"limit.never_{key}", limit=_one_way(measure, end, unit, words, exact=True))


def _one_way(
    measure: str, value: float | None, unit: str, words: Words, *, exact: bool = False
) -> str:
    """A value without its uncertainty, ``20° outward`` if it has a word for below zero."""
    if value is None:
        return words.quantity(value, unit)
    back = _goes_back(measure, value, words)
    shown = (words.exact if exact else words.quantity)(-value if back else value, unit)
    return f"{shown} {words(f'way.{measure}.minus')}" if back else shown


def _goes_back(measure: str, value: float | None, words: Words) -> bool:
    return value is not None and value < 0 and words.knows("way", measure)
