"""What is told of a client's clip although which exercise it shows is not settled: the limits of safety."""

from collections.abc import Sequence
from dataclasses import replace

from formcheck.catalogue.codes import Params, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.limits import limits_of_clip
from formcheck.checks.result import ClipResult, LimitReport
from formcheck.errors import UnrecognisedError
from formcheck.exercises.schema import Check, Exercise
from formcheck.measures.table import SIDES, MeasureTable
from formcheck.pipeline.selection import Candidate


def with_exercise_unclear(
    unjudged: ClipResult,
    table: MeasureTable,
    candidates: Sequence[Candidate],
    refused: UnrecognisedError,
) -> ClipResult | None:
    """The result of a clip that cannot be judged as any candidate, with the limits that it passes or may
    pass; None where there is nothing to tell but that the exercise should be named.
    """
    alarms = _common_alarms(candidates, table)
    if not (alarms or refused.shows_none):
        return None
    listed = [one for one in candidates if one.prescription and one.prescription.listed]
    form = "none" if refused.shows_none else "several" if listed else "any"
    titles = tuple(dict.fromkeys(one.exercise.title for one in listed))
    params: Params = {"exercises": titles} if listed else {}
    why = RecordingProblem(ProblemCode.EXERCISE_UNCLEAR, fatal=True, params=params, form=form)
    return replace(unjudged, usable=False, problems=(*unjudged.problems, why), limits=alarms)


def _common_alarms(candidates: Sequence[Candidate], table: MeasureTable) -> tuple[LimitReport, ...]:
    """The limits of safety that all candidates share and that the clip passes, or may pass."""
    every = [_limits_of(one.exercise) for one in candidates]
    common = [check for check in every[0] if all(check in other for other in every)]
    exercise = candidates[0].exercise.model_copy(update={"checks": tuple(common)})
    sides = {one.side for one in candidates}
    working = tuple(side for side in SIDES if sides & {None, "both", side})
    return tuple(one for one in limits_of_clip(table, exercise, working) if one.state.alarming)


def _limits_of(exercise: Exercise) -> list[Check]:
    return [check for check in exercise.checks if check.safety_limit]
