"""Whether a clip is filmed well enough, from a few of its pictures."""

from collections.abc import Sequence
from dataclasses import dataclass

from formcheck.catalogue.problems import Problem
from formcheck.exercises.schema import Exercise, ViewName
from formcheck.filming.advice import view_advice
from formcheck.measures.table import View

SAMPLES_HZ = 2.0
"""Pictures a second that are looked at."""
ENOUGH = 0.6
"""A view is good enough if it decides this share of what the best one decides (a proposal)."""
_FIRST = (
    "nobody-in-view", "only-legs", "shoulders-out-of-view", "hips-out-of-view",
    "arms-out-of-view", "too-small", "too-dark", "too-blurry", "somebody-else-in-view",
    "another-position",
)  # fmt: skip
"""What is worth filming again for, worst first."""
_SHORTEST_S = 1.0
"""Losses shorter than this do not matter."""
_SEEN = {
    "front": "straight in front of you",
    "oblique": "half-way between your front and the working side",
    "side": "straight at the working side",
    "back-oblique": "half-way between your back and the working side",
    "back": "straight behind you",
    "left": "straight at your left side",
    "right": "straight at your right side",
}


@dataclass(frozen=True, slots=True)
class Preflight:
    """Usable or not, and one sentence for the client."""

    usable: bool
    sentence: str


def judge_sample(problems: Sequence[Problem], view: View, exercise: Exercise) -> Preflight:
    """What a sample of a clip says about using it for ``exercise``."""
    grave = [problem for problem in problems if problem.fatal]
    if grave:
        return Preflight(False, grave[0].message)
    for code in _FIRST:
        for problem in problems:
            if problem.code == code and _lasts(problem):
                return Preflight(False, problem.message)
    return _by_view(view, exercise)


def _lasts(problem: Problem) -> bool:
    if problem.start_s is None or problem.end_s is None:
        return True
    return problem.end_s - problem.start_s >= _SHORTEST_S


def _by_view(view: View, exercise: Exercise) -> Preflight:
    name = general_view(view.name)
    known = {*exercise.filming.best, *exercise.filming.usable}
    if name is None:
        return Preflight(True, "Usable, as far as a few pictures tell.")
    if name in known or view.name in known:
        return Preflight(True, "Usable: you are well in view, and filmed from a good side.")
    advice = view_advice(exercise)
    shares = {one.view: one.share for one in advice}
    share, best = shares.get(name, 0.0), exercise.filming.best[0]
    better = _SEEN[best]
    if share >= shares.get(best, 1.0):
        return Preflight(True, "Usable: you are well in view.")
    if share >= ENOUGH * max(one.share for one in advice):
        return Preflight(True, f"Usable; with the camera {better} more could be judged.")
    return Preflight(False, f"Put the camera {better}; from where it is too little can be judged.")


def general_view(name: str) -> ViewName | None:
    """A measured view's name without its side; None where it is not known."""
    if name in ("left", "right"):
        return "side"
    views: tuple[ViewName, ...] = ("back-oblique", "oblique", "back", "front")
    return next((view for view in views if name.startswith(view)), None)
