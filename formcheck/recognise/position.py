"""Whether the body is upright, and whether it should be: a clip that lies on its side shows somebody
lying, and a push-up on the floor is another exercise than one at the wall.
"""

import numpy as np

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MeasureTable
from formcheck.recognise.traits import upright

MIN_SEEN_SHARE = 0.3
"""Less of the clip than this with the trunk in view tells nothing of the whole. A proposal."""
MOSTLY = 0.8
"""Share of the clip from which the body counts as upright, or as not. A proposal."""


def upright_share(table: MeasureTable) -> float | None:
    """Share of the time that the trunk is upright; None if the body is hardly seen."""
    body = np.isfinite(table.series("trunk_turn").value)
    if body.mean() < MIN_SEEN_SHARE:
        return None
    return float(np.isfinite(table.series("trunk_lean_forward").value)[body].mean())


def surely_upright(table: MeasureTable) -> bool:
    """Whether the trunk is upright nearly all the time, and the feet are seen below it."""
    share, feet = upright_share(table), np.isfinite(table.series("body_line").value).mean()
    return share is not None and share >= MOSTLY and float(feet) >= MIN_SEEN_SHARE


def another_position(exercise: Exercise, table: MeasureTable) -> tuple[RecordingProblem, ...]:
    """A problem if the trunk is upright most of the time in an exercise done lying, or the reverse."""
    wanted, share = upright(exercise), upright_share(table)
    if wanted is None or share is None or 1 - MOSTLY < share < MOSTLY or wanted == (share > 0.5):
        return ()
    seen = "level" if wanted else "upright"
    return (RecordingProblem(ProblemCode.ANOTHER_POSITION, form=seen),)
