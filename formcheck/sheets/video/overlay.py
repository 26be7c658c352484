"""What is drawn onto the recording: the working parts, the angle, the count and the findings."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from formcheck.checks.result import ClipResult, Finding, JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.landmarks.track import FloatArray, Joint, LandmarkTrack
from formcheck.measures.table import SIDES, MeasureTable, Side, column_name, is_sided
from formcheck.sheets.pages.cards import rep_name
from formcheck.sheets.pages.marks import rep_mark
from formcheck.sheets.pages.traces import charts
from formcheck.sheets.video.anonymise import Picture, bodies_at
from formcheck.sheets.video.captions import Caption, set_captions
from formcheck.sheets.video.drawing import (
    IRIS,
    PAPER,
    RUST,
    arc,
    dot,
    draw_mark,
    panel,
    ring,
    stroke,
    write,
)
from formcheck.sheets.video.joint_angle import corner, usual_sense
from formcheck.words.words import Words

_BEFORE_S, _AFTER_S = 0.3, 1.5
_TIMER_SIGNS = "0123456789.,"
_MOST_MARKS = 12
_NOTE_BOTTOM = 0.87  # a browser's own controls lie below
_ABOUT = {
    "hike": "SHOULDER",
    "protraction": "SHOULDER",
    "elbow_flexion": "ELBOW",
    "axial_rotation": "ELBOW",
    "hand_height": "WRIST",
    "hip_off_line": "HIP",
    "body_line": "HIP",
    "trunk_lean_side": "HIP",
    "trunk_lean_forward": "HIP",
    "trunk_turn": "HIP",
}


@dataclass(frozen=True, slots=True)
class _Note:
    """A finding shown around its moment: where it is and what to do."""

    at_s: float
    joint: Joint
    caption: Caption


@dataclass(frozen=True, slots=True)
class _Angle:
    """A primary measure that may be drawn at its joint, with its limits."""

    measure: str
    side: Side | None
    value: FloatArray
    sd: FloatArray
    limits: tuple[float | None, float | None]
    sense: float


class Overlay:
    """Draws one clip's result; made once, then called for each frame in order."""

    def __init__(
        self,
        result: ClipResult,
        table: MeasureTable,
        exercise: Exercise,
        track: LandmarkTrack,
        words: Words,
    ) -> None:
        self._track = track
        self._words = words
        self._time_s = table.time_s
        self._reps = result.reps
        self._names = [rep_name(judged.rep, words) for judged in result.reps]
        self._marks = [rep_mark(judged, exercise, words) for judged in result.reps]
        self._chains = tuple(_chains(result, exercise))
        self._angles = tuple(_angles(result, table, exercise, track, words))
        self._size_px = (0, 0)
        self._findings = tuple(_shown(result, exercise))
        self._set: dict[Caption, Picture] = {}
        self._notes: tuple[_Note, ...] = ()
        self._unit = 1.0  # a hundredth of the picture's shorter side

    def draw(self, picture: Picture, time_s: float) -> None:
        """Draw everything that belongs to a moment, in place."""
        if (picture.shape[1], picture.shape[0]) != self._size_px:
            self._prepare(picture.shape[1], picture.shape[0])
        bodies, widening = bodies_at(self._track, time_s, picture.shape[1] / self._track.width)
        body = bodies[0] if len(bodies) == 1 and widening == 1.0 else None
        if body is not None:
            self._draw_body(picture, body)
            self._draw_angles(picture, body, time_s)
        self._draw_notes(picture, body, time_s)
        self._draw_count(picture, time_s)

    def _prepare(self, width: int, height: int) -> None:
        """Set all captions for a picture size."""
        self._size_px = (width, height)
        self._unit = unit = min(width, height) / 100
        most = round(width - 14 * unit)
        self._notes = tuple(
            _Note(at_s, joint, Caption(text, round(4.4 * unit), most, bold=True))
            for at_s, joint, text in self._findings
        )
        captions = [note.caption for note in self._notes]
        captions += [self._small(name) for name in self._names]
        captions += [self._large(str(n)) for n in range(len(self._reps) + 1)]
        captions += [self._timer(sign) for sign in (*_TIMER_SIGNS, self._words.unit("s").strip())]
        captions += [self._value(sign) for sign in "0123456789±°\N{MINUS SIGN}"]
        self._set = dict(set_captions(captions))

    def _small(self, text: str) -> Caption:
        return Caption(text, round(3.8 * self._unit), round(60 * self._unit))

    def _large(self, text: str) -> Caption:
        return Caption(text, round(11 * self._unit), 10_000, bold=True)

    def _timer(self, sign: str) -> Caption:
        return Caption(sign, round(6 * self._unit), 10_000, bold=True)

    def _value(self, sign: str) -> Caption:
        return Caption(sign, round(4 * self._unit), 10_000, bold=True)

    def _draw_body(self, picture: Picture, body: FloatArray) -> None:
        for chain in self._chains:
            points = body[list(chain)]
            stroke(picture, points, PAPER, 0.9 * self._unit)
            for point in points:
                dot(picture, point, 0.9 * self._unit, PAPER)

    def _draw_angles(self, picture: Picture, body: FloatArray, time_s: float) -> None:
        for angle in self._angles:
            at = int(np.abs(self._time_s - time_s).argmin())
            value, sd = float(angle.value[at]), float(angle.sd[at])
            seen = corner(body, angle.measure, angle.side, value, angle.sense)
            if seen is None:
                continue
            radius = min(max(0.62 * seen.reach_px, 9 * self._unit), 24 * self._unit)
            swept = seen.zero_rad + seen.sense * np.radians(value)
            stroke(picture, arc(seen.at, radius, seen.zero_rad, swept), PAPER, 0.5 * self._unit)
            low, high = angle.limits
            for limit in (low, high):
                if limit is not None:
                    rail = np.array(
                        [seen.ray(limit, 0.84 * radius), seen.ray(limit, 1.16 * radius)]
                    )
                    stroke(picture, rail, PAPER, 0.8 * self._unit)
            inside = (low is None or value >= low) and (high is None or value <= high)
            colour = IRIS if inside else PAPER
            dot(picture, seen.ray(value, radius), 1.5 * self._unit, colour)
            self._write_value(picture, seen.ray(value / 2, 1.55 * radius), value, sd)

    def _write_value(self, picture: Picture, at: FloatArray, value: float, sd: float) -> None:
        text = self._words.measured(value, sd, "deg").replace(" ", "")
        signs = [self._value(sign) for sign in text]
        width = sum(self._set[sign].shape[1] for sign in signs)
        left = round(float(np.clip(at[0] - width / 2, 0, max(picture.shape[1] - width, 0))))
        self._write_signs(picture, signs, left, round(at[1]))

    def _write_signs(self, picture: Picture, signs: list[Caption], left: int, middle: int) -> None:
        covers = [self._set[sign] for sign in signs]
        height, pad = covers[0].shape[0], round(self._unit)
        top = min(max(middle - height // 2, pad), picture.shape[0] - height - pad)
        width = sum(cover.shape[1] for cover in covers)
        panel(picture, left - pad, top, width + 2 * pad, height)
        for cover in covers:
            write(picture, cover, left, top)
            left += cover.shape[1]

    def _draw_count(self, picture: Picture, time_s: float) -> None:
        """Top left: how many are done, which one is under way, how long it has been held."""
        unit = self._unit
        done = [i for i, judged in enumerate(self._reps) if judged.rep.end_s <= time_s]
        whole = sum(not self._reps[i].rep.partial for i in done)
        now = next((i for i, j in enumerate(self._reps) if _during(j, time_s)), None)
        number = self._set[self._large(str(whole))]
        name = self._set[self._small(self._names[now])] if now is not None else None
        marks = self._marks[: len(done)][-_MOST_MARKS:]
        beside = max(name.shape[1] if name is not None else 0, len(marks) * 5 * unit)
        width = round(number.shape[1] + beside + 7 * unit)
        panel(picture, round(2 * unit), round(2 * unit), width, round(17 * unit))
        write(picture, number, round(4 * unit), round(2.5 * unit))
        left = round(4 * unit + number.shape[1] + 2 * unit)
        for place, mark in enumerate(marks):
            draw_mark(picture, mark, left + place * 5 * unit, 3.4 * unit, 5 * unit)
        if name is not None:
            write(picture, name, left, round(12.2 * unit))
        if now is not None and self._reps[now].rep.kind == "hold":
            self._draw_timer(picture, self._reps[now], time_s)

    def _draw_timer(self, picture: Picture, judged: JudgedRep, time_s: float) -> None:
        rep = judged.rep
        held = min(time_s, rep.top_end_s) - rep.top_start_s
        if held < 0:
            return
        signs = [self._timer(sign) for sign in self._words.number(held, 1)]
        signs.append(self._timer(self._words.unit("s").strip()))
        self._write_signs(picture, signs, round(4 * self._unit), round(25 * self._unit))

    def _draw_notes(self, picture: Picture, body: FloatArray | None, time_s: float) -> None:
        """Low in the picture: what to do better while its moment lasts; a ring where it is."""
        due = [n for n in self._notes if -_BEFORE_S <= time_s - n.at_s <= _AFTER_S]
        if not due:
            return
        note, unit = due[0], self._unit
        if body is not None:
            ring(picture, body[note.joint], 5 * unit, RUST, 0.9 * unit)
        cover = self._set[note.caption]
        height, width = picture.shape[:2]
        tall = round(cover.shape[0] + 3 * unit)
        top = round(_NOTE_BOTTOM * height) - tall
        panel(picture, 0, top, width, tall)
        picture[top : top + max(round(0.5 * unit), 1)] = RUST
        write(picture, cover, round((width - cover.shape[1]) / 2), top + round(1.5 * unit))


def _during(judged: JudgedRep, time_s: float) -> bool:
    return judged.rep.start_s <= time_s < judged.rep.end_s


def _working(result: ClipResult) -> tuple[Side, ...]:
    sides = {judged.rep.side for judged in result.reps} | {result.side}
    return tuple(side for side in SIDES if side in sides or "both" in sides)


def _chains(result: ClipResult, exercise: Exercise) -> Iterator[tuple[Joint, ...]]:
    """Lines of joints: the working arms, and trunk and legs where something of them is judged."""
    measures = {check.measure for check in exercise.checks}
    working = _working(result) or SIDES
    for side in working:
        yield _chain(side, "SHOULDER", "ELBOW", "WRIST")
    if any(measure.startswith(("trunk", "body_line", "hip")) for measure in measures):
        for side in working:
            yield _chain(side, "SHOULDER", "HIP")
    if measures & {"body_line", "hip_off_line"}:
        for side in working:
            yield _chain(side, "HIP", "KNEE", "ANKLE")


def _chain(side: Side, *names: str) -> tuple[Joint, ...]:
    return tuple(Joint[f"{side.upper()}_{name}"] for name in names)


def _angles(
    result: ClipResult,
    table: MeasureTable,
    exercise: Exercise,
    track: LandmarkTrack,
    words: Words,
) -> Iterator[_Angle]:
    measure = exercise.primary.measure
    sides: tuple[Side | None, ...] = _working(result) if is_sided(measure) else (None,)
    drawn = {spec.key: spec for spec in charts(result, table, exercise, words)}
    for side in sides:
        spec = drawn.get(column_name(measure, side).replace("_", "-"))
        if spec is not None and spec.unit == "deg":
            band = spec.bands[0] if spec.bands else None
            limits = (band.low, band.high) if band else (None, None)
            sense = usual_sense(track, measure, side)
            yield _Angle(measure, side, spec.value, spec.sd, limits, sense)


def _shown(result: ClipResult, exercise: Exercise) -> Iterator[tuple[float, Joint, str]]:
    """Moments, joints and words of what is clearly outside; the most important check first."""
    order = {check.id: place for place, check in enumerate(exercise.checks)}
    found: list[tuple[JudgedRep, Finding]] = [
        (judged, finding)
        for judged in result.reps
        if not judged.rep.partial
        for finding in judged.findings
        if finding.verdict == "outside" and finding.at_s is not None
    ]
    for judged, finding in sorted(found, key=lambda pair: order.get(pair[1].id, 99)):
        side = judged.rep.side if judged.rep.side in SIDES else "right"
        joint = Joint[f"{side.upper()}_{_ABOUT.get(finding.measure, 'ELBOW')}"]
        yield float(finding.at_s or 0.0), joint, finding.cue
