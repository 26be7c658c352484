"""Two clips of one set, filmed by two cameras at the same time: one result from both."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.result import SecondCamera
from formcheck.clips.sound import has_sound, read_sound
from formcheck.clips.start_time import begun_at
from formcheck.clips.types import ClipLimits
from formcheck.errors import UsageError
from formcheck.exercises.programme import Programme
from formcheck.exercises.schema import Exercise
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.posture import TRUNK_SHARE_OF_STATURE
from formcheck.measures.table import MeasureTable
from formcheck.pipeline.check import Checked, SecondView, check_measured, facts_of, of_this_client
from formcheck.pipeline.in_turn import check_measured_in_turn
from formcheck.pipeline.landmarks import Measured, measure_clip
from formcheck.pipeline.selection import Candidate, Confirm, candidates_for
from formcheck.pipeline.settings import Progress, Settings, SideChoice, of_two
from formcheck.views.refusal import Refusal
from formcheck.views.sound import sound_offset_s
from formcheck.views.together import FitOfViews, measure_together

Clips = Sequence[str | Path]


def check_together(
    clips: Clips,
    exercise: str | Path | Exercise | None = None,
    *,
    side: SideChoice | None = None,
    programme: str | Path | Programme | None = None,
    candidates: Sequence[Candidate] | None = None,
    settings: Settings | None = None,
    confirm: Confirm | None = None,
    on_progress: Progress | None = None,
    limits: ClipLimits | None = None,
) -> tuple[Checked, ...]:
    """Check one set that two cameras filmed at the same time, from different directions.

    Gives one result, at the times of the first clip; its ``result.second`` says how both fit. Where
    the two cannot be joined there are two results, with the reason among the ``problems`` of both: if
    they show one set all the same, each check is judged in the clip that shows it better
    (``check_in_turn``), or else each clip is checked alone.

    Parameters
    ----------
    clips
        The paths of two recorded clips. Neither camera was moved while it recorded; they need not
        have been started at the same time.
    exercise, side, programme, candidates, settings, confirm, on_progress, limits
        As in ``check_clip``.

    Raises
    ------
    ClipError, UnrecognisedError, ExerciseError, ModelError
        As ``check_clip``.
    UsageError
        As ``check_clip``, or these are not two clips.
    """
    if len(clips) != 2:
        raise UsageError(f"two clips of one set are checked together, and {len(clips)} were given")
    settings = settings or Settings()
    if candidates is None:
        candidates = candidates_for(exercise, side=side, programme=programme)
    elif not (exercise is None and side is None and programme is None):
        raise UsageError("give the candidates, or exercise, side and programme; not both")
    settings = of_this_client(settings, candidates)
    first, second = (
        measure_clip(clip, settings, of_two(on_progress, place), limits=limits)
        for place, clip in enumerate(clips)
    )
    usable = first.fatal_problem is None and second.fatal_problem is None
    found = _joined(first, second, settings) if _may_join(first, second) else None
    if found is not None and not isinstance(found, Refusal):
        table, fit = found
        first, second = (
            _with_sides(one, track) for one, track in zip((first, second), fit.tracks, strict=True)
        )
        both = Measured(first.tracked, table)
        checked = check_measured(both, candidates, settings, confirm)
        return (_with_second(checked, second, fit, settings),)
    if found is not None and usable:
        why = _not_joined(found, first, second)
        if found.one_set:
            in_turn = check_measured_in_turn((first, second), candidates, settings, confirm)
            return tuple(_with_problem(one, why) for one in in_turn)
        reasons: list[RecordingProblem | None] = [why, why]
    else:
        reasons = [_other_unusable(other) for other in (second, first)]
    alone = [check_measured(one, candidates, settings, confirm) for one in (first, second)]
    return tuple(map(_with_problem, alone, reasons))


def _may_join(*clips: Measured) -> bool:
    """Whether nothing speaks against it but, in a clip by itself, sides that both together may tell."""
    problems = [problem for clip in clips for problem in clip.problems if problem.fatal]
    return all(problem.code is ProblemCode.LEFT_RIGHT_UNKNOWN for problem in problems)


def _with_sides(clip: Measured, track: LandmarkTrack) -> Measured:
    """A clip whose left and right both cameras together have told."""
    told = tuple(one for one in track.problems if one.code is not ProblemCode.LEFT_RIGHT_UNKNOWN)
    return replace(clip, tracked=replace(clip.tracked, track=replace(track, problems=told)))


def _not_joined(refusal: Refusal, *clips: Measured) -> RecordingProblem:
    """Why two clips were not joined; of those that cannot be timed, which have no sound to time them by."""
    if refusal.code is ProblemCode.VIEWS_DO_NOT_FIT:
        return RecordingProblem(refusal.code, form="one-set" if refusal.one_set else "other")
    if refusal.code is not ProblemCode.VIEWS_NOT_TIMED:
        return RecordingProblem(refusal.code)
    paths = [one.tracked.info.path for one in clips]
    silent = tuple(path.name for path in paths if not has_sound(path))
    if not silent:
        return RecordingProblem(refusal.code, form="heard")
    return RecordingProblem(refusal.code, params={"files": silent}, form="silent")


def _other_unusable(other: Measured) -> RecordingProblem | None:
    """What a clip's sheet says of the other one, if that cannot be judged."""
    if other.fatal_problem is None:
        return None
    file = other.tracked.info.path.name
    return RecordingProblem(ProblemCode.OTHER_CLIP_UNUSABLE, params={"file": file})


