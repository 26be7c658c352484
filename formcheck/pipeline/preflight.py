"""A quick look at a clip before it is checked."""

from pathlib import Path

from formcheck.exercises.library import load_exercise
from formcheck.exercises.schema import Exercise
from formcheck.filming.preflight import SAMPLES_HZ, Preflight, judge_sample
from formcheck.pipeline.landmarks import measure_clip
from formcheck.pipeline.settings import Settings
from formcheck.recognise.position import another_position


def preflight_clip(
    clip: str | Path, exercise: str | Path | Exercise, *, mirrored: bool = False, speed: float = 1.0
) -> Preflight:
    """Whether a clip is filmed well enough for an exercise, from two pictures a second.

    Raises as ``measure_clip``, and ExerciseError if there is no such exercise.
    """
    wanted = exercise if isinstance(exercise, Exercise) else load_exercise(exercise)
    settings = Settings(
        model="lite", rate_hz=SAMPLES_HZ, mirrored=mirrored, speed=speed, use_cache=False
    )
    measured = measure_clip(clip, settings)
    problems = measured.tracked.problems + another_position(wanted, measured.table)
    return judge_sample(problems, measured.table.view, wanted)
