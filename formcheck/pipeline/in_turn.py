"""Two films of one exercise from two directions, not filmed at the same time: nothing is joined, but each
check is judged in the film that shows it better.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from formcheck.catalogue.codes import Params, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.result import ClipResult, Finding
from formcheck.clips.types import ClipLimits
from formcheck.errors import UsageError
from formcheck.exercises.schema import Check, Exercise
from formcheck.pipeline.check import Checked, check_measured, of_this_client
from formcheck.pipeline.landmarks import Measured, measure_clip
from formcheck.pipeline.selection import Candidate, Confirm
from formcheck.pipeline.settings import Progress, Settings, of_two

MARKEDLY = 0.9
"""One film must be less uncertain than this share of the other to take a check from the film that was
named first. A proposal."""

Key = tuple[str | None, str]
"""A part of the exercise, None for all of it, and a check of it."""


def check_in_turn(
    clips: Sequence[str | Path],
    *,
    candidates: Sequence[Candidate],
    settings: Settings | None = None,
    confirm: Confirm | None = None,
    on_progress: Progress | None = None,
    limits: ClipLimits | None = None,
) -> tuple[Checked, ...]:
    """Check two films of one exercise, from different directions, taken one after the other.

    Each check is judged in one of them: the one that shows it with the smaller uncertainty. Limits
    of safety are judged in both, and a film that shows nothing better is judged whole, as a second
    opinion. What the two say against each other is among the ``problems`` of
    both. Where one cannot be judged, or they show different exercises, each is checked alone.

    Parameters and errors are those of ``check_together``.
    """
    if len(clips) != 2:
        raise UsageError(f"two films are checked in turn, and {len(clips)} were given")
    settings = of_this_client(settings or Settings(), candidates)
    measured = [
        measure_clip(clip, settings, of_two(on_progress, place), limits=limits)
        for place, clip in enumerate(clips)
    ]
    return check_measured_in_turn(measured, candidates, settings, confirm)


def check_measured_in_turn(
    measured: Sequence[Measured],
    candidates: Sequence[Candidate],
    settings: Settings,
    confirm: Confirm | None = None,
) -> tuple[Checked, ...]:
    """The same of two clips that were measured already."""
    whole = [check_measured(one, candidates, settings, confirm) for one in measured]
    first, second = (one.exercise for one in whole)
    usable = all(one.result.usable and not one.result.another_exercise for one in whole)
    if not usable or first is None or second is None or first.name != second.name:
        return tuple(whole)
    known = [_findings(one.result) for one in whole]
    better = better_film(first, known[0], known[1])
    told = contradictions(known[0], known[1], [one.clip.name for one in whole])
    return tuple(
        _with_own_checks(
            one,
            measured[place],
            {key for key, film in better.items() if film != place},
            told,
            whole[1 - place].clip.name,
        )
        for place, one in enumerate(whole)
    )


def _findings(result: ClipResult) -> dict[Key, list[Finding]]:
    """What was found of each check in whole repetitions."""
    found: dict[Key, list[Finding]] = {}
    for judged in result.reps:
        for finding in () if judged.rep.partial else judged.findings:
            found.setdefault((judged.rep.part, finding.id), []).append(finding)
    return found


def better_film(
    exercise: Exercise,
    first: Mapping[Key, Sequence[Finding]],
    second: Mapping[Key, Sequence[Finding]],
) -> dict[Key, int]:
    """In which of the films each check is judged, 0 or 1; limits of safety stand in neither list."""
    places = {}
    for key in {**first, **second}:
        of_first, of_second = (_uncertainty(found.get(key, ())) for found in (first, second))
        places[key] = int(of_second < MARKEDLY * of_first)
    safe = {check.id for _, check in exercise.all_checks if check.safety_limit}
    return {key: place for key, place in places.items() if key[1] not in safe}


def _uncertainty(findings: Sequence[Finding]) -> float:
    """The mean uncertainty of a check; infinite where it was not measurable in any repetition."""
    known = [
        one.uncertainty
        for one in findings
        if one.verdict != "not-measurable" and one.uncertainty is not None
    ]
    return sum(known) / len(known) if known else float("inf")


def contradictions(
    first: Mapping[Key, Sequence[Finding]],
    second: Mapping[Key, Sequence[Finding]],
    files: Sequence[str],
) -> tuple[RecordingProblem, ...]:
    """Checks that all repetitions of one film pass for sure, and that most of the other's fail."""
    told: dict[str, RecordingProblem] = {}
    for key in first.keys() & second.keys():
        for outside, within, file in (
            (first[key], second[key], files[0]),
            (second[key], first[key], files[1]),
        ):
            failed = [one.verdict == "outside" for one in outside]
            passed = [one.verdict == "within" for one in within]
            if sum(failed) * 2 > len(failed) and passed and all(passed):
                told[outside[0].measure] = RecordingProblem(
                    ProblemCode.FILMS_DISAGREE,
                    params={"measure": _plain(outside[0].measure), "file": file},
                )
    return tuple(told.values())


def _with_own_checks(
    whole: Checked,
    measured: Measured,
    others: set[Key],
    told: Sequence[RecordingProblem],
    file: str,
) -> Checked:
    """The film judged anew without the checks that the other one, ``file``, shows better, and what
    there is to say of it.
    """
    exercise = whole.exercise
    assert exercise is not None
    mine = without_checks(exercise, others)
    problems = tuple(told)
    if not mine.all_checks:  # nothing shows better here, so that this film is a second opinion
        mine = exercise
    if others:
        measures = [
            check.measure for part, check in exercise.all_checks if (part, check.id) in others
        ]
        params: Params = {"measures": tuple(dict.fromkeys(map(_plain, measures))), "file": file}
        problems += (RecordingProblem(ProblemCode.JUDGED_IN_OTHER_FILM, params=params),)
    side = next((one for one in ("left", "right", "both") if one == whole.result.side), None)
    candidate = Candidate(mine, side, whole.result.prescription)
    checked = check_measured(measured, (candidate,), whole.settings)
    result = replace(checked.result, problems=checked.result.problems + problems)
    return replace(checked, result=result, recognised=whole.recognised)


def without_checks(exercise: Exercise, without: set[Key]) -> Exercise:
    """The exercise without some of its checks."""

    def left(part: str | None, checks: Sequence[Check]) -> tuple[Check, ...]:
        return tuple(
            check
            for check in checks
            if (part, check.id) not in without and (part is None or (None, check.id) not in without)
        )

    parts = tuple(
        part.model_copy(update={"checks": left(part.name, part.checks)}) for part in exercise.parts
    )
    return exercise.model_copy(update={"checks": left(None, exercise.checks), "parts": parts})


def _plain(measure: str) -> str:
    """A measure's name as pages write it."""
    return measure.replace("_", " ")
