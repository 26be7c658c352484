"""The typed form of an exercise file. Unknown keys are refused; every number has a unit in its name
or takes the unit of the measure it belongs to (degrees, centimetres, seconds).
"""

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from formcheck.catalogue.codes import Importance
from formcheck.catalogue.measures import MEASURES, Scope, names_of
from formcheck.catalogue.views import FilmingView

if TYPE_CHECKING:
    TraceMeasure = str
    GirdleMeasure = str
    AnyMeasure = str
else:
    TraceMeasure = Literal[names_of(Scope.ARM, Scope.GIRDLE, Scope.TRUNK)]
    GirdleMeasure = Literal[names_of(Scope.GIRDLE)]
    AnyMeasure = Literal[tuple(MEASURES)]
MovementKind = Literal["rep", "hold", "circle"]
Statistic = Literal["max", "min", "mean", "range", "spread", "worst", "value"]
CHANGES: tuple[Statistic, ...] = ("range", "spread")
"""The statistics that tell a change, whatever the measure was before."""
Phase = Literal["whole", "effort", "top", "return", "start"]
View = Annotated[FilmingView, Field(strict=False)]
Text = Annotated[str, Field(min_length=1)]
Name = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]


class Strict(BaseModel):
    """A table of a file: unknown keys refused, no conversions, frozen."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


def ordered(low: float | None, high: float | None) -> None:
    """Raise ValueError unless at least one end is given and they are in order."""
    if low is None and high is None:
        raise ValueError("give low, high or both")
    if low is not None and high is not None and low > high:
        raise ValueError(f"low {low:g} is above high {high:g}")


def unique(what: str, names: list[str]) -> None:
    """Raise ValueError with the names that stand there twice."""
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"{what} used twice: {', '.join(twice)}")


class Place(Strict):
    """A range of one measure; together several of them say where the arm is."""

    measure: TraceMeasure = Field(description="the measure")
    low: float | None = Field(default=None, description="it is at least this")
    high: float | None = Field(default=None, description="it is at most this")

    @model_validator(mode="after")
    def _consistent(self) -> "Place":
        ordered(self.low, self.high)
        return self


class Primary(Strict):
    """The measure whose rise and fall makes a repetition."""

    measure: TraceMeasure = Field(description="the measure that shows the movement best")
    direction: Literal["rise", "fall"] = Field(
        default="rise", description="which way the effort moves it"
    )
    min_range: float = Field(gt=0, description="smallest excursion that can be a repetition at all")
    rest: tuple[Place, ...] = Field(
        default=(),
        strict=False,
        description="where the arm rests before each effort, if getting there is none yet",
    )
    follow: GirdleMeasure | None = Field(
        default=None,
        description="hike or protraction, if its excursion after the return still belongs to it",
    )


class Check(Strict):
    """One thing to judge in each repetition.

    The target lies between ``low`` and ``high`` (either may be left out); ``tolerance`` widens it
    on both sides before a verdict is given. ``statistic`` is taken over ``phase`` (``max`` and
    ``min`` are values sustained for a moment, ``worst`` is the one furthest from the target,
    ``range`` is max less min, ``spread`` the same from the 3rd to the 97th percentile); the measures
    of a repetition as a whole (hold, duration, peak_speed, range, follow_range, steadiness,
    roundness) take statistic ``value``.
    """

    id: Name = Field(description="its name within the exercise")
    title: Text | None = Field(
        default=None,
        description="what people call it, in two or three words that fit whatever the verdict",
    )
    measure: AnyMeasure = Field(description="what is measured")
    statistic: Statistic = Field(description="which value of the measure counts")
    phase: Phase = Field(default="whole", description="the stretch of the repetition it is over")
    relative: bool = Field(
        default=False, description="measure from the value at the repetition's own start"
    )
    low: float | None = Field(default=None, description="lower end of the target")
    high: float | None = Field(default=None, description="upper end of the target")
    tolerance: float = Field(ge=0, description="how far beyond the target still passes")
    importance: Importance = Field(
        strict=False, description="decides which cues the client gets first"
    )
    essential: bool = Field(
        default=False, description="true if this is what makes the exercise: not done, unless seen"
    )
    cue: Text = Field(description="one plain, kind sentence for the client when it is outside")
    cue_above: Text | None = Field(default=None, description="what to say instead when it is more")
    cue_below: Text | None = Field(default=None, description="what to say instead when it is less")
    praise: Text = Field(description="one true sentence when every repetition is within")
    source: Text = Field(description="where the numbers come from, or: common practice, no source")
    side: Literal["working", "other"] = Field(default="working", description="which arm it is of")
    safety_limit: bool = Field(
        default=False,
        description="true if its limits must never be passed: kept only where surely kept",
    )

    @model_validator(mode="after")
    def _consistent(self) -> "Check":
        ordered(self.low, self.high)
        for words, end in (("cue_above", "high"), ("cue_below", "low")):
            if getattr(self, words) is not None and getattr(self, end) is None:
                raise ValueError(f"{words} is never said without {end}")
        if self.essential and self.importance is Importance.SAFETY:
            raise ValueError(
                "essential is what must be done to do the exercise at all; "
                'what must never happen is importance = "safety", so leave one of them out'
            )
        over_time = MEASURES[self.measure].over_time
        if not over_time and self.statistic != "value":
            raise ValueError(f'{self.measure} is one value already; its statistic is "value"')
        if over_time and self.statistic == "value":
            whole = ", ".join(names_of(Scope.REPETITION))
            raise ValueError(f'statistic "value" is only for {whole}')
        return self

    def cue_for(self, value: float | None) -> str:
        """What to tell the client who did so much: the words for that end where there are any."""
        low, high = self.limits
        if value is None:
            return self.cue
        if high is not None and value > high:
            return self.cue_above or self.cue
        return (self.cue_below or self.cue) if low is not None and value < low else self.cue

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """The target widened by the tolerance: what a value is judged by."""
        return (
            None if self.low is None else self.low - self.tolerance,
            None if self.high is None else self.high + self.tolerance,
        )


class Decision(Strict):
    """How sure a verdict must be.

    Every check of every repetition has a probability that the true value lies beyond its limits.
    Between the two thresholds the verdict is ``borderline``.
    """

    within_to: float = Field(
        default=0.1, gt=0, lt=0.5, description="within up to this probability of being outside"
    )
    outside_from: float = Field(
        default=0.95, gt=0.5, lt=1, description="outside from this probability of being outside on"
    )
    scored_from: float = Field(
        default=0.5, ge=0, le=1, description="least share of the checks, by weight, for a score"
    )


DEFAULT_DECISION = Decision()


class Dose(Strict):
    """What is prescribed for one set.

    Written over another exercise, ``hold_s`` also becomes the target of its checks of ``hold``,
    and the sum of ``tempo_s`` that of its checks of ``duration``, with a cue and praise that say so,
    unless those are given too.
    """

    count: int = Field(
        ge=1, le=100, description="repetitions, holds or circles; cycles if there are parts"
    )
    per_direction: bool = Field(default=False, description="true if count is for each direction")
    sets: int = Field(default=1, ge=1, le=20, description="sets one after the other")
    hold_s: float | None = Field(default=None, gt=0, le=600, description="seconds of one hold")
    rest_s: float | None = Field(default=None, gt=0, le=3600, description="rest between sets")
    set_gap_s: float = Field(
        default=5.0, gt=0, le=600, description="a longer rest in a clip begins another set"
    )
    tempo_s: tuple[float, float, float] | None = Field(
        default=None, strict=False, description="seconds for the effort, the pause and the return"
    )
    days_a_week: int | None = Field(default=None, ge=1, le=7, description="days on which it is due")
    source: Text = Field(description="where the numbers come from, or: common practice, no source")


class Filming(Strict):
    """Where the camera should stand; best view first."""

    best: tuple[View, ...] = Field(
        min_length=1, strict=False, description="views that show the most, best first"
    )
    usable: tuple[View, ...] = Field(
        default=(), strict=False, description="views that still show something"
    )
    advice: Text = Field(description="how to set the camera up, in plain words for the client")


class ArmAngles(Strict):
    """Where an arm is drawn, in degrees as they are measured."""

    shoulder_elevation: float = Field(ge=0, le=180, description="upper arm to the trunk")
    plane_of_elevation: float = Field(ge=-180, le=180, description="to the side 0, ahead 90")
    axial_rotation: float = Field(ge=-180, le=180, description="inward is positive")
    elbow_flexion: float = Field(ge=0, le=160, description="straight is 0")


class Drawing(Strict):
    """How start and end are drawn where the checks leave it open. Nothing is judged by it.

    An angle that a check asks for, or a limit forbids, is drawn as it says, whatever stands here.
    """

    start: ArmAngles = Field(description="the working arm before the effort")
    end: ArmAngles = Field(description="the working arm at the top of the effort")
    other: ArmAngles | None = Field(
        default=None, description="the other arm where one works, if it does not hang"
    )
    trunk_lean_forward: float = Field(
        default=0.0, ge=0, le=90, description="lean of somebody who stands or sits"
    )
    support: Literal["none", "wall-front", "wall-back", "wall-side", "table", "bench", "knees"] = (
        Field(
            default="none", description="what the body has besides the floor; knees: not the feet"
        )
    )
    lies_on: Literal["other", "working"] = Field(
        default="other", description="the arm that is below, for side-lying"
    )


class Sign(Place):
    """A range of one measure that tells an exercise from others. Nothing is judged by it."""

    # The library's follow from how each exercise is described.

    phase: Phase = Field(default="top", description="the stretch of the repetition it is over")


class Part(Strict):
    """One position or movement of a compound exercise; a cycle goes through them in order."""

    name: Name = Field(description="its name within the exercise")
    title: Text = Field(description="what people call it")
    movement: MovementKind = Field(description="a repetition, a hold or a circle")
    primary: Primary = Field(description="the movement that makes this part")
    recognise: tuple[Place, ...] = Field(
        min_length=1,
        strict=False,
        description="where the arm is at the top of this part, told apart from all other parts",
    )
    turn: Literal["forward", "backward"] | None = Field(
        default=None, description="for circles, and needed there: the way they go"
    )
    count: int | None = Field(default=None, ge=1, description="for circles: how many in each round")
    drawing: Drawing | None = Field(default=None, description="how this part is drawn")
    checks: tuple[Check, ...] = Field(strict=False, description="what is judged in this part")
    missed: Text = Field(description="what to tell the client when this part was left out")
    like: Text | None = Field(
        default=None,
        description="the exercise that title, movement, primary and checks come from",
    )
    without: tuple[Name, ...] = Field(
        default=(), strict=False, description="ids of that exercise's checks to leave out"
    )

    @model_validator(mode="after")
    def _unique_ids(self) -> "Part":
        unique("check id", [check.id for check in self.checks])
        return self


class Exercise(Strict):
    """One exercise as the coach prescribes it."""

    name: Name = Field(description="its name; in a file of your own, any that the library lacks")
    title: Text = Field(description="what people call it")
    summary: Text = Field(description="what the client does, in two or three plain sentences")
    start_position: Text = Field(description="how the client stands or lies before the first one")
    position: Literal[
        "standing",
        "sitting",
        "kneeling",
        "hands-and-knees",
        "lying",
        "side-lying",
        "prone",
        "push-up",
        "any",
    ] = Field(description="how the body is held; half-kneeling is kneeling")
    arms: Literal["one", "both"] = Field(
        description="whether one arm works at a time or both together"
    )
    load: Literal["none", "band", "weight", "body"] = Field(
        default="none", description="what the arm works against"
    )
    movement: MovementKind = Field(description="a repetition, a hold or a circle")
    primary: Primary = Field(description="the movement that is counted")
    dose: Dose = Field(description="how much of it")
    filming: Filming = Field(description="where the camera stands")
    drawing: Drawing | None = Field(default=None, description="how start and end are drawn")
    checks: tuple[Check, ...] = Field(strict=False, description="what is judged each time")
    decision: Decision = Field(default=DEFAULT_DECISION, description="how sure a verdict must be")
    parts: tuple[Part, ...] = Field(
        default=(), strict=False, description="the parts of a compound exercise, in their order"
    )
    recognise: tuple[Sign, ...] = Field(
        default=(),
        strict=False,
        description="where the arm is, to tell the exercise from others where its checks do not",
    )
    recognised: bool = Field(
        default=True,
        description="false if a camera cannot tell it from others, so that it must be named",
    )
    cautions: tuple[Text, ...] = Field(
        min_length=1, strict=False, description="when to stop, what to mind; for the client"
    )
    can_judge: tuple[Text, ...] = Field(
        default=(), strict=False, description="what one camera can tell about it"
    )
    cannot_judge: tuple[Text, ...] = Field(
        default=(), strict=False, description="what one camera cannot tell about it"
    )
    look_yourself: tuple[Text, ...] = Field(
        strict=False, description="what the camera cannot judge, for the coach's eye"
    )
    source: Text = Field(
        description="where the exercise comes from, or: common practice, no source"
    )
    like: Text | None = Field(
        default=None,
        description="the exercise (or .toml file) this one differs from; only differences follow",
    )
    without: tuple[Name, ...] = Field(
        default=(), strict=False, description="ids of that exercise's checks to leave out"
    )

    @model_validator(mode="after")
    def _unique_ids(self) -> "Exercise":
        unique("check id", [check.id for check in self.checks])
        unique("part name", [part.name for part in self.parts])
        return self

    @property
    def all_checks(self) -> tuple[tuple[str | None, Check], ...]:
        """Every check with the name of the part it belongs to (None in an exercise of one part)."""
        of_parts = ((part.name, check) for part in self.parts for check in part.checks)
        return (*((None, check) for check in self.checks), *of_parts)

    def checks_of(self, part: str | None) -> tuple[Check, ...]:
        """The checks that apply to a repetition of that part."""
        return tuple(check for name, check in self.all_checks if name in (None, part))

    def __repr__(self) -> str:
        return f"<Exercise {self.name}>"
