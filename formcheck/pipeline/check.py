"""The one assembler: a clip and what is wanted of it in, a checked result out.

The command line, batches and programs call this and nothing deeper.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from formcheck.catalogue.codes import LimitState, Params, ProblemCode, ReasonCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.dose import count_dose
from formcheck.checks.judge import judge_reps, summarise
from formcheck.checks.limits import limit_reports, limits_of_clip
from formcheck.checks.result import (
    ClipFacts,
    ClipResult,
    CountedDose,
    DoseCount,
    JudgedRep,
    LimitReport,
    Provenance,
    Summary,
)
from formcheck.clips.types import ClipLimits
from formcheck.errors import UnrecognisedError, UsageError
from formcheck.exercises.programme import Programme
from formcheck.exercises.schema import Exercise
from formcheck.filming.advice import better_view
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.table import SIDES, MeasureTable, Side, column_name
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.signals import combined
from formcheck.pipeline.landmarks import Measured, Tracked, measure_clip
from formcheck.pipeline.mixed import another_exercise_problems
from formcheck.pipeline.selection import (
    Candidate,
    Confirm,
    candidates_for,
    resolve,
    shows_another,
)
from formcheck.pipeline.settings import Progress, Settings, SideChoice
from formcheck.pipeline.unclear_exercise import with_exercise_unclear
from formcheck.recognise.position import another_position
from formcheck.recognise.recognise import Guess
from formcheck.recognise.traits import upright
from formcheck.version import __version__
from formcheck.views.clocks import Clock

MIN_KNOWN_SHARE = 0.3
"""Less of the clip than this with the primary measure known, and the set cannot be judged. A
proposal."""

FEWEST_PICTURES = 12.0
"""With fewer pictures of a usual repetition its turning points fall between them: sampled so, a sine
loses up to 3 % of its range at either end. A proposal."""


@dataclass(frozen=True, slots=True, eq=False)
class SecondView:
    """The other clip of a set that two cameras filmed: its landmarks, and its clock beside the first's."""

    clip: Path
    track: LandmarkTrack
    clock: Clock


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Checked:
    """A result with what it was made from, for the sheets.

    ``exercise`` is None where a clip cannot be judged and its exercise was not said. ``recognised``
    is what was recognised, where there was a choice. ``second`` is the other clip of a set that two
    cameras filmed.
    """

    result: ClipResult
    exercise: Exercise | None
    table: MeasureTable
    track: LandmarkTrack
    clip: Path
    settings: Settings
    recognised: Guess | None = None
    second: SecondView | None = None

    def __repr__(self) -> str:
        result = self.result
        if not result.usable:
            codes = ", ".join(problem.code for problem in result.fatal_problems)
            return f"<Checked {result.clip.file}: cannot be judged ({codes})>"
        whole = len(result.whole_reps)
        score = "not scored" if result.summary.score is None else f"score {result.summary.score}"
        return f"<Checked {result.clip.file}: {result.exercise}, {result.side}, {whole} whole, {score}>"


def check_clip(
    clip: str | Path,
    exercise: str | Path | Exercise | None = None,
    *,
    side: SideChoice | None = None,
    programme: str | Path | Programme | None = None,
    candidates: Sequence[Candidate] | None = None,
    settings: Settings | None = None,
    confirm: Confirm | None = None,
    on_progress: Progress | None = None,
    limits: ClipLimits | None = None,
) -> Checked:
    """Check one clip.

    A clip that is read but cannot be judged comes back with ``result.usable`` False and the reasons
    in ``result.problems``: also one that shows nothing of a programme, or passes a limit that all of it
    shares while the exercise is open.

    Parameters
    ----------
    clip
        The path of a recorded clip.
    exercise
        A name from the library, the path of an exercise file, or an exercise. Left out, it is
        recognised: among what the programme prescribes, or in the whole library.
    side
        The side that works; left out, it is found from the clip.
    programme
        A client's programme or the path of one.
    candidates
        What the clip may be, in place of the three above: see ``candidates_for``, which gives it
        once for many clips.
    settings
        How the clip is looked at; as usual if left out. A programme's ``stature_cm`` goes before.
    confirm
        Is asked whether what was recognised is right. Left out, only what the clip shows clearly is
        taken.
    on_progress
        Is told the share of the work that is done, 0-1.
    limits
        The most that the clip may be.

    Raises
    ------
    ClipError
        The clip cannot be read, or is beyond ``limits``.
    UnrecognisedError
        The exercise was not said, and the clip or whoever was asked leaves it open.
    ExerciseError
        An exercise is not known, or a file is wrong.
    UsageError
        The programme has no such exercise or side, or the candidates were given as well.
    ModelError
        The pose model is missing or damaged.
    """
    settings = settings or Settings()
    if candidates is None:
        candidates = candidates_for(exercise, side=side, programme=programme)
    elif not (exercise is None and side is None and programme is None):
        raise UsageError("give the candidates, or exercise, side and programme; not both")
    settings = of_this_client(settings, candidates)
    measured = measure_clip(clip, settings, on_progress, limits=limits)
    return check_measured(measured, candidates, settings, confirm)


