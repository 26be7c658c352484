"""Two exercises in one clip: what the arms surely do where nothing is done as prescribed."""

from collections.abc import Iterator, Sequence

from formcheck.catalogue.codes import Params, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.result import JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MeasureTable
from formcheck.pipeline.selection import shows_another

LONG_S = 6.0
"""A stretch between repetitions that is shorter holds no set of anything else. A proposal."""


def another_exercise_problems(
    exercise: Exercise, table: MeasureTable, reps: Sequence[JudgedRep]
) -> tuple[RecordingProblem, ...]:
    """A note for each stretch that surely shows another exercise, of a clip that shows this one too."""
    found = []
    for start_s, end_s in _stretches(table, reps):
        other = shows_another(exercise, table.between(start_s, end_s))
        if other is not None:
            looks: Params = {
                "exercise": exercise.title,
                "shown": other.exercise.title,
                "probability": other.probability,
            }
            found.append(RecordingProblem(ProblemCode.TWO_EXERCISES, start_s, end_s, params=looks))
    return tuple(found)


def _stretches(table: MeasureTable, reps: Sequence[JudgedRep]) -> Iterator[tuple[float, float]]:
    """The long stretches before, between and after the repetitions in which nothing was outside."""
    good = [
        judged.rep
        for judged in reps
        if not judged.rep.partial and all(one.verdict != "outside" for one in judged.findings)
    ]
    if not good:
        return
    ends = [float(table.time_s[0]), *(rep.end_s for rep in good)]
    starts = [*(rep.start_s for rep in good), float(table.time_s[-1])]
    for start_s, end_s in zip(ends, starts, strict=True):
        if end_s - start_s >= LONG_S:
            yield start_s, end_s