def _joined(
    first: Measured, second: Measured, settings: Settings
) -> tuple[MeasureTable, FitOfViews] | Refusal:
    """Joined by what both heard, where that is clear and fits, and else by the movement and by when
    the files say that they were begun.
    """
    tracks, tables = (first.tracked.track, second.tracked.track), (first.table, second.table)
    together = partial(measure_together, tracks, tables, stature_m=settings.stature_m)
    offset_s = _heard_offset_s(first, second, settings)
    if offset_s is not None:
        found = together(offset_s=offset_s)
        if not isinstance(found, Refusal):
            return found
    return together(stated_s=_stated_offset_s(first, second, settings))


def _stated_offset_s(first: Measured, second: Measured, settings: Settings) -> float | None:
    """By how much the second clip's time is ahead by when both phones say that they were begun."""
    begun = [begun_at(one.tracked.info.path) for one in (first, second)]
    if settings.speed != 1 or begun[0] is None or begun[1] is None:
        return None
    return (begun[0] - begun[1]).total_seconds()


def _heard_offset_s(first: Measured, second: Measured, settings: Settings) -> float | None:
    clips = [one.tracked.info.path for one in (first, second)]
    if settings.speed != 1 or not all(has_sound(clip) for clip in clips):
        return None
    return sound_offset_s(*(read_sound(clip) for clip in clips))


def _with_second(
    checked: Checked, second: Measured, fit: FitOfViews, settings: Settings
) -> Checked:
    """The result with what is known of the second camera, and of its recording."""
    tracked = second.tracked
    camera = SecondCamera(
        clip=facts_of(tracked),
        view=second.table.view,
        offset_s=fit.clock.offset_s,
        rate=fit.clock.rate,
        angle_deg=fit.angle_deg,
        angle_uncertainty_deg=fit.angle_uncertainty_deg,
        misfit_cm=fit.misfit * TRUNK_SHARE_OF_STATURE * settings.stature_m * 100,
        timed_by="sound" if fit.known_by == "sound" else "movement",
        one_set_by=fit.known_by,
    )
    known = {problem.code for problem in checked.result.problems}
    others = tuple(
        _by_first_clock(problem, fit) for problem in second.problems if problem.code not in known
    )
    result = replace(checked.result, second=camera, problems=checked.result.problems + others)
    view = SecondView(tracked.info.path, tracked.track, fit.clock)
    return replace(checked, result=result, second=view)


def _by_first_clock(problem: RecordingProblem, fit: FitOfViews) -> RecordingProblem:
    """A problem of the second clip under the times of the first."""
    start_s, end_s = (
        None if at is None else max(fit.clock.inverse(at), 0.0)
        for at in (problem.start_s, problem.end_s)
    )
    return replace(problem, start_s=start_s, end_s=end_s)


def _with_problem(checked: Checked, problem: RecordingProblem | None) -> Checked:
    if problem is None:
        return checked
    result = replace(checked.result, problems=(*checked.result.problems, problem))
    return replace(checked, result=result)
