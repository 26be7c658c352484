"""Left and right exchanged in some pictures of exact synthetic motion: found, put back, or refused."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.catalogue.codes import ReasonCode
from formcheck.landmarks.sides import exchange_problems, find_exchange, put_back
from formcheck.landmarks.track import OTHER_SIDE, Joint
from formcheck.measures.measure import measure_track
from tests.synthetic import PX_PER_M, TRUNK_M, Arm, constant, cycles, make_track

RAISE = Arm(
    elevation=cycles([1.0, 5.0], 8, 110, up_s=1.5, top_s=0.5, down_s=1.5), plane=constant(20.0)
)


def exchanged_in(track, at):
    """The track as a model gives it that takes left for right, and front for back, at some times."""
    image, world, seen = (np.array(v) for v in (track.image_px, track.world_m, track.visibility))
    for values in (image, world, seen):
        values[at] = values[at][:, OTHER_SIDE]
    world[at, :, 2] *= -1
    image[at, :, 2] *= -1
    return replace(track, image_px=image, world_m=world, visibility=seen)


def found_in(track, piece=None, **options):
    piece = np.zeros(len(track.time_s), int) if piece is None else piece
    return find_exchange(
        track.time_s, piece, track.image_px[:, :, :2], track.world_m, track.visibility, **options
    )


def with_feet(track, toes_lower):
    """The track with toes lower in the picture than heels by this share of the trunk's length."""
    image = track.image_px.copy()
    for ankle, heel, toes in (
        (Joint.LEFT_ANKLE, Joint.LEFT_HEEL, Joint.LEFT_TOES),
        (Joint.RIGHT_ANKLE, Joint.RIGHT_HEEL, Joint.RIGHT_TOES),
    ):
        image[:, [heel, toes]] = image[:, [ankle]]
        image[:, toes, 1] += toes_lower * TRUNK_M * PX_PER_M
    return replace(track, image_px=image)


def flags(track, *spans):
    at = np.zeros(len(track.time_s), dtype=bool)
    for start, stop in spans:
        at[start:stop] = True
    return at


@pytest.mark.parametrize("yaw", [0, 45, 180])
@pytest.mark.parametrize(
    "spans",
    [[(50, 80)], [(0, 20)], [(270, 300)], [(40, 41), (90, 130), (200, 203)]],
    ids=["middle", "beginning", "end", "several"],
)
def test_exactly_the_exchanged_pictures_are_found_and_put_back(yaw, spans):
    true = make_track(right=RAISE, yaw_deg=yaw)
    at = flags(true, *spans)
    track = exchanged_in(true, at)
    found = found_in(track)
    assert not found.unclear
    np.testing.assert_array_equal(found.exchanged, at)
    put_back(found.exchanged, track.image_px, track.world_m, track.visibility)
    np.testing.assert_allclose(track.image_px, true.image_px)
    np.testing.assert_allclose(track.world_m, true.world_m)


def turning(track):
    """The same body, turning right round within four seconds."""
    yaw = np.radians(np.clip(track.time_s - 3, 0, 4) * 45)[:, None]
    world, image = track.world_m.copy(), track.image_px.copy()
    x, z = world[..., 0], world[..., 2]
    world[..., 0], world[..., 2] = (
        np.cos(yaw) * x + np.sin(yaw) * z,
        np.cos(yaw) * z - np.sin(yaw) * x,
    )
    image[..., 0] = 360 + 400 * world[..., 0]
    return replace(track, world_m=world, image_px=image)


def crossing(track):
    """Seen from the side, both hands pass each other again and again, noise included."""
    rng = np.random.default_rng(0)
    noise = rng.normal(scale=3.0, size=track.image_px.shape)
    return replace(track, image_px=track.image_px + noise)


