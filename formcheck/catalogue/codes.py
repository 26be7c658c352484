"""Codes of what there is to say. Packages hand on a code and its parameters; ``words`` turns them into
sentences (``words/data/strings.<language>.toml``), in one place and in any language.

A parameter is a plain JSON value whose name carries its unit (``start_s``, ``share``, ``width_px``);
how it is written for people stands in the sentence (``{start_s:moment}``).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

Param = str | int | float | tuple[str, ...] | tuple[float, ...] | None
Params = Mapping[str, Param]


class Verdict(StrEnum):
    """What a check says of one repetition."""

    WITHIN = "within"
    BORDERLINE = "borderline"
    OUTSIDE = "outside"
    NOT_MEASURABLE = "not-measurable"


class Importance(StrEnum):
    """What a check is about, the gravest first."""

    SAFETY = "safety"
    POSITION = "position"
    RANGE = "range"
    TEMPO = "tempo"

    @property
    def rank(self) -> int:
        """0 for the gravest."""
        return tuple(Importance).index(self)


class LimitState(StrEnum):
    """What became of a limit of safety, the gravest first (table ``limit``)."""

    PASSED = "passed"
    PERHAPS_PASSED = "perhaps-passed"
    UNCHECKED = "unchecked"
    KEPT = "kept"

    @property
    def rank(self) -> int:
        """0 for the gravest."""
        return tuple(LimitState).index(self)

    @property
    def alarming(self) -> bool:
        """Whether it was passed, or may have been."""
        return self in (LimitState.PASSED, LimitState.PERHAPS_PASSED)


class ProblemCode(StrEnum):
    """What there is to know about a recording (table ``problem``). Stable: it stands in result.json."""

    TOO_SMALL = "too-small"
    DAMAGED_PICTURES = "damaged-pictures"
    TIMES_REPAIRED = "times-repaired"
    ENDED_EARLY = "ended-early"
    TOO_DARK = "too-dark"
    TOO_BLURRY = "too-blurry"
    FACE_HIDDEN = "face-hidden"
    TOO_SHORT = "too-short"
    NOBODY_IN_VIEW = "nobody-in-view"
    NOT_FOLLOWED = "not-followed"
    WHO_IS_MEANT = "who-is-meant"
    NO_SUCH_PERSON = "no-such-person"
    HIDDEN = "hidden"
    ONLY_LEGS = "only-legs"
    SHOULDERS_OUT_OF_VIEW = "shoulders-out-of-view"
    HIPS_OUT_OF_VIEW = "hips-out-of-view"
    ARMS_OUT_OF_VIEW = "arms-out-of-view"
    UNSTEADY = "unsteady"
    SOMEBODY_ELSE_IN_VIEW = "somebody-else-in-view"
    NOTHING_MOVES = "nothing-moves"
    CAMERA_TILTED = "camera-tilted"
    CAMERA_PITCHED = "camera-pitched"
    LEFT_RIGHT_SWAP = "left-right-swap"
    LEFT_RIGHT_UNKNOWN = "left-right-unknown"
    ODD_LENGTHS = "odd-lengths"
    BODY_NOT_RECOGNISED = "body-not-recognised"
    PRIMARY_NOT_SEEN = "primary-not-seen"
    TOO_FAST = "too-fast"
    NO_REPETITION = "no-repetition"
    EXERCISE_UNCLEAR = "exercise-unclear"
    ANOTHER_EXERCISE = "another-exercise"
    TWO_EXERCISES = "two-exercises"
    ANOTHER_POSITION = "another-position"
    TOO_LITTLE_IN_COMMON = "too-little-in-common"
    SAME_VIEW_TWICE = "same-view-twice"
    VIEWS_DO_NOT_FIT = "views-do-not-fit"
    VIEWS_OF_OTHER_SETS = "views-of-other-sets"
    VIEWS_NOT_TIMED = "views-not-timed"
    VIEWS_RECORDED_APART = "views-recorded-apart"
    OTHER_CLIP_UNUSABLE = "other-clip-unusable"
    FILMS_DISAGREE = "films-disagree"
    JUDGED_IN_OTHER_FILM = "judged-in-other-film"


NOT_JOINED = frozenset(
    {
        ProblemCode.TOO_LITTLE_IN_COMMON,
        ProblemCode.SAME_VIEW_TWICE,
        ProblemCode.VIEWS_DO_NOT_FIT,
        ProblemCode.VIEWS_OF_OTHER_SETS,
        ProblemCode.VIEWS_NOT_TIMED,
        ProblemCode.VIEWS_RECORDED_APART,
        ProblemCode.OTHER_CLIP_UNUSABLE,
    }
)
"""Why two clips of one set were not joined."""


class ReasonCode(StrEnum):
    """Why a value is missing, or too uncertain to judge by (table ``reason``)."""

    NOT_SEEN = "not-seen"
    NOBODY_FOUND = "nobody-found"
    TRUNK_NOT_SEEN = "trunk-not-seen"
    NOT_UPRIGHT = "not-upright"
    HEAD_RESTS = "head-rests"
    NO_PLANE = "no-plane"
    SIDES_EXCHANGED = "sides-exchanged"
    NO_ROTATION = "no-rotation"
    BODY_LINE_NOT_SEEN = "body-line-not-seen"
    SHOULDER_NOT_SEEN = "shoulder-not-seen"
    ARM_HIDDEN = "arm-hidden"
    START_NOT_SEEN = "start-not-seen"
    PART_NOT_SEEN = "part-not-seen"
    TOO_LITTLE_SEEN = "too-little-seen"
    TOO_COARSE = "too-coarse"
    TOO_COARSE_TO_LEARN = "too-coarse-to-learn"
    NOT_WHOLE = "not-whole"
    ONLY_RESTED = "only-rested"


class CueCode(StrEnum):
    """What a client is told that no exercise file has words for (table ``cue``)."""

    FEW_CIRCLES = "few-circles"


class RoundCode(StrEnum):
    """What a round of a compound exercise lacks (table ``round``)."""

    LEFT_OUT = "left-out"
    NOT_RECOGNISED = "not-recognised"
    FEW_CIRCLES = "few-circles"
    OPEN_ORDER = "open-order"
    OTHER_ORDER = "other-order"


class PreflightCode(StrEnum):
    """How well a clip is filmed (table ``preflight``)."""

    GOOD_VIEW = "good-view"
    WELL_IN_VIEW = "well-in-view"
    VIEW_UNKNOWN = "view-unknown"
    BETTER_VIEW = "better-view"
    POOR_VIEW = "poor-view"
    WITH_A_NOTE = "with-a-note"


class ViewsCode(StrEnum):
    """How two cameras fit that filmed one set (table ``views``)."""

    STARTED_LATER = "started-later"
    STARTED_EARLIER = "started-earlier"
    ONE_SET_BY_SOUND = "one-set-by-sound"
    ONE_SET_BY_RECORDING_TIMES = "one-set-by-recording-times"
    ONE_SET_BY_MOVEMENT = "one-set-by-movement"


MessageCode = ViewsCode | ProblemCode | ReasonCode | CueCode | RoundCode | PreflightCode
TABLES: Mapping[type[StrEnum], str] = {
    ViewsCode: "views",
    ProblemCode: "problem",
    ReasonCode: "reason",
    CueCode: "cue",
    RoundCode: "round",
    PreflightCode: "preflight",
}
"""Where the sentences of each kind of code stand in the strings of a language."""


@dataclass(frozen=True, slots=True)
class Message:
    """A code with its parameters: a sentence that is still to be said.

    ``form`` chooses among several sentences of one code (``too-small``: ``picture``, ``person``).
    """

    code: MessageCode
    params: Params = field(default_factory=dict)
    form: str = ""

    @property
    def key(self) -> str:
        """Where its sentence stands in the strings of a language."""
        own = f"{TABLES[type(self.code)]}.{self.code}"
        return f"{own}.{self.form}" if self.form else own
