"""Whether the body is upright, as the exercise has it or not: a clip that lies on its side looks like
somebody lying, and a push-up on the floor is none at the wall.
"""

import numpy as np

from formcheck.catalogue.problems import Problem
from formcheck.checks.result import ANOTHER_POSITION
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MeasureTable
from formcheck.recognise.traits import upright

MIN_SEEN_SHARE = 0.3
"""Less of the clip than this with the trunk in view tells nothing of the whole."""
MOSTLY = 0.8
"""Share of the clip from which the body counts as upright, or as not (a proposal)."""


def upright_share(table: MeasureTable) -> float | None:
    """Share of the time that the trunk is upright; None if the body is hardly seen."""
    body = np.isfinite(table.series("trunk_turn").value)
    if body.mean() < MIN_SEEN_SHARE:
        return None
    return float(np.isfinite(table.series("trunk_lean_forward").value)[body].mean())


def another_position(exercise: Exercise, table: MeasureTable) -> tuple[Problem, ...]:
    """A note if the trunk is upright most of the time in an exercise that has it otherwise, or not."""
    wanted, share = upright(exercise), upright_share(table)
    if wanted is None or share is None or 1 - MOSTLY < share < MOSTLY or wanted == (share > 0.5):
        return ()
    seen, done = ("level", "upright") if wanted else ("upright", "lying or on the hands")
    message = (
        f"The trunk seems to be {seen}, and this exercise is done {done}. If the picture lies on its "
        "side, turn the clip and check it again; if not, check that the right exercise was asked for."
    )
    return (Problem(ANOTHER_POSITION, message),)