def check_measured(
    measured: Measured,
    candidates: Sequence[Candidate],
    settings: Settings,
    confirm: Confirm | None = None,
) -> Checked:
    """Check a clip whose measures are known. Raises UnrecognisedError as ``check_clip``."""
    unjudged = _unjudged(measured, settings)
    if measured.fatal_problem and len(candidates) > 1:
        return unjudged
    try:
        selection = resolve(candidates, measured.table, confirm)
    except UnrecognisedError as error:
        told = with_exercise_unclear(unjudged.result, measured.table, candidates, error)
        if told is None:
            raise UnrecognisedError(f"{unjudged.clip.name}: {error.finding}") from None
        return replace(unjudged, result=told)
    result = _judged(unjudged.result, measured.table, selection.candidate)
    return replace(
        unjudged,
        result=result,
        exercise=selection.candidate.exercise,
        recognised=selection.guess,
    )


def of_this_client(settings: Settings, candidates: Sequence[Candidate]) -> Settings:
    """The settings with the height that the client's programme gives, if it gives one."""
    for one in candidates:
        if one.prescription is not None and one.prescription.stature_cm is not None:
            return replace(settings, stature_m=one.prescription.stature_cm / 100)
    return settings


def _unjudged(measured: Measured, settings: Settings) -> Checked:
    """What is known of a clip before anything in it is judged."""
    tracked, table = measured.tracked, measured.table
    result = ClipResult(
        clip=facts_of(tracked),
        exercise="unknown",
        side="unknown",
        view=table.view,
        usable=measured.fatal_problem is None,
        tracked_share=_tracked_share(tracked),
        problems=measured.problems,
        reps=(),
        dose=DoseCount(None, CountedDose(), None),
        summary=Summary(None, (), None, (), ()),
        provenance=_provenance(tracked, settings),
    )
    return Checked(result, None, table, tracked.track, tracked.info.path, settings)


def _judged(unjudged: ClipResult, table: MeasureTable, candidate: Candidate) -> ClipResult:
    """The result of a clip as a candidate; where it cannot be judged, with the reasons only."""
    exercise, problems = candidate.exercise, unjudged.problems
    sides: tuple[Side, ...] = ()
    if unjudged.usable:
        sides, more = _choose_sides(table, exercise, candidate.side)
        problems += more
    usable = not any(problem.fatal for problem in problems)
    sides = sides if usable else ()
    reps = judge_reps(table, exercise, find_reps(table, exercise, sides)) if sides else ()
    another = _another(exercise, table, reps) if usable else ()
    if another:  # nothing in it can be held against this exercise, for better or worse
        reps = ()
    elif usable and not any(not judged.rep.partial for judged in reps):
        problems += (_no_repetition(exercise),)
    else:
        problems += another_exercise_problems(exercise, table, reps)
    problems += another + _too_fast(reps, unjudged.clip.mean_rate_hz)
    elsewhere = partial(better_view, exercise, table.view.name)
    limits = limit_reports(exercise, reps, elsewhere)
    if not reps and len(table.time_s) > 1:
        limits = limits_of_clip(table, exercise, sides or SIDES, elsewhere)
    summary = summarise(exercise, reps, elsewhere, limits)
    if another and upright(exercise):  # a clip that is turned upright shows more
        summary = replace(summary, film_anew=True)
    dose = count_dose(exercise, reps, sides)
    if another or not usable:
        dose = replace(dose, met=None)
    dose = _within_limits(dose, limits)
    return replace(
        unjudged,
        exercise=exercise.name,
        side=_side_name(sides, candidate.side),
        usable=usable,
        problems=problems,
        reps=reps,
        dose=dose,
        summary=summary,
        prescription=candidate.prescription,
        limits=limits,
    )


def _within_limits(dose: DoseCount, limits: Sequence[LimitReport]) -> DoseCount:
    """The dose, which nobody has done who passed a limit of safety on the way, or may have."""
    states = {limit.state for limit in limits if limit.state.alarming}
    if not states:
        return dose
    passed = LimitState.PASSED in states
    met = False if passed or dose.met is False else None
    return replace(dose, met=met, counted=replace(dose.counted, sets_done=0))


