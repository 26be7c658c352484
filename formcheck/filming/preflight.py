"""Whether a clip is filmed well enough, and else the one thing to change."""

from collections.abc import Sequence
from dataclasses import dataclass

from formcheck.catalogue.codes import Message, PreflightCode, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.exercises.schema import Exercise
from formcheck.filming.advice import view_advice
from formcheck.measures.table import View

ENOUGH = 0.6
"""A view is good enough if it decides this share of what the best one decides. A proposal."""
_REFUSING = (
    ProblemCode.ANOTHER_POSITION,
    ProblemCode.ANOTHER_EXERCISE,
    ProblemCode.NO_REPETITION,
)
"""With these a check gives no verdict on anything, and the clip is worth filming again; worst first."""
_FRAMING = (
    ProblemCode.ONLY_LEGS,
    ProblemCode.SHOULDERS_OUT_OF_VIEW,
    ProblemCode.HIPS_OUT_OF_VIEW,
    ProblemCode.ARMS_OUT_OF_VIEW,
    ProblemCode.TOO_SMALL,
    ProblemCode.TOO_DARK,
    ProblemCode.TOO_BLURRY,
    ProblemCode.NOBODY_IN_VIEW,
)
"""What is worth a word, worst first; where a check finds nothing to judge, the likeliest reason."""
_WORD = (
    ProblemCode.SOMEBODY_ELSE_IN_VIEW,
    ProblemCode.FACE_HIDDEN,
    ProblemCode.CAMERA_TILTED,
    ProblemCode.CAMERA_PITCHED,
)
"""What is worth a word, but never a reason: it can be told who is meant and what is unsure."""
_SHORTEST_S = 1.0
"""Losses shorter than this do not matter. A proposal."""


@dataclass(frozen=True, slots=True)
class Preflight:
    """Usable or not, and the one thing to tell the client."""

    usable: bool
    message: Message

    @property
    def messages(self) -> tuple[Message, ...]:
        """The same, with a word before it that the clip is usable, where it does not say so itself."""
        if not self.usable or self.message.code in set(PreflightCode):
            return (self.message,)
        return Message(PreflightCode.WITH_A_NOTE), self.message


def judge_filming(
    problems: Sequence[RecordingProblem], view: View, exercise: Exercise, *, scored: bool = False
) -> Preflight:
    """Whether a clip will do for ``exercise``, by what a check found out about its recording.

    ``scored`` is whether that check gave a score: then enough is seen, from wherever it was filmed.
    """
    grave = [problem for problem in problems if problem.fatal]
    if grave:
        return Preflight(False, grave[0].message)
    reason, refusing = _first(problems, _FRAMING), _first(problems, _REFUSING)
    if refusing:
        return Preflight(False, (reason or refusing).message)
    by_view, word = _by_view(view, exercise, scored), reason or _first(problems, _WORD)
    return Preflight(True, word.message) if word and by_view.usable else by_view


def _first(
    problems: Sequence[RecordingProblem], codes: Sequence[ProblemCode]
) -> RecordingProblem | None:
    """The first of the problems with one of these codes, in the order of the codes."""
    found = (p for code in codes for p in problems if p.code == code and _lasts(p))
    return next(found, None)


def _lasts(problem: RecordingProblem) -> bool:
    if problem.start_s is None or problem.end_s is None:
        return True
    return problem.end_s - problem.start_s >= _SHORTEST_S


def _by_view(view: View, exercise: Exercise, scored: bool) -> Preflight:
    name = view.name.general
    known = {*exercise.filming.best, *exercise.filming.usable}
    if name is None:
        return Preflight(True, Message(PreflightCode.VIEW_UNKNOWN))
    if name in known or view.name.value in known:
        return Preflight(True, Message(PreflightCode.GOOD_VIEW))
    advice = view_advice(exercise)
    shares = {one.view: one.share for one in advice}
    share, best = shares.get(name, 0.0), exercise.filming.best[0]
    better = {"camera": best}
    if share >= shares.get(best, 1.0):
        return Preflight(True, Message(PreflightCode.WELL_IN_VIEW))
    if scored or share >= ENOUGH * max(one.share for one in advice):
        return Preflight(True, Message(PreflightCode.BETTER_VIEW, better))
    return Preflight(False, Message(PreflightCode.POOR_VIEW, better))
