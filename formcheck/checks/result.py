"""The result of one clip: everything the sheets, the records and other programs read."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from formcheck.catalogue.codes import LimitState, Message, ProblemCode, Verdict, ViewsCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.views import FilmingView
from formcheck.exercises.programme import Prescription
from formcheck.measures.table import View
from formcheck.movements.types import Rep

EVEN = 0.5
"""A probability at which either is as likely. Mechanical."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One check of one repetition.

    ``low`` and ``high`` are the limits applied (target widened by the tolerance); ``margin`` is the
    distance to the nearer limit, negative outside; ``uncertainty`` is one standard uncertainty in
    ``unit``; ``at_s`` is the worst moment; ``reason`` says why a value is missing or doubtful.
    ``side`` is the arm it is of, or ``both`` where they were measured as one; None for the trunk.
    ``probability_outside`` is that of the true value lying beyond the limits; None where it was not
    measurable. ``essential``, ``safety_limit`` and ``title`` are the check's own.
    """

    id: str
    measure: str
    statistic: str
    phase: str
    value: float | None
    uncertainty: float | None
    unit: str
    low: float | None
    high: float | None
    margin: float | None
    verdict: Verdict
    at_s: float | None
    cue: str
    reason: Message | None
    side: str | None = None
    probability_outside: float | None = None
    essential: bool = False
    safety_limit: bool = False
    title: str | None = None

    @property
    def perhaps_not(self) -> bool:
        """Whether it is borderline and rather outside than not."""
        return self.verdict == Verdict.BORDERLINE and (self.probability_outside or 0.0) >= EVEN

    @property
    def probably_fine(self) -> bool:
        """Whether it is borderline and rather within than not."""
        return self.verdict == Verdict.BORDERLINE and not self.perhaps_not


@dataclass(frozen=True, slots=True)
class JudgedRep:
    """A repetition with its findings.

    ``score`` 0-100 is the expected share of what was done as prescribed, with its standard
    uncertainty; ``coverage`` 0-1 the share of the checks that could be measured.

    Where both arms do at once what one does at a time, an arm's check has a finding for each.
    """

    rep: Rep
    score: int | None
    coverage: float
    findings: tuple[Finding, ...]
    score_uncertainty: float | None = None

    @property
    def unsure_essentials(self) -> tuple[Finding, ...]:
        """Of what makes the exercise, that which was not seen for sure, one way or the other."""
        unsure = (Verdict.BORDERLINE, Verdict.NOT_MEASURABLE)
        return tuple(one for one in self.findings if one.essential and one.verdict in unsure)

    @property
    def lacks_essential(self) -> bool:
        """Whether something that makes the exercise was surely not done."""
        return any(one.essential and one.verdict == Verdict.OUTSIDE for one in self.findings)


@dataclass(frozen=True, slots=True)
class Cue:
    """One thing to work on: the check, the sentence, and the moment that shows it best.

    ``sentence`` is the exercise's own words, or a message where it has none for this.
    ``times_seen`` counts repetitions, or rounds through the parts where it is ``per_round``.
    """

    check_id: str
    sentence: str | Message
    rep_index: int
    at_s: float
    times_seen: int
    certain: bool
    per_round: bool = False


@dataclass(frozen=True, slots=True)
class LimitReport:
    """What became of a limit of safety.

    ``value``, ``uncertainty`` and ``at_s`` are of the moment that most probably passes it;
    ``times_seen`` of ``among`` repetitions are as ``state`` says, or sides of the body if the whole
    clip was read (``per_clip``). Unchecked, ``reason`` says why, and ``better_view`` from where it
    would be checked.
    """

    check_id: str
    measure: str
    state: LimitState
    low: float | None
    high: float | None
    unit: str
    value: float | None
    uncertainty: float | None
    at_s: float | None
    times_seen: int
    among: int
    cue: str
    reason: Message | None = None
    better_view: FilmingView | None = None
    per_clip: bool = False


@dataclass(frozen=True, slots=True)
class RepCount:
    """Whole repetitions, holds or circles of one side."""

    count: int

    @property
    def numbers(self) -> tuple[int, ...]:
        """What must reach the prescribed count, each by itself."""
        return (self.count,)


@dataclass(frozen=True, slots=True)
class DirectionCount:
    """Whole circles of one side, each way."""

    forward: int
    backward: int

    @property
    def numbers(self) -> tuple[int, ...]:
        """What must reach the prescribed count, each by itself."""
        return (self.forward, self.backward)


@dataclass(frozen=True, slots=True)
class RoundCount:
    """Rounds of one side through the parts, and how many of them were whole.

    ``left_out`` has for each round the parts left out, ``too_few`` the parts with too few circles
    and how many they had.
    """

    rounds: int
    whole: int
    left_out: tuple[tuple[str, ...], ...] = ()
    too_few: tuple[Mapping[str, int], ...] = ()

    @property
    def numbers(self) -> tuple[int, ...]:
        """What must reach the prescribed count, each by itself."""
        return (self.whole,)


SideCount = RepCount | DirectionCount | RoundCount


@dataclass(frozen=True, slots=True)
class PrescribedDose:
    """What was asked for in one set; ``count`` is of each direction if ``per_direction``."""

    count: int
    per_direction: bool = False
    sets: int = 1
    hold_s: float | None = None


@dataclass(frozen=True, slots=True)
class CountedDose:
    """What was done: whole repetitions of all sides, and the count of each side that worked.

    ``holds_s`` has the times held, ``long_enough`` says how many of them surely were; it is None
    where nothing was held. ``by_set`` has the counts of each set in the clip, ``sets_done`` says how
    many of these sets surely reached the dose.
    """

    count: int = 0
    by_side: Mapping[str, SideCount] = field(default_factory=dict)
    holds_s: tuple[float, ...] = ()
    long_enough: int | None = None
    by_set: tuple[Mapping[str, SideCount], ...] = ()
    sets_done: int = 0

    @property
    def by_rounds(self) -> tuple[RoundCount, ...]:
        """The counts of those sides that went through the parts of a compound exercise."""
        return tuple(side for side in self.by_side.values() if isinstance(side, RoundCount))


@dataclass(frozen=True, slots=True)
class DoseCount:
    """Dose prescribed against dose counted; ``met`` is None where it cannot be told.

    ``prescribed`` is None where it is not known which exercise was asked for.
    """

    prescribed: PrescribedDose | None
    counted: CountedDose
    met: bool | None


@dataclass(frozen=True, slots=True)
class NotMeasured:
    """A check that no repetition allowed, of one part of the exercise or of all, and why.

    ``better_view`` is where else to film it from; None if it would show no better from anywhere.
    ``title`` is the check's own.
    """

    check_id: str
    part: str | None
    reason: Message
    better_view: FilmingView | None
    title: str | None = None


@dataclass(frozen=True, slots=True)
class Summary:
    """What the whole set comes to.

    ``rounds`` holds a message for each round of a compound exercise in which a part was left out or
    the order was another.
    ``film_anew`` is whether any of what was not measured may show in a clip filmed as is advised.
    """

    score: int | None
    cues: tuple[Cue, ...]
    praise: str | None
    not_measured: tuple[NotMeasured, ...]
    look_yourself: tuple[str, ...]
    rounds: tuple[Message, ...] = ()
    film_anew: bool = True
    score_uncertainty: float | None = None


@dataclass(frozen=True, slots=True)
class ClipFacts:
    """The facts of the recording that the sheet shows; ``file`` is the bare file name."""

    file: str
    sha256: str
    duration_s: float
    frames: int
    mean_rate_hz: float
    width: int
    height: int
    rotation_deg: int
    variable_rate: bool


@dataclass(frozen=True, slots=True)
class Provenance:
    """What made this result, so that it can be made again.

    ``analysed_frames`` is how many frames the pose model looked at.
    """

    formcheck: str
    model: str
    model_sha256: str
    settings: Mapping[str, object]
    analysed_frames: int = 0


@dataclass(frozen=True, slots=True)
class SecondCamera:
    """The other clip of a set that two cameras filmed, and how both fit.

    At time t of the first clip it was t (1 + ``rate``) + ``offset_s`` in this one. ``angle_deg`` is
    between both lines of sight, with one standard uncertainty; half of all joints fit to
    ``misfit_cm`` or better. ``timed_by`` is what told the offset: what both heard, or the movement.
    ``one_set_by`` is why both are taken for clips of one set.
    """

    clip: ClipFacts
    view: View
    offset_s: float
    rate: float
    angle_deg: float
    angle_uncertainty_deg: float
    misfit_cm: float
    timed_by: Literal["sound", "movement"] = "movement"
    one_set_by: Literal["sound", "recording times", "movement"] = "movement"

    @property
    def message(self) -> Message:
        """How both fit, in one line."""
        return Message(
            ViewsCode.STARTED_EARLIER if self.offset_s > 0 else ViewsCode.STARTED_LATER,
            {
                "apart_s": abs(self.offset_s),
                "angle_deg": self.angle_deg,
                "misfit_cm": self.misfit_cm,
            },
        )

    @property
    def taken_for_one_set(self) -> Message:
        """Why both are taken for clips of one set, and what that leaves open."""
        return Message(
            {
                "sound": ViewsCode.ONE_SET_BY_SOUND,
                "recording times": ViewsCode.ONE_SET_BY_RECORDING_TIMES,
                "movement": ViewsCode.ONE_SET_BY_MOVEMENT,
            }[self.one_set_by]
        )


@dataclass(frozen=True, slots=True)
class ClipResult:
    """Everything known of one checked clip (``result.json``, schema 1).

    ``prescription`` is what a programme prescribed for this client, where one was given; ``second``
    is the other camera, where two filmed the set.
    """

    clip: ClipFacts
    exercise: str
    side: str
    view: View
    usable: bool
    tracked_share: float
    problems: tuple[RecordingProblem, ...]
    reps: tuple[JudgedRep, ...]
    dose: DoseCount
    summary: Summary
    provenance: Provenance
    prescription: Prescription | None = None
    limits: tuple[LimitReport, ...] = ()
    second: SecondCamera | None = None

    @property
    def whole_reps(self) -> tuple[JudgedRep, ...]:
        """The repetitions that count: neither cut off by the clip's ends nor broken off."""
        return tuple(judged for judged in self.reps if not judged.rep.partial)

    @property
    def fatal_problems(self) -> tuple[RecordingProblem, ...]:
        """Those that leave nothing to judge."""
        return tuple(problem for problem in self.problems if problem.fatal)

    @property
    def alarms(self) -> tuple[LimitReport, ...]:
        """The limits of safety that were passed, or may have been, the gravest first."""
        return tuple(one for one in self.limits if one.state.alarming)

    @property
    def another_exercise(self) -> RecordingProblem | None:
        """The note that the clip clearly shows another exercise than this one, or a body held in
        another position, if there is one.
        """
        codes = (ProblemCode.ANOTHER_EXERCISE, ProblemCode.ANOTHER_POSITION)
        return next((note for note in self.problems if note.code in codes), None)
