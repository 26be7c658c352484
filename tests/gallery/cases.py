"""The cases: an invented person's clips, each with what it shows and how it was asked for."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from formcheck.landmarks.track import LandmarkTrack
from tests.gallery.figure import in_picture, push_up_track
from tests.synthetic import Arm, constant, cycles, make_track, through
from tests.synthetic_sets import circling, pose, press_cycle

RATE_HZ = 20.0
PROGRAMME = """
client = "Heron"
phase = "weeks 3 to 5"
[[items]]
exercise = "front-raise"
side = "right"
note = "Only as high as the shelf in your hall."
[items.dose]
count = 5
sets = 2
[[items.checks]]
id = "height"
low = 80
tolerance = 10
[[items.limits]]
measure = "shoulder_elevation"
never_above = 90
cue = "Only as high as the shelf in your hall."
[[items]]
exercise = "belly-press"
side = "right"
[items.dose]
count = 3
hold_s = 8
sets = 2
[[items.checks]]
id = "hold"
low = 8
"""


@dataclass(frozen=True)
class Case:
    """A made clip: ``exercise`` or, with ``programme``, one of its items; ``name`` is the file's."""

    name: str
    track: Callable[[], LandmarkTrack]
    exercise: str
    programme: bool = False


def standing(track: LandmarkTrack) -> LandmarkTrack:
    return in_picture(track, 360, 640, 0.58)


def raises(count, top, *, plane=35.0, yaw_deg=0.0, up_s=1.7, **more) -> LandmarkTrack:
    starts = [1.5 + k * (2 * up_s + 1.1) for k in range(count)]
    curve = cycles(starts, 8.0, top, up_s=up_s, top_s=0.5, down_s=up_s)
    lean = more.pop("lean_deg", 0.0)
    hike = more.pop("hike_m", 0.0)
    share = cycles(starts, 0.0, 1.0, up_s=up_s, top_s=0.5, down_s=up_s)
    arm = Arm(elevation=curve, plane=constant(plane), elbow=constant(more.pop("elbow", 8.0)))
    made = make_track(
        duration_s=starts[-1] + 2 * up_s + 2.0,
        rate_hz=RATE_HZ,
        right=arm,
        left=arm if more.pop("both", False) else None,
        yaw_deg=yaw_deg,
        lean_left_deg=lambda t: lean * share(t),
        hike_right_m=lambda t: hike * share(t),
    )
    return standing(made)


def clean() -> LandmarkTrack:
    return raises(10, 100.0)


def push_ups(*, sag_m=0.0, push_m=0.05) -> LandmarkTrack:
    starts = [2.0, 7.2, 12.4]
    bend = cycles(starts, 6.0, 100.0, up_s=1.5, top_s=0.3, down_s=1.5)
    sag = cycles(starts, 0.01, sag_m, up_s=1.5, top_s=0.3, down_s=1.5)
    push = cycles([start + 3.4 for start in starts], 0.0, push_m, up_s=0.5, top_s=0.3, down_s=0.5)
    made = push_up_track(duration_s=18.5, elbow=bend, sag_m=sag, push_m=push, rate_hz=RATE_HZ)
    return in_picture(made, 640, 360, 0.86)


def presses(parts, hold_s, yaw_deg=0.0) -> LandmarkTrack:
    arm, duration_s, _ = press_cycle(parts, hold_s=hold_s)
    return standing(make_track(duration_s=duration_s, rate_hz=RATE_HZ, right=arm, yaw_deg=yaw_deg))


def circles() -> LandmarkTrack:
    arm, duration_s, _ = circling([4, -4])
    return standing(make_track(duration_s=duration_s, rate_hz=RATE_HZ, right=arm, yaw_deg=45))


def lying() -> LandmarkTrack:
    """The same circles on the back, from the side: upright rotated by a quarter turn."""
    arm, duration_s, _ = circling([4, -4])
    made = standing(make_track(duration_s=duration_s, rate_hz=RATE_HZ, right=arm, yaw_deg=90))
    image, world = made.image_px.copy(), made.world_m.copy()
    image[..., 0], image[..., 1] = made.image_px[..., 1], made.width - made.image_px[..., 0]
    world[..., 0], world[..., 1] = made.world_m[..., 1], -made.world_m[..., 0]
    return replace(made, image_px=image, world_m=world, width=made.height, height=made.width)


