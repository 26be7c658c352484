"""Names of measures and checks, as they stand in front of a value."""

from typing import Protocol

from formcheck.checks.result import NotMeasured
from formcheck.text import capitalise_first, lower_first
from formcheck.words.words import Words


class Titled(Protocol):
    """A check, or what was found of it."""

    @property
    def title(self) -> str | None:
        """What its exercise calls it."""

    @property
    def measure(self) -> str:
        """The measure that it reads."""

    @property
    def statistic(self) -> str:
        """How the measure is read."""

    @property
    def phase(self) -> str:
        """When the measure is read."""

    @property
    def safety_limit(self) -> bool:
        """Whether it must never be passed."""


def check_title(check: Titled, words: Words) -> str:
    """``Hip sag``: what a check is called everywhere; how it is read, where it has no title.

    A limit of safety, which a programme sets on a measure, is called by it: ``Arm height limit``.
    """
    if check.title:
        return words.tell(check.title)
    if check.safety_limit:
        return words("limit.name", label=measure_label(check.measure, words))
    return check_label(check.measure, check.statistic, check.phase, words)


def check_label(measure: str, statistic: str, phase: str, words: Words) -> str:
    """``Arm height, average at the turning point``: how a check is read."""
    parts = [words(f"statistic.{statistic}")] if words.knows("statistic", statistic) else []
    if parts != [""] and phase != "whole" and words.knows("phase", phase):
        parts.append(words(f"phase.{phase}"))
    label = capitalise_first(measure_label(measure, words))
    how = " ".join(part for part in parts if part)
    return f"{label}, {how}" if how else label


def not_measured(one: NotMeasured, words: Words, table: str = "not_measured") -> str:
    """``Circles forward, shoulder to ear: the head rests on the floor.``, and where it may show better.

    ``table`` holds the two sentences of the place where it is told.
    """
    title = words.tell(one.title) if one.title else one.check_id.replace("-", " ")
    name = title if one.part is None else f"{one.part.replace('-', ' ')}, {lower_first(title)}"
    return words(
        f"{table}.{'better_view' if one.better_view else 'no_view'}",
        name=name,
        reason=words.tell(one.reason),
        view=one.better_view,
    )


def measure_label(measure: str, words: Words) -> str:
    """The catalogue's words for a measure, or its own name where the catalogue has none."""
    known = words.knows("measure", measure)
    return words(f"measure.{measure}") if known else measure.replace("_", " ")
