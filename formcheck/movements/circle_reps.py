"""Circles as repetitions, and runs of them: what a compound set takes for one part."""

from collections.abc import Sequence

from formcheck.measures.table import ArmPath, MeasureTable, Side
from formcheck.movements.circles import Turn, find_circles
from formcheck.movements.signals import bridged, known_pieces, while_moving_about
from formcheck.movements.types import Rep

CIRCLE_DURATION_SD_S = 0.15
RADIUS_SHARE_SD = 0.3
"""Foreshortening changes the radius of a circle by up to about a third."""
ROUNDNESS_SD = 0.15
"""A true circle reads 0.65-0.85 on rendered people, from foreshortening."""
RUN_GAP_S = 2.5
"""Circles of one direction with no longer pause between them are one run (a proposal)."""


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
            _circle(turn, side)
            for turn in find_circles(times, whole)
            if not while_moving_about(table, turn.start_s, turn.end_s)
        ]
    return found


def _circle(turn: Turn, side: Side) -> Rep:
    middle_s = (turn.start_s + turn.end_s) / 2
    width_deg = 2 * turn.radius_deg
    return Rep(
        index=0,
        kind="circle",
        side=side,
        partial=not turn.complete,
        start_s=turn.start_s,
        top_start_s=middle_s,
        top_end_s=middle_s,
        end_s=turn.end_s,
        direction=turn.direction,
        own={
            "duration": (turn.end_s - turn.start_s, CIRCLE_DURATION_SD_S, "s"),
            "range": (width_deg, RADIUS_SHARE_SD * width_deg / 2, "deg"),
            "roundness": (turn.roundness, ROUNDNESS_SD, ""),
        },
    )


def runs_of(circles: Sequence[Rep]) -> list[tuple[Rep, ...]]:
    """Circles in order of time, parted where the direction or the part changes, or the arm rests."""
    runs: list[list[Rep]] = []
    for rep in circles:
        last = runs[-1][-1] if runs else None
        if (
            last is not None
            and (last.direction, last.part) == (rep.direction, rep.part)
            and rep.start_s - last.end_s <= RUN_GAP_S
        ):
            runs[-1].append(rep)
        else:
            runs.append([rep])
    return [tuple(run) for run in runs]
