"""What a clip may be checked as, and which of that it shows."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from formcheck.errors import UnrecognisedError, UsageError
from formcheck.exercises.library import SUFFIX, library_names, load_exercise
from formcheck.exercises.programme import Prescription, Programme, load_programme
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MeasureTable
from formcheck.pipeline.landmarks import measure_clip
from formcheck.pipeline.settings import Progress, Settings, SideChoice
from formcheck.recognise.recognise import Guess, recognise
from formcheck.recognise.traits import indistinguishable

MIN_CONFIDENCE = 0.85
"""Less sure of the exercise than this, and a clip is not checked unless somebody says yes. A
proposal."""

HARDLY_THIS = 0.02
"""Less sure than this of the exercise that a clip was said to be, but sure of another, and
somebody should look: so it was of 9 of 461 made clips under their right names, all done wrong, and
of 495 of 1,321 under wrong ones. (Sure from 95 % on: 3 and 237.) Read on rendered people."""

NEVER_THIS = 0.001
"""Less sure than this of it, and it need not be sure which of several others the clip shows: an arm
raised between side and front is one raise or the other, and in no case a press. A proposal."""
SURELY_OTHERS = 0.95
"""... if it is so sure to be one of them rather than nothing known. A proposal."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing that a clip may be; ``side`` None is found from the clip."""

    exercise: Exercise
    side: SideChoice | None = None
    prescription: Prescription | None = None


@dataclass(frozen=True, slots=True)
class Selection:
    """What a clip is checked as; ``guess`` is how it was recognised, None if it had to be this."""

    candidate: Candidate
    guess: Guess | None = None


Confirm = Callable[[Guess, Candidate, Sequence[Candidate]], bool]
"""Asks somebody whether a clip is to be checked as a candidate. Takes what was recognised, the
candidate, and all candidates that look the same to a camera, this one included."""


def candidates_for(
    exercise: str | Path | Exercise | None = None,
    *,
    side: SideChoice | None = None,
    programme: str | Path | Programme | None = None,
) -> tuple[Candidate, ...]:
    """Everything that a clip may be by what is known of it; the whole library if nothing is.

    ``exercise`` is a name from the library, the path of an exercise file or an exercise; with a
    ``programme`` (a path or a loaded one) it and ``side`` narrow down what is prescribed.

    Raises
    ------
    ExerciseError
        An exercise is not known, or a file is wrong.
    UsageError
        The programme has no such exercise or side.
    """
    if programme is not None:
        plan = programme if isinstance(programme, Programme) else load_programme(programme)
        return _prescribed(plan, exercise, side)
    if exercise is None:
        return tuple(Candidate(load_exercise(name), side) for name in library_names())
    known = exercise if isinstance(exercise, Exercise) else load_exercise(exercise)
    return (Candidate(known, side),)


def candidates_of(prescriptions: Sequence[Prescription]) -> tuple[Candidate, ...]:
    """Each of a client's prescriptions."""
    return tuple(Candidate(one.exercise, one.side_to_check, one) for one in prescriptions)


def _prescribed(
    plan: Programme, exercise: str | Path | Exercise | None, side: SideChoice | None
) -> tuple[Candidate, ...]:
    wanted = None if exercise is None else _name_of(exercise)
    fitting = tuple(
        one
        for one in candidates_of(plan.prescriptions)
        if wanted in (None, one.exercise.name) and side in (None, one.side)
    )
    if not fitting:
        what = " ".join(part for part in (wanted, f"side {side}" if side else "") if part)
        known = ", ".join(f"{p.exercise.name} ({p.side})" for p in plan.prescriptions)
        raise UsageError(f"{what}: not in this programme, which has {known}")
    return fitting


def _name_of(exercise: str | Path | Exercise) -> str:
    if isinstance(exercise, Exercise):
        return exercise.name
    name = str(exercise)
    return Path(name).stem if name.endswith(SUFFIX) else name