@pytest.mark.parametrize(
    "track",
    [
        make_track(right=RAISE),
        turning(make_track(right=RAISE)),
        crossing(
            make_track(
                yaw_deg=90,
                right=Arm(elevation=lambda t: 20 + 20 * np.sin(6 * t), plane=constant(90.0)),
                left=Arm(elevation=lambda t: 20 - 20 * np.sin(6 * t), plane=constant(90.0)),
            )
        ),
    ],
    ids=["still", "turning round", "arms that cross, from the side"],
)
def test_nothing_is_exchanged_that_was_not(track):
    found = found_in(track)
    assert not found.exchanged.any()
    assert not found.unclear


def test_sides_that_change_all_the_time_cannot_be_told_apart():
    true = make_track(right=RAISE)
    at = flags(true, *((start, start + 7) for start in range(5, 290, 20)))
    found = found_in(exchanged_in(true, at))
    assert found.unclear
    (problem,) = exchange_problems(true.time_s, found.exchanged, found.unclear)
    assert problem.code == "left-right-unknown"
    assert problem.fatal


@pytest.mark.parametrize(
    ("yaw", "toes_lower", "told"),
    [(0, 0.18, True), (180, -0.12, True), (0, -0.12, False), (0, 0.02, False), (180, 0.18, False)],
)
def test_feet_that_point_as_the_usual_sides_say_tell_which_are_right(yaw, toes_lower, told):
    true = with_feet(make_track(right=RAISE, yaw_deg=yaw), toes_lower)
    at = flags(true, *((start, start + 7) for start in range(5, 290, 20)))
    found = found_in(exchanged_in(true, at))
    assert found.unclear is not told
    np.testing.assert_array_equal(found.exchanged, at)


def test_feet_do_not_tell_where_the_track_is_in_pieces():
    true = with_feet(make_track(right=RAISE), 0.18)
    at = flags(true, *((start, start + 7) for start in range(5, 290, 20)))
    assert found_in(exchanged_in(true, at), np.arange(300) // 150).unclear


@pytest.mark.parametrize(
    ("yaw", "toes_lower", "unclear"),
    [(180, -0.12, False), (180, 0.0, True), (180, 0.18, True), (0, 0.0, False), (90, 0.0, False)],
)
def test_who_seems_to_stand_backward_with_a_hidden_face_is_believed_by_the_feet_only(
    yaw, toes_lower, unclear
):
    track = with_feet(make_track(right=RAISE, yaw_deg=yaw), toes_lower)
    assert found_in(track, face_hidden=True).unclear is unclear
    assert not found_in(track).unclear


def test_one_change_in_the_middle_leaves_open_which_half_is_right():
    true = make_track(right=RAISE)
    assert found_in(exchanged_in(true, flags(true, (150, 300)))).unclear


def test_who_comes_back_facing_the_other_way_has_turned_round_meanwhile():
    front, back = make_track(right=RAISE), make_track(right=RAISE, yaw_deg=180)
    later = np.arange(300) >= 150
    track = replace(
        front,
        image_px=np.where(later[:, None, None], back.image_px, front.image_px),
        world_m=np.where(later[:, None, None], back.world_m, front.world_m),
        time_s=front.time_s + later * 3.0,
    )
    assert not found_in(track, later.astype(int)).exchanged.any()


def test_where_sides_were_put_back_the_plane_is_withheld_and_says_why():
    track = replace(make_track(right=RAISE), exchanged=np.arange(60, 90))
    table = measure_track(track)
    plane, elevation = (
        table.series(m, "right").value for m in ("plane_of_elevation", "shoulder_elevation")
    )
    assert not np.isfinite(plane[60:90]).any()
    assert np.isfinite(elevation[60:90]).all()
    gaps = table.gaps["plane_of_elevation_right_deg"]
    assert ReasonCode.SIDES_EXCHANGED in [gap.reason for gap in gaps]


def test_every_landmark_has_its_own_other_side():
    assert [OTHER_SIDE[OTHER_SIDE[joint]] for joint in range(33)] == list(range(33))
    for joint in Joint:
        if joint.name.startswith("LEFT_"):
            assert OTHER_SIDE[joint] == Joint[joint.name.replace("LEFT", "RIGHT")]
