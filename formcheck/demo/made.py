"""Results made without a clip: readings near what was asked for, judged by the same rule as real ones."""

import hashlib
import random
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from formcheck.catalogue.measures import MEASURES, Scope
from formcheck.catalogue.quantity import Quantity
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.dose import count_dose
from formcheck.checks.judge import score_findings, summarise
from formcheck.checks.limits import limit_reports
from formcheck.checks.reading_errors import errors_of
from formcheck.checks.result import ClipFacts, ClipResult, Finding, JudgedRep, Provenance
from formcheck.checks.statistics import Reading
from formcheck.checks.verdict import judge
from formcheck.exercises.programme import Prescription
from formcheck.exercises.schema import Check, Exercise
from formcheck.measures.table import MeasureTable, Series, Side, View, column_name
from formcheck.movements.types import Rep
from formcheck.version import __version__

_SD = {"deg": 3.0, "cm": 0.6, "s": 0.2, "deg/s": 8.0, "cm/s": 4.0, "": 0.05}
"""Standard uncertainty of a made reading, by unit. A proposal."""
_SPREAD = 0.5
"""How much readings of one set differ, in standard uncertainties. A proposal."""
_FILMING = 0.6
"""How much sets differ from one filming to the next, in standard uncertainties. A proposal."""
_OF_LIMIT = 0.2
"""Share of a limit of safety that a made reading comes to where nothing else says how far. A proposal."""
_DISTANCE_M, _PUT_UP, _HEIGHT_SD_DEG = 3.0, 0.04, 2.0
"""How far away the camera stands, and how far off a phone is when it is put up again: a share of that, and
its elevation. A proposal."""
_REST_S, _RATE_HZ = 1.2, 10.0
"""Pause between repetitions, and samples of a made curve in a second. Mechanical."""
_FRAME = (720, 1280, 30.0)
"""Width, height and rate of the clip that was never filmed. Mechanical."""


def made_set(
    one: Prescription,
    rng: random.Random,
    name: str,
    *,
    truth: Mapping[str, float],
    yaw_deg: float = 0.0,
    done: int | None = None,
) -> ClipResult:
    """The result of a set that nobody did.

    ``truth`` has the true values of some checks by id; all others lie in the middle of what is asked
    for. ``name`` tells the clip from others, ``done`` is how many repetitions it holds (all by
    default).
    """
    exercise = one.exercise
    count = done or exercise.dose.count * (2 if exercise.dose.per_direction else 1)
    off = {check.id: rng.gauss(0.0, _FILMING) for check in exercise.checks}
    reps, start_s = [], 2.0
    for index in range(1, count + 1):
        rep = _rep(exercise, one.side_to_check, index, start_s, count)
        findings = _findings(exercise, rep, truth, (rng, off))
        scored = score_findings(exercise.checks, findings, exercise.decision)
        reps.append(JudgedRep(rep, scored.score, scored.coverage, findings, scored.uncertainty))
        start_s = rep.end_s + _REST_S
    limits = limit_reports(exercise, reps)
    sides = ("left", "right") if one.side_to_check == "both" else (one.side_to_check,)
    width, height, rate_hz = _FRAME
    put_up = random.Random(name)  # noqa: S311 - a story, not a secret
    camera = (_DISTANCE_M * (1 + put_up.gauss(0.0, _PUT_UP)), put_up.gauss(0.0, _HEIGHT_SD_DEG))
    return ClipResult(
        clip=ClipFacts(
            f"{name}.mp4",
            hashlib.sha256(name.encode()).hexdigest(),
            *(round(start_s + 1, 2), round(30 * (start_s + 1)), rate_hz, width, height, 0),
            variable_rate=False,
        ),
        exercise=exercise.name,
        side=one.side_to_check,
        view=View(MeasuredView.at_yaw(yaw_deg), yaw_deg, 5.0, *camera),
        usable=True,
        tracked_share=1.0,
        problems=(),
        reps=tuple(reps),
        dose=count_dose(exercise, reps, sides),
        summary=summarise(exercise, reps, limits=limits),
        provenance=Provenance(__version__, "none", "", {"stature_m": 1.7, "made": "invented"}),
        prescription=one,
        limits=limits,
    )


