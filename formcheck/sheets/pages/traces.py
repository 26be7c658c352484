"""Which measures a sheet charts, with the limits and the repetitions that belong to each."""

from collections.abc import Iterable, Iterator
from itertools import pairwise

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.codes import Verdict
from formcheck.catalogue.measures import MEASURES
from formcheck.checks.result import ClipResult, Finding, JudgedRep
from formcheck.exercises.schema import CHANGES, Check, Exercise
from formcheck.measures.table import (
    SIDES,
    MeasureTable,
    Series,
    Side,
    column_name,
)
from formcheck.movements.types import Rep
from formcheck.sheets.pages.chart_spec import Band, Bracket, ChartSpec, SafetyLimit
from formcheck.sheets.pages.gauge import MORE_IS_LOWER
from formcheck.words.labels import measure_label
from formcheck.words.limits import never_text
from formcheck.words.words import Words

_START_S = 0.3
"""How wide the start of a repetition is drawn where a check is of it. Mechanical."""


def charts(
    result: ClipResult, table: MeasureTable, exercise: Exercise, words: Words
) -> tuple[ChartSpec, ...]:
    """One chart of the primary measure and of every other measure checked, for each working side.

    What is outside comes first, then what is in doubt, then the primary measure. What was never
    seen is left out.
    """
    checked = [check.measure for check in exercise.checks if MEASURES[check.measure].over_time]
    measures = list(dict.fromkeys([exercise.primary.measure, *checked]))
    places = [
        (measure, side)
        for measure in measures
        for side in _sides(measure, result)
        if _seen(table, measure, side)
    ]
    places.sort(key=lambda place: _gravity(place[0], place[1], result, exercise))
    return tuple(_chart(*place, result, table, (exercise, words)) for place in places)


def _gravity(measure: str, side: Side | None, result: ClipResult, exercise: Exercise) -> int:
    """How early a measure is charted: 0 for one outside, 3 where all is within or unknown."""
    found = [one for one, _, _ in _findings(measure, side, _reps_of(side, result), exercise)]
    grades = (
        any(one.verdict == Verdict.OUTSIDE for one in found),
        any(one.perhaps_not for one in found),
        any(one.probably_fine for one in found),
    )
    return grades.index(True) if any(grades) else len(grades)


def _reps_of(side: Side | None, result: ClipResult) -> list[JudgedRep]:
    return [judged for judged in result.reps if side in (None, judged.rep.side) or _both(judged)]


def _sides(measure: str, result: ClipResult) -> tuple[Side | None, ...]:
    if not MEASURES[measure].sided:
        return (None,)
    working = {judged.rep.side for judged in result.reps} or {result.side}
    return tuple(side for side in SIDES if side in working or "both" in working)


def _seen(table: MeasureTable, measure: str, side: Side | None) -> bool:
    series: Series | None = table.columns.get(column_name(measure, side))
    return series is not None and bool(np.isfinite(series.value).any())


def _chart(
    measure: str,
    side: Side | None,
    result: ClipResult,
    table: MeasureTable,
    about: tuple[Exercise, Words],
) -> ChartSpec:
    exercise, words = about
    series = table.series(measure, side)
    reps = _reps_of(side, result)
    of_measure = list(_findings(measure, side, reps, exercise))
    # The limits of a change have no place on the axis; where it was found has one on the line.
    found = [one for one in of_measure if _on_chart(one[1])]
    label = measure_label(measure, words)
    name = column_name(measure, side)
    return ChartSpec(
        key=name.replace("_", "-"),
        label=f"{label}, {words(f'side.{side}')}" if side else label,
        unit=MEASURES[measure].unit,
        time_s=table.time_s,
        value=series.value,
        sd=series.sd,
        other=_other(measure, side, table),
        bands=_bands(found),
        brackets=tuple(
            Bracket(j.rep.index, j.rep.start_s, j.rep.end_s, j.rep.partial) for j in reps
        ),
        misses=tuple(_misses(finding for finding, _, _ in of_measure)),
        kind=exercise.movement,
        safety=_safety([finding for finding, _, _ in found], words),
        prominent=any(f.verdict in (Verdict.OUTSIDE, Verdict.BORDERLINE) for f, _, _ in of_measure),
        more_is_lower=measure in MORE_IS_LOWER,
    )


