"""A coach's demonstration: three raises of the arm to the side."""

from formcheck.measures.measure import measure_track
from tests.synthetic import Arm, constant, cycles, make_track

STARTS = [1.5, 6.5, 11.5]


def move(rest, top, top_s=0.5, up_s=1.5, starts=STARTS):
    return cycles(starts, rest, top, up_s=up_s, top_s=top_s, down_s=up_s)


def raised(top=110.0, **more):
    return Arm(elevation=move(8, top, **more), plane=constant(5.0))


def table(duration_s=17, **figure):
    return measure_track(make_track(duration_s=duration_s, **figure))
