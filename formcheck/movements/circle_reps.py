"""Circles of one arm as repetitions."""

from formcheck.catalogue.quantity import Quantity
from formcheck.measures.table import ArmPath, MeasureTable, Side
from formcheck.movements.circles import Revolution, find_circles
from formcheck.movements.signals import bridged, known_pieces, while_moving_about
from formcheck.movements.types import Rep

CIRCLE_DURATION_SD_S = 0.15
"""A circle has no rest at its ends to time it by. A proposal."""
RADIUS_SHARE_SD = 0.3
"""Foreshortening changes the radius of a circle by up to about a third. A proposal."""
ROUNDNESS_SD = 0.15
"""A true circle reads 0.65-0.85, from foreshortening. Read on rendered people."""


def circle_reps(table: MeasureTable, side: Side) -> list[Rep]:
    """Every circle of one arm, in order of time."""
    path = table.arm_paths[side]
    everywhere = path.direction[:, 0] + path.image[:, 0] + path.toward_camera
    found = []
    for piece in known_pieces(table, everywhere):
        times = table.time_s[piece]
        whole = ArmPath(
            direction=bridged(times, path.direction[piece]),
            image=bridged(times, path.image[piece]),
            toward_camera=bridged(times, path.toward_camera[piece]),
        )
        found += [
            _circle(revolution, side)
            for revolution in find_circles(times, whole)
            if not while_moving_about(table, revolution.start_s, revolution.end_s)
        ]
    return found


def _circle(found: Revolution, side: Side) -> Rep:
    middle_s = (found.start_s + found.end_s) / 2
    width_deg = 2 * found.radius_deg
    return Rep(
        index=0,
        kind="circle",
        side=side,
        partial=not found.complete,
        start_s=found.start_s,
        top_start_s=middle_s,
        top_end_s=middle_s,
        end_s=found.end_s,
        direction=found.direction,
        measures={
            "duration": Quantity(found.end_s - found.start_s, CIRCLE_DURATION_SD_S, "s"),
            "range": Quantity(width_deg, RADIUS_SHARE_SD * width_deg / 2, "deg"),
            "roundness": Quantity(found.roundness, ROUNDNESS_SD, ""),
        },
    )
