"""Names of measures and checks, as they stand in front of a value."""

from formcheck.checks.result import NotMeasured
from formcheck.text import capitalise_first
from formcheck.words.words import Words


def check_label(measure: str, statistic: str, phase: str, words: Words) -> str:
    """``Arm height, average at the far point``."""
    parts = [words(f"statistic.{statistic}")] if words.knows("statistic", statistic) else []
    if parts != [""] and phase != "whole" and words.knows("phase", phase):
        parts.append(words(f"phase.{phase}"))
    label = capitalise_first(measure_label(measure, words))
    how = " ".join(part for part in parts if part)
    return f"{label}, {how}" if how else label


def not_measured(one: NotMeasured, words: Words, table: str = "not_measured") -> str:
    """``Circles forward, hike: the head rests on the floor.``, and where it may show better.

    ``table`` holds the two sentences of the place where it is told.
    """
    name = one.check_id if one.part is None else f"{one.part}, {one.check_id}"
    return words(
        f"{table}.{'better_view' if one.better_view else 'no_view'}",
        name=name.replace("-", " "),
        reason=words.tell(one.reason),
        view=one.better_view,
    )


def measure_label(measure: str, words: Words) -> str:
    """The catalogue's words for a measure, or its own name where the catalogue has none."""
    known = words.knows("measure", measure)
    return words(f"measure.{measure}") if known else measure.replace("_", " ")
