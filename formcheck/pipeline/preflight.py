"""A look at a clip before it is checked, by the same rules."""

from pathlib import Path

from formcheck.exercises.library import load_exercise
from formcheck.exercises.schema import Exercise
from formcheck.filming.preflight import Preflight, judge_filming
from formcheck.pipeline.check import check_clip
from formcheck.pipeline.settings import Progress, Settings


def preflight_clip(
    clip: str | Path,
    exercise: str | Path | Exercise,
    *,
    settings: Settings | None = None,
    on_progress: Progress | None = None,
) -> Preflight:
    """Whether a clip is filmed well enough for an exercise.

    It is looked at as by ``check_clip``, which finds its landmarks in the cache afterwards, so that the
    two cannot say different things. Raises as that does.
    """
    wanted = exercise if isinstance(exercise, Exercise) else load_exercise(exercise)
    result = check_clip(clip, wanted, settings=settings, on_progress=on_progress).result
    scored = result.summary.score is not None
    return judge_filming(result.problems, result.view, wanted, scored=scored)