def _tracked_share(tracked: Tracked) -> float:
    seen = tracked.track.tracked
    return round(float(np.mean(seen)), 4) if len(seen) else 0.0


def _provenance(tracked: Tracked, settings: Settings) -> Provenance:
    return Provenance(
        formcheck=__version__,
        model=tracked.track.model,
        model_sha256=tracked.track.model_sha256,
        settings={k: v for k, v in asdict(settings).items() if k not in ("model", "use_cache")},
        analysed_frames=tracked.track.analysed,
    )


def _choose_sides(
    table: MeasureTable, exercise: Exercise, side: SideChoice | None
) -> tuple[tuple[Side, ...], tuple[RecordingProblem, ...]]:
    if side == "both" or exercise.arms == "both":
        sides: tuple[Side, ...] = SIDES
    elif side is not None:
        sides = (side,)
    else:
        sides = working_sides(table, exercise)
    known = [
        np.isfinite(combined(table, exercise.primary.measure, (s,)).value).mean()
        for s in sides or SIDES
    ]
    if max(known) >= MIN_KNOWN_SHARE:
        return sides, ()
    return sides, (_primary_not_seen(table, exercise, sides or SIDES),)


def _primary_not_seen(
    table: MeasureTable, exercise: Exercise, sides: Sequence[Side]
) -> RecordingProblem:
    """What was missing, and whether the camera stood where it was asked to stand."""
    measure = exercise.primary.measure
    columns = [column_name(measure, side) for side in sides]
    gaps = [gap for column in columns for gap in table.gaps.get(column, ())]
    longest = max(gaps, key=lambda gap: gap.end_s - gap.start_s, default=None)
    view, best = table.view.name, exercise.filming.best
    form = "view-unknown"
    if view.general is not None:
        form = "as-advised" if view.general in best or view.value in best else "elsewhere"
    needed: Params = {
        "share": MIN_KNOWN_SHARE,
        "views": best,
        "filmed": view,
        "missing": longest.reason if longest else ReasonCode.NOT_SEEN,
    }
    return RecordingProblem(ProblemCode.PRIMARY_NOT_SEEN, fatal=True, params=needed, form=form)


def _no_repetition(exercise: Exercise) -> RecordingProblem:
    return RecordingProblem(ProblemCode.NO_REPETITION, params={"exercise": exercise.title})


def _too_fast(reps: Sequence[JudgedRep], rate_hz: float) -> tuple[RecordingProblem, ...]:
    """A note if the clip has too few pictures of a usual repetition to tell how it was done."""
    times_s = [judged.rep.end_s - judged.rep.start_s for judged in reps if not judged.rep.partial]
    pictures = rate_hz * float(np.median(times_s)) if times_s else FEWEST_PICTURES
    if pictures >= FEWEST_PICTURES:
        return ()
    params: Params = {"pictures": round(pictures), "rate_hz": round(rate_hz)}
    return (RecordingProblem(ProblemCode.TOO_FAST, params=params),)


def _in_doubt(reps: tuple[JudgedRep, ...]) -> bool:
    """Whether anything was outside, or nothing whole was found."""
    whole = [judged for judged in reps if not judged.rep.partial]
    found = [finding.verdict for judged in whole for finding in judged.findings]
    return not whole or "outside" in found


def _another(
    exercise: Exercise, table: MeasureTable, reps: tuple[JudgedRep, ...]
) -> tuple[RecordingProblem, ...]:
    """A note if the body is held in another position, or the arms do another exercise.

    Who passes every check did what was asked; telling all exercises apart costs a quarter second.
    """
    position = another_position(exercise, table)
    if position or not _in_doubt(reps) or (other := shows_another(exercise, table)) is None:
        return position
    looks: Params = {
        "exercise": exercise.title,
        "shown": other.exercise.title,
        "probability": other.probability,
    }
    return (RecordingProblem(ProblemCode.ANOTHER_EXERCISE, params=looks),)


def _side_name(sides: tuple[Side, ...], asked: SideChoice | None) -> str:
    if len(sides) == 1:
        return sides[0]
    return "both" if sides else asked or "unknown"


def facts_of(tracked: Tracked) -> ClipFacts:
    """The facts of a recording."""
    info, report = tracked.info, tracked.report
    return ClipFacts(
        file=info.path.name,
        sha256=info.sha256,
        duration_s=report.duration_s,
        frames=report.frames,
        mean_rate_hz=report.mean_rate_hz,
        width=info.width,
        height=info.height,
        rotation_deg=info.rotation_deg,
        variable_rate=report.variable_rate,
    )
