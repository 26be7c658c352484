"""The moments of a clip that are worth a picture, the keys they go by, and the pictures."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.codes import Verdict
from formcheck.catalogue.measures import MEASURES
from formcheck.checks.result import ClipResult, Cue, Finding, JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import SIDES, MeasureTable, column_name
from formcheck.movements.types import Rep
from formcheck.sheets.pages.marks import deciding_finding

MOST_CLOSE_UPS = 10
"""No more repetitions are shown close up, so that the coach's page stays readable. A proposal."""
_CLOSE_UP = "close-"
_LITTLE_LESS = 0.25
"""A finding shows nearly as well where it is less past its limit by no more than this share. A
proposal."""


Drawn = Literal["", "lines", "ring"]


@dataclass(frozen=True, slots=True)
class Still:
    """One JPEG picture without any metadata; ``time_s`` is that of the frame it was taken from.

    ``drawn`` is what is drawn on it: the lines of what was and what was asked for, or only a ring.
    """

    time_s: float
    width: int
    height: int
    jpeg: bytes
    drawn: Drawn = ""


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment worth a picture: of the whole subject, or close up on the shoulders.

    ``about`` is a finding to draw on it, in a landscape picture. The picture may be taken anywhere
    ``between`` two times, where that shows more.
    """

    time_s: float
    close_up: bool = False
    about: Finding | None = None
    between: tuple[float, float] | None = None


def moments_of(result: ClipResult, exercise: Exercise, table: MeasureTable) -> dict[str, Moment]:
    """The moments to take a still of, under the keys that the pages use.

    One for each repetition and each cue; where the coach is asked to look, also a close-up of each
    whole repetition at the end of its top.
    """
    moments = {rep_key(one.rep): _moment_of_rep(one, exercise, table) for one in result.reps}
    for position, cue in enumerate(result.summary.cues):
        moments[cue_key(position)] = _moment_of_cue(cue, result, exercise, table)
    if result.summary.look_yourself:
        whole = [judged.rep for judged in result.whole_reps]
        for rep in whole[:MOST_CLOSE_UPS]:
            moments[close_up_key(rep_key(rep))] = Moment(rep.top_end_s, close_up=True)
    return moments


def finding_of(cue: Cue, result: ClipResult) -> tuple[Rep, Finding] | None:
    """The repetition and the finding that a cue is about, if there is one of that moment."""
    pairs = [
        (judged.rep, finding)
        for judged in result.reps
        for finding in judged.findings
        if finding.id == cue.check_id and judged.rep.index == cue.rep_index
    ]
    return min(pairs, key=lambda pair: abs((pair[1].at_s or 0.0) - cue.at_s), default=None)


def _moment_of_cue(cue: Cue, result: ClipResult, exercise: Exercise, table: MeasureTable) -> Moment:
    found = finding_of(cue, result)
    return moment_about(*found, exercise, table) if found else Moment(cue.at_s)


def _moment_of_rep(judged: JudgedRep, exercise: Exercise, table: MeasureTable) -> Moment:
    """Of what is to work on the moment that shows it; of all else the middle of the top."""
    rep, worst = judged.rep, deciding_finding(judged, exercise)
    if worst and not rep.partial and (worst.verdict == Verdict.OUTSIDE or worst.perhaps_not):
        return moment_about(rep, worst, exercise, table)
    return Moment(key_moment_s(rep), between=_top_of(rep))


def moment_about(rep: Rep, finding: Finding, exercise: Exercise, table: MeasureTable) -> Moment:
    """The moment that shows a finding best, with what is to be drawn on it: the target itself, as the
    words of the exercise tell it, without the tolerance by which it is judged.
    """
    moment = _best_moment(rep, finding, exercise, table)
    check = next((one for one in exercise.checks if one.id == finding.id), None)
    if moment.about is None or check is None:
        return moment
    return replace(moment, about=replace(moment.about, low=check.low, high=check.high))


def _best_moment(rep: Rep, finding: Finding, exercise: Exercise, table: MeasureTable) -> Moment:
    if not MEASURES[finding.measure].over_time:
        primary = exercise.primary.measure
        about = replace(finding, measure=primary) if finding.measure == "range" else finding
        at_s = finding.at_s if finding.measure == "follow_range" else None
        return Moment(at_s or key_moment_s(rep), about=about, between=_top_of(rep))
    worst_s = finding.at_s if finding.at_s is not None else key_moment_s(rep)
    beyond = _beyond(finding, table)
    if beyond is None:
        return Moment(worst_s, about=finding)
    time_s = _shown_best_s(rep, finding, worst_s, beyond, table.time_s)
    return Moment(time_s, about=finding, between=_as_far(rep, finding, (time_s, beyond), table))


def _beyond(finding: Finding, table: MeasureTable) -> FloatArray | None:
    """(n,) over the table's times how far the measure goes toward the limit and past it, -inf where
    it is unknown; None for what was not read or has no such limit.
    """
    if finding.value is None:
        return None
    sided = MEASURES[finding.measure].sided
    side = next((one for one in SIDES if one == finding.side), SIDES[0]) if sided else None
    series = table.columns.get(column_name(finding.measure, side))
    if series is None or _limit(finding) is None:
        return None
    sign = 1.0 if _goes_up(finding) else -1.0
    return np.where(np.isfinite(series.value), sign * series.value, -np.inf)


def _goes_up(finding: Finding) -> bool:
    return finding.high is not None and (finding.value or 0.0) > finding.high


def _limit(finding: Finding) -> float | None:
    return finding.high if _goes_up(finding) else finding.low


def _shown_best_s(
    rep: Rep, finding: Finding, worst_s: float, beyond: FloatArray, time_s: FloatArray
) -> float:
    """When a finding shows best: on the way out or at the top, of which cues speak, where it is
    beyond its limit there too; otherwise at its worst.
    """
    extreme = ("worst", "max" if _goes_up(finding) else "min")
    early = (time_s >= rep.start_s) & (time_s <= rep.top_end_s)
    if finding.phase != "whole" or finding.statistic not in extreme or not early.any():
        return worst_s
    at = int(np.where(early, beyond, -np.inf).argmax())
    worst = beyond[int(np.abs(time_s - worst_s).argmin())]
    needed = worst - _excess(finding)  # in the series' own terms
    return float(time_s[at]) if beyond[at] >= needed else worst_s


def _as_far(
    rep: Rep, finding: Finding, best: tuple[float, FloatArray], table: MeasureTable
) -> tuple[float, float] | None:
    """The stretch of the repetition about the best moment in which the finding shows nearly as well."""
    (moment_s, beyond), time_s = best, table.time_s
    at = int(np.abs(time_s - moment_s).argmin())
    if not np.isfinite(beyond[at]):
        return None
    elsewhere = (time_s < rep.start_s) | (time_s > rep.end_s)
    less = np.flatnonzero(elsewhere | (beyond < beyond[at] - _LITTLE_LESS * _excess(finding)))
    first = int(less[less < at].max(initial=-1)) + 1
    last = int(less[less > at].min(initial=len(time_s))) - 1
    return float(time_s[first]), float(time_s[last])


def _excess(finding: Finding) -> float:
    return abs((finding.value or 0.0) - (_limit(finding) or 0.0))


def _top_of(rep: Rep) -> tuple[float, float]:
    """Where a repetition may be shown: its top, or all of it where it has none, as a circle."""
    whole = rep.top_end_s - rep.top_start_s <= 0 or rep.kind == "circle"
    return (rep.start_s, rep.end_s) if whole else (rep.top_start_s, rep.top_end_s)


def rep_key(rep: Rep) -> str:
    """The key of a repetition's still."""
    return f"rep-{rep.side}-{rep.index}"


def cue_key(position: int) -> str:
    """The key of a cue's still."""
    return f"cue-{position}"


def close_up_key(of_rep: str) -> str:
    """The key of a repetition's close-up, from that of its still."""
    return f"{_CLOSE_UP}{of_rep}"


def key_moment_s(rep: Rep) -> float:
    """The moment that shows a repetition best: the middle of its top."""
    return (rep.top_start_s + rep.top_end_s) / 2