def resolve(
    candidates: Sequence[Candidate], table: MeasureTable, confirm: Confirm | None = None
) -> Selection:
    """The one thing that a clip is: the only candidate, or the one recognised and agreed to.

    ``confirm`` is asked of what was recognised, however sure that is unless it is as good as none of
    them; without it only what the clip shows clearly is taken. Raises UnrecognisedError where nothing
    is settled that way.
    """
    if len(candidates) == 1:
        return Selection(candidates[0])
    guesses = _recognised(candidates, table)
    if sum(one.probability for one in guesses) < HARDLY_THIS:
        listed = any(one.prescription and one.prescription.listed for one in candidates)
        raise _low_confidence_error(guesses, shows_none=listed)
    alike = _matching(guesses[0], candidates)
    if confirm is None:
        return Selection(_select_confident(guesses, alike), guesses[0])
    for one in alike:
        if confirm(guesses[0], one, alike):
            return Selection(one, guesses[0])
    raise _low_confidence_error(guesses)


def recognise_clip(
    clip: str | Path, settings: Settings | None = None, on_progress: Progress | None = None
) -> tuple[Guess, ...]:
    """The exercises of the library that a clip may show, likeliest first, each with its side.

    What their probabilities lack of 1 is that of none of them; there are none at all where the clip
    cannot be judged. Raises as ``measure_clip``.
    """
    measured = measure_clip(clip, settings, on_progress)
    if measured.fatal_problem:
        return ()
    return _recognised(candidates_for(), measured.table)


def _recognised(candidates: Sequence[Candidate], table: MeasureTable) -> tuple[Guess, ...]:
    """The exercises among the candidates that the clip may show, likeliest first."""
    unique = {one.exercise.name: _without_changes(one.exercise) for one in candidates}
    return recognise(table, list(unique.values()))


def _matching(best: Guess, candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """The candidate of that exercise, and of that side where there is one.

    In a programme several, if it has variants that a camera cannot tell from that exercise: one of
    each. (Of the library's, the exercise itself is meant.)
    """
    prescribed = [one.exercise for one in candidates if one.prescription is not None]
    found = {}
    for exercise in indistinguishable(best.exercise, prescribed):
        fitting = [one for one in candidates if one.exercise.name == exercise.name]
        on_side = [one for one in fitting if one.side in (None, best.side)]
        found[exercise.name] = (bool(on_side), (on_side or fitting)[0])
    any_on_side = any(fits for fits, _ in found.values())
    return tuple(one for fits, one in found.values() if fits or not any_on_side)


def _select_confident(guesses: Sequence[Guess], alike: Sequence[Candidate]) -> Candidate:
    """The one candidate that the likeliest guess clearly is. Raises UnrecognisedError."""
    if guesses[0].probability < MIN_CONFIDENCE:
        raise _low_confidence_error(guesses)
    if len(alike) > 1:
        raise _ambiguous_error(alike)
    return alike[0]


def shows_another(exercise: Exercise, table: MeasureTable) -> Guess | None:
    """What a clip clearly shows in place of the exercise that it was said to be; None mostly."""
    # What a camera cannot tell from others can still look unlike this clip.
    exercise = _without_changes(exercise).model_copy(update={"recognised": True})
    library = [load_exercise(name) for name in library_names() if name != exercise.name]
    guesses = recognise(table, [*library, exercise])
    own = [
        one.probability
        for one in guesses
        if exercise in indistinguishable(one.exercise, [exercise])
    ]
    if not guesses or sum(own) >= HARDLY_THIS:
        return None
    clearly_one = guesses[0].probability >= MIN_CONFIDENCE
    others = sum(one.probability for one in guesses) - sum(own)
    one_of_several = sum(own) < NEVER_THIS and others >= SURELY_OTHERS
    return guesses[0] if clearly_one or one_of_several else None


def _without_changes(exercise: Exercise) -> Exercise:
    """The exercise without a programme's changes: a limit says what should be, not what is seen."""
    return load_exercise(exercise.name) if exercise.name in library_names() else exercise


def _ambiguous_error(alike: Sequence[Candidate]) -> UnrecognisedError:
    """That a camera cannot tell these apart."""
    names = " or ".join(one.exercise.name for one in alike)
    return UnrecognisedError(
        f"this is {names}, all in the programme; a camera cannot tell them apart."
    )


def _low_confidence_error(
    guesses: Sequence[Guess], *, shows_none: bool = False
) -> UnrecognisedError:
    """That the exercise cannot be told, with the likeliest ones."""
    nearest = ", ".join(f"{one.exercise.name} {one.probability:.0%}" for one in guesses[:3])
    nearest = f"{nearest} ({MIN_CONFIDENCE:.0%} is needed)" if guesses else "none is seen in it"
    finding = f"which exercise this is cannot be told from the clip: {nearest}."
    return UnrecognisedError(finding, shows_none=shows_none)
