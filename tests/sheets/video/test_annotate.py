from dataclasses import replace

import av
import numpy as np
import pytest

from formcheck.clips.types import Frame
from formcheck.landmarks.track import Joint
from formcheck.sheets.pages.chart_spec import Band, SafetyLimit
from formcheck.sheets.video.annotate import annotate
from formcheck.sheets.video.anonymise import head_circles
from formcheck.sheets.video.joint_angle import angle_in_picture, opening_sense
from formcheck.sheets.video.overlay import draw, lettering_for
from formcheck.sheets.video.overlay_plan import AngleReading, plan_overlay

SCALE = 2
GREY = np.full((320 * SCALE, 180 * SCALE, 3), 128, np.uint8)


@pytest.fixture(scope="module")
def plan(result, table, exercise, track, words):
    return plan_overlay(result, table, exercise, track, words)


def picture_of(plan, *times_s):
    """A grey picture with what the plan shows at each of those times."""
    height, width = GREY.shape[:2]
    lettering = lettering_for(plan, width, height)
    for time_s in times_s:
        picture = GREY.copy()
        draw(plan, lettering, picture, time_s)
        yield picture


def drawn(plan, time_s):
    (picture,) = picture_of(plan, time_s)
    return np.abs(picture.astype(int) - 128).sum(axis=2) > 30


def test_the_working_arm_is_drawn_where_it_is_and_the_other_is_not(plan, track):
    touched = drawn(plan, 2.6)
    index = int(np.abs(track.time_s - 2.6).argmin())
    for joint, expected in ((Joint.RIGHT_ELBOW, True), (Joint.LEFT_ELBOW, False)):
        x, y = (track.image_px[index, joint, :2] * SCALE).astype(int)
        assert touched[y - 2 : y + 3, x - 2 : x + 3].any() == expected


def test_the_count_rises_with_whole_repetitions_only(plan):
    assert [plan.scene_at(t).count for t in (0.5, 4.5, 4.6, 19.6, 23.5)] == [0, 1, 1, 5, 5]
    before, one, again = (p[:60, :30] for p in picture_of(plan, 0.5, 4.5, 4.6))
    assert (before != one).any()
    assert (one == again).all()


def test_the_repetition_under_way_is_named_and_those_done_have_their_marks_and_words(plan, sheet):
    assert plan.scene_at(0.5).name is None
    assert plan.scene_at(2.6).name == "Repetition 1"
    assert plan.scene_at(4.6).name == f"Repetition 1: {sheet.client.reps[0].mark.word}"
    marks = [mark.name for mark in plan.scene_at(11.0).marks]
    assert marks == [card.mark.name for card in sheet.client.reps[:2]]
    assert plan.scene_at(23.9).marks[-1].name == "partial"


def test_a_finding_is_shown_around_its_moment_only(plan):
    assert plan.scene_at(10.1).note.finding.measure == "hike"
    assert plan.scene_at(2.5).note is None
    bottom = slice(-110, -85)
    assert drawn(plan, 10.1)[bottom].mean() > 0.5
    assert not drawn(plan, 2.5)[bottom].any()


def test_an_angle_is_drawn_only_where_the_picture_shows_it_as_measured(track):
    sense = opening_sense(track, "shoulder_elevation", "right")
    body = track.image_px[int(np.abs(track.time_s - 2.6).argmin()), :, :2]
    found = angle_in_picture(body, "shoulder_elevation", "right", 91.0, sense)
    np.testing.assert_allclose(found.fulcrum, body[Joint.RIGHT_SHOULDER])
    along = found.ray(91.0, found.arm_px) - body[Joint.RIGHT_ELBOW]
    assert np.linalg.norm(along) < 3
    assert angle_in_picture(body, "shoulder_elevation", "right", 60.0, sense) is None
    assert angle_in_picture(body, "shoulder_elevation", "right", float("nan"), sense) is None
    assert angle_in_picture(body, "plane_of_elevation", "right", 91.0, sense) is None


def test_nothing_is_drawn_on_a_body_that_was_not_found(result, table, exercise, track, words):
    image_px = track.image_px.copy()
    image_px[20:80] = np.nan
    lost = replace(track, image_px=image_px)
    touched = drawn(plan_overlay(result, table, exercise, lost, words), 2.6)
    x, y = (track.image_px[39, Joint.RIGHT_ELBOW, :2] * SCALE).astype(int)
    assert not touched[y - 20 : y + 20, x - 20 : x + 20].any()


def test_the_annotated_clip_keeps_frame_times_and_veils_every_frame(plan, track, tmp_path):
    noise = np.random.default_rng(3).integers(0, 255, (320, 180, 3), dtype=np.uint8)
    times = [0.0, 0.05, 0.2, 0.21, 0.5, 0.9]
    path = tmp_path / "annotated.mp4"
    width, height, poster = annotate((Frame(t, noise) for t in times), plan, path)
    assert (width, height) == (180, 320)
    assert poster[:2] == b"\xff\xd8"
    centre, radius = head_circles(track.image_px[0, :, :2])[0]
    x, y, r = int(centre[0]), int(centre[1]), int(radius / 2)
    with av.open(str(path)) as container:
        frames = list(container.decode(video=0))
    assert [frame.time for frame in frames] == pytest.approx(times, abs=1e-4)
    for frame in frames:
        head = frame.to_ndarray(format="rgb24")[y - r : y + r, x - r : x + r].astype(float)
        assert np.abs(np.diff(head, axis=1)).mean() < 8


def test_a_face_is_shown_only_when_asked_for(plan, track, tmp_path):
    stripes = np.zeros((320, 180, 3), np.uint8)
    stripes[:, ::4] = stripes[:, 1::4] = 255
    path = tmp_path / "annotated.mp4"
    annotate([Frame(0.0, stripes)], plan, path, show_face=True)
    with av.open(str(path)) as container:
        frame = next(container.decode(video=0)).to_ndarray(format="rgb24")
    assert frame[45:55, 85:95].std() > 60


def test_a_hold_shows_how_long_it_has_been_held(result, table, exercise, track, words):
    held = tuple(replace(j, rep=replace(j.rep, kind="hold", hold_s=0.4)) for j in result.reps)
    plan = plan_overlay(replace(result, reps=held), table, exercise, track, words)
    assert plan.scene_at(2.6).held == ("0", ".", "2", "s")
    timer = slice(80, 108), slice(0, 60)
    assert drawn(plan, 2.6)[timer].any()
    assert not drawn(plan, 1.2)[timer].any()


def test_captions_of_any_script_and_any_length_are_set(
    result, table, exercise, track, words, hostile
):
    findings = tuple(replace(f, cue=hostile) for f in result.reps[2].findings)
    changed = replace(result, reps=(replace(result.reps[2], findings=findings),))
    touched = drawn(plan_overlay(changed, table, exercise, track, words), 10.1)
    assert touched[-120:-84].any()
    assert touched[:, :].mean() < 0.6


def test_every_limit_is_drawn_and_one_of_safety_parts_what_lies_beyond():
    bands = (Band(70.0, 90.0, ((0.0, 9.0),)),)
    never = (SafetyLimit(90.0, True, "never above 90°"),)

    def reading(value):
        return AngleReading("shoulder_elevation", "right", value, bands, never, 1.0, "")

    assert reading(80.0).limits == (70.0,)
    assert [(reading(v).within, reading(v).passed) for v in (60.0, 80.0, 103.0)] == [
        (False, False),
        (True, False),
        (False, True),
    ]
