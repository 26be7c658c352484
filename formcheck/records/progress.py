"""Each measure of each exercise over the sessions, and whether it changed by more than error does.

Results are compared only within a series: same exercise, check and side, seen from the same view, with
the same load, by the same model and version, looked at with the same settings. Where one of these
changes, a new series begins and says what is different.
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from statistics import fmean

from formcheck.records.reliability import (
    Repeats,
    Sem,
    repeats_of,
    sem_for,
    smallest_detectable_change,
)
from formcheck.records.sets import RecordedSet, sets_of
from formcheck.records.store import Store
from formcheck.records.summary import MeasuredCheck

MOST_AVERAGED = 3
"""Sessions at either end of a series whose means are compared: more would hide a step between them. A
proposal."""
SAME_PLACE_DEG = 20.0
"""Sets of one view whose turns differ by more were not filmed from the same place. A proposal."""
SAME_DISTANCE = 1.25
"""Sets filmed from so many times as far away were not filmed from the same place: of two filmings, the
camera put up anew about where it stood, one in a hundred differs by more. Read on rendered people."""
SAME_ELEVATION_DEG = 15.0
"""Sets whose cameras differ by more in height, seen from the body, were not filmed from the same place: as
for the distance. Read on rendered people."""


class Change(StrEnum):
    """What can be said of a series, from its first sessions to its last."""

    ROSE = "rose"
    FELL = "fell"
    NOT_TOLD = "not-told"
    TOO_FEW = "too-few"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Subject:
    """What a series is of: a check of an exercise, and the side."""

    exercise: str
    part: str
    check_id: str
    side: str
    measure: str
    statistic: str
    phase: str
    unit: str


@dataclass(frozen=True, slots=True)
class Context:
    """What must be the same for results to be compared. ``settings`` is JSON."""

    view: str
    load: str
    model_sha256: str
    formcheck: str
    settings: str


@dataclass(frozen=True, slots=True)
class Point:
    """One session: the mean over its sets, how many they were, and the limits that then applied.

    ``yaw_deg`` is the mean turn of the body from the camera. ``place_known`` is whether it is also known
    how far away and how high the camera stood.
    """

    day: date
    value: float
    sets: int
    low: float | None
    high: float | None
    yaw_deg: float | None
    place_known: bool = False


@dataclass(frozen=True, slots=True)
class Series:
    """A check over the sessions in which it can be compared.

    ``sem`` is the standard error of one session, and ``stated_sd`` the mean standard uncertainty that was
    stated with its readings, which holds what all filmings get wrong alike as well; None where it is not
    known. ``change`` is the
    mean of the last ``k2`` sessions less that of the first ``k1``, and ``sdc`` the smallest one that
    could be told. ``differs`` names what is different from the series before (fields of ``Context``,
    or ``place``); it is empty for the first.
    """

    subject: Subject
    context: Context
    points: tuple[Point, ...]
    sem: Sem | None
    stated_sd: float | None
    k1: int
    k2: int
    change: float | None
    sdc: float | None
    told: Change
    differs: tuple[str, ...] = ()

    @property
    def place_known(self) -> bool:
        """Whether all days tell how far away and how high the camera stood."""
        return all(point.place_known for point in self.points)

    @property
    def told_change(self) -> bool:
        """Whether it changed by more than error explains."""
        return self.told in (Change.ROSE, Change.FELL)


def progress_of(store: Store, alias: str, *, exercise: str | None = None) -> list[Series]:
    """All series of a client, by exercise and check, the earliest first."""
    return series_of(sets_of(store, alias, exercise=exercise))


def series_of(recorded: Sequence[RecordedSet]) -> list[Series]:
    """The series that recorded sets come to."""
    by_subject: dict[Subject, list[tuple[RecordedSet, MeasuredCheck]]] = defaultdict(list)
    for one in recorded:
        for check in one.checks:
            if check.value is not None:
                by_subject[subject_of(one, check)].append((one, check))
    found: list[Series] = []
    for subject, seen in sorted(by_subject.items(), key=lambda item: _order(item[0])):
        before: Series | None = None
        for context, mine in _stretches(seen):
            before = _series(subject, context, mine, before)
            found.append(before)
    return found


def between_sides(series: Iterable[Series]) -> list[tuple[Series, Series]]:
    """The latest series of the left and the right arm that may be set against each other."""
    latest: dict[tuple[object, ...], dict[str, Series]] = defaultdict(dict)
    for one in series:
        s, c = one.subject, one.context
        key = (s.exercise, s.part, s.check_id, s.statistic, c.load, c.model_sha256, c.formcheck)
        latest[(*key, c.settings)][s.side] = one
    pairs = (sides for sides in latest.values() if {"left", "right"} <= set(sides))
    return [(sides["left"], sides["right"]) for sides in pairs]


def subject_of(one: RecordedSet, check: MeasuredCheck) -> Subject:
    """What a check of a set is of."""
    return Subject(
        one.exercise,
        check.part,
        check.check_id,
        check.side,
        check.measure,
        check.statistic,
        check.phase,
        check.unit,
    )


def _order(subject: Subject) -> tuple[str, ...]:
    return subject.exercise, subject.part, subject.check_id, subject.side


def context_of(one: RecordedSet) -> Context:
    """What must be the same in another set for the two to be compared."""
    settings = json.loads(one.settings)
    shaping = {k: v for k, v in settings.items() if k not in ("mirrored", "speed")}
    text = json.dumps(shaping, sort_keys=True)
    return Context(one.view, one.load, one.model_sha256, one.formcheck, text)


_Seen = Sequence[tuple[RecordedSet, MeasuredCheck]]


def _stretches(seen: _Seen) -> list[tuple[Context, _Seen]]:
    """What was seen, parted where it cannot be compared, in the order in which each part began."""
    parts: list[tuple[Context, list[tuple[RecordedSet, MeasuredCheck]]]] = []
    for one, check in seen:
        context = context_of(one)
        for known, mine in parts:
            if known == context and same_place(one, mine[0][0]):
                mine.append((one, check))
                break
        else:
            parts.append((context, [(one, check)]))
    return [(context, mine) for context, mine in parts]


def same_place(one: RecordedSet, other: RecordedSet) -> bool:
    """Whether two sets were filmed from about the same place: turn of the body, distance and height.

    Distance and height are passed over where one of the sets does not tell them (``place_known``).
    """
    if one.yaw_deg is None or other.yaw_deg is None:
        return one.yaw_deg is other.yaw_deg
    apart = abs((one.yaw_deg - other.yaw_deg + 180) % 360 - 180)
    return apart <= SAME_PLACE_DEG and _same_distance(one, other) and _same_height(one, other)


def place_known(one: RecordedSet) -> bool:
    """Whether a set tells how far away and how high the camera stood."""
    return None not in (one.camera_distance_m, one.camera_elevation_deg)


def _same_distance(one: RecordedSet, other: RecordedSet) -> bool:
    mine, theirs = one.camera_distance_m, other.camera_distance_m
    return mine is None or theirs is None or 1 / SAME_DISTANCE <= mine / theirs <= SAME_DISTANCE


def _same_height(one: RecordedSet, other: RecordedSet) -> bool:
    mine, theirs = one.camera_elevation_deg, other.camera_elevation_deg
    return mine is None or theirs is None or abs(mine - theirs) <= SAME_ELEVATION_DEG


def _series(subject: Subject, context: Context, seen: _Seen, before: Series | None) -> Series:
    points = _points(seen)
    yaws = [point.yaw_deg for point in points if point.yaw_deg is not None]
    told_sds = [check.uncertainty for _, check in seen if check.uncertainty is not None]
    stated = fmean(told_sds) if told_sds else None
    sem = sem_for(
        subject.measure,
        subject.side,
        fmean(yaws) if yaws else None,
        stated,
        _own_repeats(seen),
    )
    k = min(MOST_AVERAGED, len(points) // 2)
    change = sdc = None
    told = Change.TOO_FEW
    if k > 0:
        values = [point.value for point in points]
        change = fmean(values[-k:]) - fmean(values[:k])
        told = Change.UNKNOWN
        if sem is not None:
            sdc = smallest_detectable_change(sem.value, k, k)
            told = _told(change, sdc)
    return Series(
        subject=subject,
        context=context,
        points=points,
        sem=sem,
        stated_sd=stated,
        k1=k,
        k2=k,
        change=change,
        sdc=sdc,
        told=told,
        differs=_differs(context, before),
    )


def _told(change: float, sdc: float) -> Change:
    if abs(change) <= sdc:
        return Change.NOT_TOLD
    return Change.ROSE if change > 0 else Change.FELL


def _points(seen: _Seen) -> tuple[Point, ...]:
    """One point a day: sets of one day were filmed with the camera where it stood."""
    by_day: dict[date, list[tuple[RecordedSet, MeasuredCheck]]] = defaultdict(list)
    for one, check in seen:
        by_day[one.day].append((one, check))
    points = []
    for day, mine in sorted(by_day.items()):
        yaws = [one.yaw_deg for one, _ in mine if one.yaw_deg is not None]
        last = mine[-1][1]
        points.append(
            Point(
                day,
                fmean(check.value for _, check in mine if check.value is not None),
                len(mine),
                last.low,
                last.high,
                fmean(yaws) if yaws else None,
                all(place_known(one) for one, _ in mine),
            )
        )
    return tuple(points)


def _own_repeats(seen: _Seen) -> Repeats:
    """What the client's sets of one day say that were filmed again, the camera put up anew."""
    by_day: dict[date, list[float]] = defaultdict(list)
    again: set[date] = set()
    for one, check in seen:
        if check.value is not None:
            by_day[one.day].append(check.value)
        if one.filmed_again:
            again.add(one.day)
    return repeats_of([by_day[day] for day in sorted(again) if len(by_day[day]) > 1])


def _differs(context: Context, before: Series | None) -> tuple[str, ...]:
    if before is None:
        return ()
    names = ("view", "load", "model_sha256", "formcheck", "settings")
    different = [n for n in names if getattr(context, n) != getattr(before.context, n)]
    return tuple(different or ["place"])
