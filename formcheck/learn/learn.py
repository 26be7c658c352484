"""The package's entry point: the measures of a demonstration in, a complete exercise and its file out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formcheck.checks.judge import judge_reps
from formcheck.errors import ExerciseError, UnusableClipError
from formcheck.exercises.schema import Check, Dose, Exercise
from formcheck.learn.candidates import candidates
from formcheck.learn.limits import Learned, contrasted, learned, read
from formcheck.learn.movement import Movement, film_view, find_movement
from formcheck.measures.table import SIDES, MeasureTable
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.types import Rep

SOURCE = "learned from a demonstration"


@dataclass(frozen=True, slots=True)
class Lesson:
    """What was learned: the exercise, each check tried, and how both clips fare by it.

    ``like`` is the exercise that it only differs from, or None. ``right`` and ``wrong`` count
    (repetitions with a finding outside, repetitions).
    """

    exercise: Exercise
    like: Exercise | None
    tried: tuple[Learned, ...]
    view: str
    right: tuple[int, int]
    wrong: tuple[int, int] | None

    @property
    def kept(self) -> tuple[Learned, ...]:
        """The checks that this view supports."""
        return tuple(one for one in self.tried if one.unsupported is None)


def learn(
    table: MeasureTable,
    name: str,
    *,
    like: Exercise | None = None,
    wrong: MeasureTable | None = None,
    like_name: str | None = None,
) -> Lesson:
    """The exercise that a demonstration shows.

    ``like`` gives movement, checks and words; without it they are found from the clip;
    ``like_name`` is how the new file names it, where that is a path. ``wrong`` is
    a clip of the mistake: checks that tell it from the right one get limits between the two.

    Raises
    ------
    UnusableClipError
        No repetition can be made out in one of the clips, or no check can be learned.
    ExerciseError
        ``like`` has parts, which are to be learned one by one.
    """
    shown = _as_shown(table, like) if like else find_movement(table, name)
    tried = [learned(check, read(table, shown.reps, check)) for check in _to_try(shown, like)]
    if wrong is not None:
        mistakes = _reps_of(wrong, shown.draft, "the clip of the mistake")
        tried = [contrasted(one, read(wrong, mistakes, one.check)) for one in tried]
    tried = [one for one in tried if _belongs(one, like)]
    exercise = _exercise(
        table, name, shown, like, [o.check for o in tried if o.unsupported is None]
    )
    if like is not None:
        exercise = exercise.model_copy(update={"like": like_name or like.name})
    if not exercise.checks:
        raise UnusableClipError(
            "Nothing of this movement can be judged from this view. Film it from another side."
        )
    return Lesson(
        exercise=exercise,
        like=like,
        tried=tuple(tried),
        view=table.view.name,
        right=_outside(table, exercise, shown.reps),
        wrong=None if wrong is None else _outside(wrong, exercise, mistakes),
    )


def _as_shown(table: MeasureTable, like: Exercise) -> Movement:
    if like.parts:
        raise ExerciseError(
            f"{like.name} has parts; learn each of them by itself and put them together in a file"
        )
    sides = SIDES if like.arms == "both" else working_sides(table, like)
    return Movement(like, sides, tuple(_reps_of(table, like, "the demonstration")))


def _reps_of(table: MeasureTable, exercise: Exercise, what: str) -> list[Rep]:
    sides = SIDES if exercise.arms == "both" else working_sides(table, exercise)
    reps = [rep for rep in find_reps(table, exercise, sides) if not rep.partial]
    if not reps:
        raise UnusableClipError(
            f"No whole repetition was found in {what}. Film it again with the arm in full view and "
            "two quiet seconds at the start."
        )
    return reps


def _to_try(shown: Movement, like: Exercise | None) -> list[Check]:
    """The checks of ``like`` with their words, then the general ones of other ids."""
    own = list(like.checks) if like else []
    ids = {check.id for check in own}
    seen = {(check.measure, check.statistic, check.phase) for check in own}
    return own + [
        check
        for check in candidates(shown.draft)
        if check.id not in ids and (check.measure, check.statistic, check.phase) not in seen
    ]


def _belongs(one: Learned, like: Exercise | None) -> bool:
    """Beyond the checks of ``like``, only those that tell right from wrong are added."""
    return like is None or one.check.id in {c.id for c in like.checks} or one.separates is True


def _exercise(
    table: MeasureTable,
    name: str,
    shown: Movement,
    like: Exercise | None,
    checks: Sequence[Check],
) -> Exercise:
    dose = _dose(shown)
    filming = shown.draft.filming.model_copy(
        update={
            "best": (film_view(table),),
            "usable": (),
            "advice": "Film from where the demonstration was filmed: "
            f"{film_view(table).replace('-', ' ')}, 3 m away, at chest height. Keep your hips and "
            "the working arm in the picture. Stay still for two seconds before you start.",
        }
    )
    texts = {
        "title": name.replace("-", " ").capitalize(),
        "summary": "Do the movement as your coach showed you.",
        "start_position": "Start as your coach showed you.",
        "cautions": ("Stop on sharp or rising pain, numbness or giddiness.",),
        "look_yourself": ("Is the breathing calm?", "Is the movement smooth and free of pain?"),
        "can_judge": (),
        "cannot_judge": ("How hard it is, and whether it hurts.",),
        "source": SOURCE,
    }
    base = like or Exercise.model_construct(**{**shown.draft.__dict__, **texts})
    changes = {"name": name, "dose": dose, "checks": tuple(checks), "without": ()}
    if like is None:
        changes |= {"filming": filming, "like": None}
    else:
        changes["title"] = texts["title"]
    return base.model_copy(update=changes)


def _dose(shown: Movement) -> Dose:
    """As much as was shown: in circles each way, if both ways were."""
    reps, movement = shown.reps, shown.draft.movement
    groups = {rep.side: [r for r in reps if r.side == rep.side] for rep in reps}
    count = min(len(group) for group in groups.values())
    ways = {rep.direction for rep in reps}
    per_direction = movement == "circle" and len(ways) == 2
    if per_direction:
        count = min(sum(rep.direction == way for rep in reps) for way in ways) // len(groups) or 1
    spans = [
        (r.top_start_s - r.start_s, r.top_end_s - r.top_start_s, r.end_s - r.top_end_s)
        for r in reps
    ]
    effort, pause, back = (round(float(value), 1) for value in np.median(spans, axis=0))
    hold_s = float(round(pause)) if movement == "hold" else None
    return Dose(
        count=count,
        per_direction=per_direction,
        hold_s=hold_s,
        tempo_s=(effort, pause, back) if movement == "rep" else None,
        source=SOURCE,
    )


def _outside(table: MeasureTable, exercise: Exercise, reps: Sequence[Rep]) -> tuple[int, int]:
    judged = judge_reps(table, exercise, reps)
    wrong = sum(any(f.verdict == "outside" for f in one.findings) for one in judged)
    return wrong, len(judged)
