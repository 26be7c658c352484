"""What is to be drawn onto the recording, and when; no picture is needed to plan it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.measures import MEASURES, Scope
from formcheck.checks.result import ClipResult, Finding, JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.measures.table import SIDES, MeasureTable, Side, column_name
from formcheck.movements.types import Rep
from formcheck.sheets.pages.cards import rep_name
from formcheck.sheets.pages.chart_spec import Band, SafetyLimit
from formcheck.sheets.pages.marks import Mark, client_mark
from formcheck.sheets.pages.moments import moment_about
from formcheck.sheets.pages.traces import charts
from formcheck.sheets.video.joint_angle import opening_sense
from formcheck.words.words import Words

_NOTE_BEFORE_S, _NOTE_AFTER_S = 0.3, 1.5
"""How long a note is shown before and after its moment: long enough to read it. A proposal."""
_MOST_MARKS = 12
"""So many marks of the last repetitions fit beside the count. Mechanical."""


@dataclass(frozen=True, slots=True)
class CountedRep:
    """A repetition with its name and its mark, for the count in the corner."""

    rep: Rep
    name: str
    mark: Mark

    @property
    def told(self) -> str:
        """``Repetition 3: On target``."""
        return f"{self.name}: {self.mark.word}"

    def holds_at(self, time_s: float) -> float | None:
        """How long a hold has been held, in seconds; None before its start and for other kinds."""
        held_s = min(time_s, self.rep.top_end_s) - self.rep.top_start_s
        return held_s if self.rep.kind == "hold" and held_s >= 0 else None


@dataclass(frozen=True, slots=True)
class Note:
    """What to do better, shown around the moment that shows it, with its finding to draw."""

    at_s: float
    finding: Finding
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class AngleTrace:
    """A measured angle over time, (n,) in degrees, with all its limits and the way it opens."""

    measure: str
    side: Side | None
    value: FloatArray
    sd: FloatArray
    bands: tuple[Band, ...]
    safety: tuple[SafetyLimit, ...]
    sense: float


@dataclass(frozen=True, slots=True)
class AngleReading:
    """A measured angle at one moment; ``text`` is the value with its uncertainty."""

    measure: str
    side: Side | None
    value_deg: float
    bands: tuple[Band, ...]
    safety: tuple[SafetyLimit, ...]
    sense: float
    text: str

    @property
    def limits(self) -> tuple[float, ...]:
        """Every limit, but for those of safety."""
        never = {limit.value for limit in self.safety}
        ends = {end for band in self.bands for end in band.limits}
        return tuple(sorted(ends - never))

    @property
    def within(self) -> bool:
        """Whether the value lies where all limits, or one of several targets, allow it."""
        allowed = not self.bands or any(band.holds(self.value_deg) for band in self.bands)
        return allowed and not self.passed

    @property
    def passed(self) -> bool:
        """Whether the value lies beyond a limit of safety."""
        return any(limit.passed_by(self.value_deg) for limit in self.safety)


@dataclass(frozen=True, slots=True)
class Scene:
    """What is shown at one moment.

    ``count`` is how many whole repetitions are done, ``marks`` are those of the last ones, ``name``
    is that of the repetition under way or of the last one with its verdict, ``held`` the characters of
    the timer of a hold.
    """

    angles: tuple[AngleReading, ...]
    note: Note | None
    count: int
    marks: tuple[Mark, ...]
    name: str | None
    held: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class OverlayPlan:
    """All that is drawn over one clip; ``chains`` are lines of joints, ``time_s`` is of the angles."""

    track: LandmarkTrack
    words: Words
    time_s: FloatArray
    reps: tuple[CountedRep, ...]
    chains: tuple[tuple[Joint, ...], ...]
    angles: tuple[AngleTrace, ...]
    notes: tuple[Note, ...]

    def scene_at(self, time_s: float) -> Scene:
        """What is shown at a time."""
        done = [counted for counted in self.reps if counted.rep.end_s <= time_s]
        under_way = (r for r in self.reps if r.rep.start_s <= time_s < r.rep.end_s)
        now = next(under_way, None)
        held_s = now.holds_at(time_s) if now else None
        lasting = (n for n in self.notes if -_NOTE_BEFORE_S <= time_s - n.at_s <= _NOTE_AFTER_S)
        return Scene(
            angles=self._angles_at(time_s),
            note=next(lasting, None),
            count=sum(not counted.rep.partial for counted in done),
            marks=tuple(counted.mark for counted in self.reps[: len(done)][-_MOST_MARKS:]),
            name=now.name if now else done[-1].told if done else None,
            held=() if held_s is None else (*self.words.number(held_s, 1), self.seconds_sign),
        )

    @property
    def poster_s(self) -> float:
        """The moment that the clip shows before it plays: of the first note, or of a repetition."""
        tops = [(one.rep.top_start_s + one.rep.top_end_s) / 2 for one in self.reps]
        return next(iter([note.at_s for note in self.notes] + tops), 0.0)

    @property
    def seconds_sign(self) -> str:
        """What stands behind the timer of a hold."""
        return self.words.unit("s").strip()

    def _angles_at(self, time_s: float) -> tuple[AngleReading, ...]:
        if not self.angles:
            return ()
        at = int(np.abs(self.time_s - time_s).argmin())
        return tuple(
            AngleReading(
                measure=angle.measure,
                side=angle.side,
                value_deg=float(angle.value[at]),
                bands=angle.bands,
                safety=angle.safety,
                sense=angle.sense,
                text=self._written(float(angle.value[at]), float(angle.sd[at])),
            )
            for angle in self.angles
            if np.isfinite(angle.value[at])
        )

    def _written(self, value_deg: float, sd_deg: float) -> str:
        return self.words.measured(value_deg, sd_deg, "deg").replace(" ", "")


def plan_overlay(
    result: ClipResult,
    table: MeasureTable,
    exercise: Exercise,
    track: LandmarkTrack,
    words: Words,
) -> OverlayPlan:
    """The working parts, the angle of the primary measure, the count and the findings of a clip."""
    return OverlayPlan(
        track=track,
        words=words,
        time_s=table.time_s,
        reps=tuple(
            CountedRep(
                judged.rep, rep_name(judged.rep, words), client_mark(judged, exercise, words)
            )
            for judged in result.reps
        ),
        chains=tuple(_chains(result, exercise)),
        angles=tuple(_angles(result, table, exercise, track, words)),
        notes=tuple(_notes(result, exercise, table)),
    )


def _working_sides(result: ClipResult) -> tuple[Side, ...]:
    sides = {judged.rep.side for judged in result.reps} | {result.side}
    return tuple(side for side in SIDES if side in sides or "both" in sides)


def _chains(result: ClipResult, exercise: Exercise) -> Iterator[tuple[Joint, ...]]:
    """Lines of joints: the working arms, and trunk and legs where something of them is judged."""
    measures = {check.measure for check in exercise.checks}
    sides = _working_sides(result) or SIDES
    for side in sides:
        yield _chain(side, "SHOULDER", "ELBOW", "WRIST")
    if any(MEASURES[measure].scope is Scope.TRUNK for measure in measures):
        for side in sides:
            yield _chain(side, "SHOULDER", "HIP")
    if measures & {"body_line", "hip_off_line"}:
        for side in sides:
            yield _chain(side, "HIP", "KNEE", "ANKLE")


def _chain(side: Side, *names: str) -> tuple[Joint, ...]:
    return tuple(Joint[f"{side.upper()}_{name}"] for name in names)


def _angles(
    result: ClipResult,
    table: MeasureTable,
    exercise: Exercise,
    track: LandmarkTrack,
    words: Words,
) -> Iterator[AngleTrace]:
    """The primary measure of each working side, where it is an angle."""
    measure = exercise.primary.measure
    sides: tuple[Side | None, ...] = _working_sides(result) if MEASURES[measure].sided else (None,)
    charted = {spec.key: spec for spec in charts(result, table, exercise, words)}
    for side in sides:
        spec = charted.get(column_name(measure, side).replace("_", "-"))
        if spec is not None and spec.unit == "deg":
            sense = opening_sense(track, measure, side)
            yield AngleTrace(measure, side, spec.value, spec.sd, spec.bands, spec.safety, sense)


def _notes(result: ClipResult, exercise: Exercise, table: MeasureTable) -> Iterator[Note]:
    """Everything that is clearly outside, in the order in which the exercise lists its checks."""
    order = {check.id: place for place, check in enumerate(exercise.checks)}
    found: list[tuple[JudgedRep, Finding]] = [
        (judged, finding)
        for judged in result.whole_reps
        for finding in judged.findings
        if finding.verdict == "outside" and finding.at_s is not None
    ]
    for judged, finding in sorted(found, key=lambda pair: order.get(pair[1].id, len(order))):
        moment = moment_about(judged.rep, finding, exercise, table)
        yield Note(moment.time_s, moment.about or finding, finding.cue)