def _misses(findings: Iterable[Finding]) -> Iterator[tuple[float, float]]:
    """When and at which value something was outside, or rather outside than not."""
    for one in findings:
        missed = one.verdict == Verdict.OUTSIDE or one.perhaps_not
        if missed and one.at_s is not None and one.value is not None:
            yield one.at_s, one.value


def _both(judged: JudgedRep) -> bool:
    return judged.rep.side == "both"


def _other(measure: str, side: Side | None, table: MeasureTable) -> FloatArray | None:
    if side is None:
        return None
    name = column_name(measure, "left" if side == "right" else "right")
    series: Series | None = table.columns.get(name)
    return series.value if series is not None and np.isfinite(series.value).any() else None


def _findings(
    measure: str, side: Side | None, reps: list[JudgedRep], exercise: Exercise
) -> Iterator[tuple[Finding, Check, Rep]]:
    """Findings of a measure, of the arm that is charted."""
    checks = {check.id: check for check in exercise.checks}
    for judged in reps:
        for finding in judged.findings:
            check = checks.get(finding.id)
            here = finding.side in (None, "both", side)
            if check and here and check.measure == measure and check.side == "working":
                yield finding, check, judged.rep


def _on_chart(check: Check) -> bool:
    """Whether its limits can be read off the chart."""
    return not check.relative and check.statistic not in CHANGES


def _bands(found: list[tuple[Finding, Check, Rep]]) -> tuple[Band, ...]:
    """What is allowed: where several limits hold at once, what all of them allow.

    Limits that leave nothing between them are ends to be reached one after the other, as of an elbow
    that is to bend and to straighten; each has an area of its own.
    """
    limited = [
        (_span(check.phase, rep), (finding.low, finding.high))
        for finding, check, rep in found
        if finding.low is not None or finding.high is not None
    ]
    edges = sorted({edge for span, _ in limited for edge in span})
    spans: dict[tuple[float | None, float | None], list[tuple[float, float]]] = {}
    for start, end in pairwise(edges):
        held = [limits for (a, b), limits in limited if a <= start and end <= b]
        for limits in _allowed(held):
            runs = spans.setdefault(limits, [])
            if runs and runs[-1][1] == start and start not in _starts(found):
                runs[-1] = (runs[-1][0], end)
            else:
                runs.append((start, end))
    return tuple(Band(low, high, tuple(where)) for (low, high), where in spans.items())


def _allowed(
    held: list[tuple[float | None, float | None]],
) -> list[tuple[float | None, float | None]]:
    if not held:
        return []
    low = max((low for low, _ in held if low is not None), default=None)
    high = min((high for _, high in held if high is not None), default=None)
    exclusive = low is not None and high is not None and low >= high
    return list(dict.fromkeys(held)) if exclusive else [(low, high)]


def _starts(found: list[tuple[Finding, Check, Rep]]) -> set[float]:
    """Where repetitions start: an area of one does not run on into the next."""
    return {rep.start_s for _, _, rep in found}


def _safety(findings: list[Finding], words: Words) -> tuple[SafetyLimit, ...]:
    ends = dict.fromkeys(
        (one.measure, end, one.unit, upward)
        for one in findings
        if one.safety_limit
        for end, upward in ((one.high, True), (one.low, False))
        if end is not None
    )
    return tuple(
        SafetyLimit(end, upward, never_text(measure, end, unit, words, upward=upward))
        for measure, end, unit, upward in ends
    )


def _span(phase: str, rep: Rep) -> tuple[float, float]:
    return {
        "effort": (rep.start_s, rep.top_start_s),
        "top": (rep.top_start_s, rep.top_end_s),
        "return": (rep.top_end_s, rep.end_s),
        "start": (rep.start_s, rep.start_s + _START_S),
    }.get(phase, (rep.start_s, rep.end_s))