def overhead() -> LandmarkTrack:
    starts = [1.5 + k * 4.6 for k in range(6)]
    how = {"up_s": 1.7, "top_s": 0.4, "down_s": 1.7}

    def arm(top: float) -> Arm:
        return Arm(
            elevation=cycles(starts, 45.0, top, **how),
            elbow=cycles(starts, 130.0, 12.0, **how),
            plane=constant(40.0),
            rotation=constant(-60.0),
        )

    made = make_track(
        duration_s=starts[-1] + 5.5, rate_hz=RATE_HZ, right=arm(158.0), left=arm(128.0)
    )
    return standing(made)


def curls() -> LandmarkTrack:
    starts = [1.5 + k * 4.2 for k in range(5)]
    bend = cycles(starts, 8.0, 138.0, up_s=1.6, top_s=0.3, down_s=1.6)
    arm = Arm(elevation=constant(6.0), elbow=bend)
    return standing(make_track(duration_s=23.0, rate_hz=RATE_HZ, right=arm, yaw_deg=90))


def lift_offs() -> LandmarkTrack:
    back, off = pose(34, -48, 120, 94), pose(34, -48, 165, 94)
    stops = [(0.0, None), (2.0, None), (3.5, back), (5.0, back)]
    at = 5.0
    for _ in range(3):
        stops += [(at + 1.0, off), (at + 4.0, off), (at + 5.0, back), (at + 6.5, back)]
        at += 6.5
    arm = through([*stops, (at + 1.5, None), (at + 2.5, None)])
    return standing(make_track(duration_s=at + 2.5, rate_hz=RATE_HZ, right=arm, yaw_deg=180))


def nobody() -> LandmarkTrack:
    made = raises(2, 95.0)
    gone = made.image_px.copy()
    gone[:] = np.nan
    return replace(
        made,
        image_px=gone,
        world_m=np.full_like(made.world_m, np.nan),
        visibility=np.zeros_like(made.visibility),
    )


CASES = (
    Case("clean", clean, "scaption-raise"),
    Case("work-on_sag", lambda: push_ups(sag_m=0.14), "push-up-plus"),
    Case("work-on_lean", lambda: raises(6, 98.0, lean_deg=13.0), "scaption-raise"),
    Case("work-on_hike", lambda: raises(5, 98.0, hike_m=0.075), "scaption-raise"),
    Case("work-on_height", lambda: raises(6, 62.0), "scaption-raise"),
    Case("work-on_plus", lambda: push_ups(push_m=0.0), "push-up-plus"),
    Case("unsure", lambda: raises(10, 100.0, elbow=19.0), "scaption-raise"),
    Case("check-yourself", lambda: raises(6, 82.0), "scaption-raise"),
    Case("limit_passed", lambda: raises(5, 126.0, plane=88.0), "front-raise", programme=True),
    Case("limit_perhaps", lambda: raises(5, 86.0, plane=88.0), "front-raise", programme=True),
    Case("not-usable", nobody, "scaption-raise"),
    Case("another-exercise", curls, "push-up-plus"),
    Case("hold_short", lambda: presses(["belly"] * 3, 3.1), "belly-press"),
    Case("hold_lift-off", lift_offs, "lift-off"),
    Case("circles", circles, "bent-elbow-circle"),
    Case("circles_lying", lying, "bent-elbow-circle"),
    Case("compound", lambda: presses(["belly", "bear-hug", "low-back"], 5.4, 45), "press-and-hold-cycle"),
    Case("both-arms", overhead, "overhead-press"),
    Case("programme", lambda: presses(["belly"] * 3, 6.4), "belly-press", programme=True),
    Case("long-set", lambda: raises(44, 96.0, up_s=1.55), "scaption-raise"),
)  # fmt: skip