def made_table(result: ClipResult, exercise: Exercise) -> MeasureTable:
    """Measures over time that go with a made result: a smooth way to each value and back."""
    time_s = np.arange(0.0, result.clip.duration_s, 1 / _RATE_HZ)
    columns: dict[str, Series] = {}
    for check in exercise.checks:
        measure = MEASURES[check.measure]
        if measure.scope is Scope.REPETITION:
            continue
        side = None if measure.scope is Scope.TRUNK else _first_side(result.side)
        value = np.zeros(len(time_s))
        for judged in result.reps:
            own = next(f for f in judged.findings if f.id == check.id)
            start, end = judged.rep.start_s, judged.rep.end_s
            inside = (time_s >= start) & (time_s <= end)
            way = np.sin(np.pi * (time_s[inside] - start) / (end - start)) ** 2
            value[inside] = (own.value or 0.0) * np.minimum(1.6 * way, 1.0)
        sd = np.full(len(time_s), _SD.get(measure.unit, 1.0))
        columns.setdefault(column_name(check.measure, side), Series(value, sd))
    none = np.zeros(len(time_s), dtype=bool)
    return MeasureTable(time_s, columns, result.view, {}, none, none)


def _first_side(side: str) -> Side:
    return "left" if side == "left" else "right"


def _rep(exercise: Exercise, side: str, index: int, start_s: float, count: int) -> Rep:
    dose = exercise.dose
    held = dose.hold_s if exercise.movement == "hold" else None
    out, pause, back = dose.tempo_s or (2.2, 0.6, 2.2)
    top = start_s + out
    after = top + (held + 0.4 if held else pause)
    turned = "forward" if index <= count // 2 else "backward"
    return Rep(
        index=index,
        kind=exercise.movement,
        side=side,
        partial=False,
        start_s=round(start_s, 2),
        top_start_s=round(top, 2),
        top_end_s=round(after, 2),
        end_s=round(after + back, 2),
        hold_s=held + 0.4 if held else None,
        direction=turned if exercise.movement == "circle" else None,  # type: ignore[arg-type]
        measures={"duration": Quantity(round(after + back - start_s, 2), 0.1, "s")},
    )


_Noise = tuple[random.Random, Mapping[str, float]]


def _findings(
    exercise: Exercise, rep: Rep, truth: Mapping[str, float], noise: _Noise
) -> tuple[Finding, ...]:
    """Every check of a repetition; a limit of safety is held against what another check reads alike."""
    found: list[Finding] = []
    for check in exercise.checks:
        one = _finding(exercise, check, rep, truth, noise)
        alike = [f for f in found if (f.measure, f.statistic) == (one.measure, one.statistic)]
        if check.safety_limit and alike and alike[0].value is not None:
            reading = Reading(alike[0].value, alike[0].uncertainty, rep.top_start_s, one.unit)
            one = replace(judge(check, reading, exercise.decision), side=one.side)
        found.append(one)
    return tuple(found)


def _finding(
    exercise: Exercise,
    check: Check,
    rep: Rep,
    truth: Mapping[str, float],
    noise: _Noise,
) -> Finding:
    measure = MEASURES[check.measure]
    unit = measure.unit_beside(MEASURES[exercise.primary.measure])
    sd = _SD.get(unit, 1.0)
    rng, off = noise
    value = truth.get(check.id, _as_asked(check, rep))
    value += sd * (off[check.id] + rng.gauss(0.0, _SPREAD))
    reading = Reading(round(value, 2), sd, rep.top_start_s, unit)
    side = None if measure.scope is Scope.TRUNK else rep.side
    judged = judge(check, reading, exercise.decision, errors_of(check, rep.kind))
    return replace(judged, side=side)


def _as_asked(check: Check, rep: Rep) -> float:
    """A value that is surely within."""
    if check.measure == "hold" and rep.hold_s is not None:
        return rep.hold_s
    if check.measure == "duration":
        return rep.end_s - rep.start_s
    low, high = check.low, check.high
    if low is not None and high is not None:
        return (low + high) / 2
    if high is not None and high > 0:
        return high * (_OF_LIMIT if check.safety_limit else 0.5)
    away = check.tolerance + 3.0 * _SD.get(MEASURES[check.measure].unit, 0.1)
    return low + away if low is not None else (high or 0.0) - away
