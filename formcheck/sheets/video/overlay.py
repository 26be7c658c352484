"""Drawing a plan onto pictures: the working parts, the angle, the count and the findings."""

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.sheets.video.anonymise import Picture, bodies_at
from formcheck.sheets.video.drawing import (
    IRIS,
    PAPER,
    RUST,
    arc,
    dot,
    draw_mark,
    panel,
    stroke,
    write,
)
from formcheck.sheets.video.guide import draw_guide, guide_for
from formcheck.sheets.video.joint_angle import JointAngle, angle_in_picture
from formcheck.sheets.video.lettering import Lettering, Style, set_lettering
from formcheck.sheets.video.overlay_plan import AngleReading, Note, OverlayPlan, Scene

_TIMER_SIGNS = "0123456789.,"
_VALUE_SIGNS = "0123456789±°\N{MINUS SIGN}"
_NOTE_BOTTOM = 0.87
"""Where a note ends, as a share of the height: a browser's own controls lie below. Mechanical."""


def lettering_for(plan: OverlayPlan, width: int, height: int) -> Lettering:
    """All text that a plan can show, set for pictures of that size."""
    texts = [(Style.NOTE, note.text) for note in plan.notes]
    texts += [(Style.NAME, text) for one in plan.reps for text in (one.name, one.told)]
    texts += [(Style.COUNT, str(count)) for count in range(len(plan.reps) + 1)]
    texts += [(Style.TIMER, sign) for sign in (*_TIMER_SIGNS, plan.seconds_sign)]
    texts += [(Style.VALUE, sign) for sign in _VALUE_SIGNS]
    return set_lettering(texts, width, height)


def draw(plan: OverlayPlan, lettering: Lettering, picture: Picture, time_s: float) -> None:
    """Draw all that the plan shows at a time onto a picture, in place.

    ``lettering`` is that of the plan for pictures of this size. Nothing is drawn onto a body that
    was not found about that time.
    """
    scene = plan.scene_at(time_s)
    bodies, widening = bodies_at(plan.track, time_s, picture.shape[1] / plan.track.width)
    body = bodies[0] if len(bodies) == 1 and widening == 1.0 else None
    if body is not None:
        _draw_chains(plan, lettering.unit_px, picture, body)
        for reading in scene.angles:
            seen = angle_in_picture(
                body, reading.measure, reading.side, reading.value_deg, reading.sense
            )
            if seen is not None:
                _draw_angle(reading, seen, lettering, picture)
    if scene.note is not None:
        _draw_note(scene.note, lettering, picture, body)
    _draw_count(scene, lettering, picture)
    if scene.held:
        unit = lettering.unit_px
        covers = [lettering.cover(Style.TIMER, sign) for sign in scene.held]
        _write_on_panel(picture, covers, round(4 * unit), round(25 * unit), unit)


def _draw_chains(plan: OverlayPlan, unit: float, picture: Picture, body: FloatArray) -> None:
    for chain in plan.chains:
        points = body[list(chain)]
        stroke(picture, points, PAPER, 0.9 * unit)
        for point in points:
            dot(picture, point, 0.9 * unit, PAPER)


def _draw_angle(
    reading: AngleReading, seen: JointAngle, lettering: Lettering, picture: Picture
) -> None:
    """The arc up to the value, a rail at each limit, and the value beside the arc.

    A limit of safety has a rail of its own colour, in which the dot is too once it is passed.
    """
    unit, value = lettering.unit_px, reading.value_deg
    radius = min(max(0.62 * seen.arm_px, 9 * unit), 24 * unit)
    swept = seen.zero_rad + seen.sense * np.radians(value)
    stroke(picture, arc(seen.fulcrum, radius, seen.zero_rad, swept), PAPER, 0.5 * unit)
    rails = [(limit, PAPER, 0.8, 1.16) for limit in reading.limits]
    rails += [(limit.value, RUST, 1.2, 1.3) for limit in reading.safety]
    for limit, colour, width, far in rails:
        rail = np.array([seen.ray(limit, 0.84 * radius), seen.ray(limit, far * radius)])
        stroke(picture, rail, colour, width * unit)
    inside = RUST if reading.passed else IRIS if reading.within else PAPER
    dot(picture, seen.ray(value, radius), 1.5 * unit, inside)
    covers = [lettering.cover(Style.VALUE, sign) for sign in reading.text]
    width = sum(cover.shape[1] for cover in covers)
    x, y = seen.ray(value / 2, 1.55 * radius)
    left = round(float(np.clip(x - width / 2, 0, max(picture.shape[1] - width, 0))))
    _write_on_panel(picture, covers, left, round(y), unit)


def _write_on_panel(
    picture: Picture, covers: list[Picture], left: int, middle: int, unit: float
) -> None:
    """Characters side by side on a dark ground, kept inside the picture from top to bottom."""
    height, pad = covers[0].shape[0], round(unit)
    top = min(max(middle - height // 2, pad), picture.shape[0] - height - pad)
    width = sum(cover.shape[1] for cover in covers)
    panel(picture, left - pad, top, width + 2 * pad, height)
    for cover in covers:
        write(picture, cover, left, top)
        left += cover.shape[1]


def _draw_count(scene: Scene, lettering: Lettering, picture: Picture) -> None:
    """Top left: how many are done, the marks of the last ones, and which one is under way."""
    unit = lettering.unit_px
    number = lettering.cover(Style.COUNT, str(scene.count))
    name = lettering.cover(Style.NAME, scene.name) if scene.name is not None else None
    beside = max(name.shape[1] if name is not None else 0, len(scene.marks) * 5 * unit)
    width = round(number.shape[1] + beside + 7 * unit)
    panel(picture, round(2 * unit), round(2 * unit), width, round(17 * unit))
    write(picture, number, round(4 * unit), round(2.5 * unit))
    left = round(4 * unit + number.shape[1] + 2 * unit)
    for place, mark in enumerate(scene.marks):
        draw_mark(picture, mark, left + place * 5 * unit, 3.2 * unit, 4.4 * unit)
    if name is not None:
        write(picture, name, left, round(12.2 * unit))


def _draw_note(note: Note, lettering: Lettering, picture: Picture, body: FloatArray | None) -> None:
    """Low in the picture what to do better, and drawn on the body what was off."""
    unit = lettering.unit_px
    if body is not None:
        draw_guide(picture, guide_for(note.finding, body))
    cover = lettering.cover(Style.NOTE, note.text)
    height, width = picture.shape[:2]
    tall = round(cover.shape[0] + 3 * unit)
    top = round(_NOTE_BOTTOM * height) - tall
    panel(picture, 0, top, width, tall)
    picture[top : top + max(round(0.5 * unit), 1)] = RUST
    write(picture, cover, round((width - cover.shape[1]) / 2), top + round(1.5 * unit))
