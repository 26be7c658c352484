"""Limits of safety in words, the same on every page, in the terminal and in a batch."""

from formcheck.catalogue.codes import LimitState
from formcheck.checks.result import LimitReport
from formcheck.words.labels import measure_label
from formcheck.words.words import Words


def limit_heading(limit: LimitReport, words: Words) -> str:
    """``Limit passed``."""
    return words(f"limit.heading.{limit.state}")


def limit_line(limit: LimitReport, words: Words) -> str:
    """``Arm height 128 ± 9° in 5 of 5, never above 90°.``, or why it is unchecked."""
    values = {
        "label": measure_label(limit.measure, words),
        "never": _never(limit, words),
        "value": words.measured(limit.value, limit.uncertainty, limit.unit),
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
    """A title that says the way, and what was read beside the number that was agreed."""
    way = "above" if limit.high is not None else "below"
    reached = words.quantity(limit.value, limit.unit)
    agreed = words.quantity(limit.high if limit.high is not None else limit.low, limit.unit)
    values = {"value": reached, "limit": agreed, "label": measure_label(limit.measure, words)}
    return (
        words(f"limit.client.title.{way}.{limit.state}"),
        words(f"limit.client.{way}.{limit.state}", **values),
    )


def _never(limit: LimitReport, words: Words) -> str:
    if limit.high is not None:
        return words("limit.never_above", limit=words.quantity(limit.high, limit.unit))
    return words("limit.never_below", limit=words.quantity(limit.low, limit.unit))
