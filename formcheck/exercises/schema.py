"""The typed form of an exercise file. Unknown keys are refused; every number has a unit in its name
or takes the unit of the measure it belongs to (degrees, centimetres, seconds).
"""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

TRACE_MEASURES = (
    "elbow_flexion",
    "shoulder_elevation",
    "plane_of_elevation",
    "axial_rotation",
    "hike",
    "upper_arm_to_vertical",
    "protraction",
    "hand_height",
    "trunk_lean_side",
    "trunk_lean_forward",
    "trunk_turn",
    "body_line",
    "hip_off_line",
)
REP_MEASURES = ("hold", "duration", "peak_speed", "range", "steadiness", "roundness")

MovementKind = Literal["rep", "hold", "circle"]
Statistic = Literal["max", "min", "mean", "range", "worst", "value"]
Phase = Literal["whole", "effort", "top", "return", "start"]
Importance = Literal["safety", "position", "range", "tempo"]
ViewName = Literal["front", "back", "left", "right", "side", "oblique", "back-oblique"]
Text = Annotated[str, Field(min_length=1)]
Name = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class Primary(_Strict):
    """The measure whose rise and fall makes a repetition."""

    measure: Literal[TRACE_MEASURES]  # type: ignore[valid-type]
    direction: Literal["rise", "fall"] = "rise"
    min_range: float = Field(gt=0, description="smallest excursion that can be a repetition at all")
    follow: Literal[TRACE_MEASURES] | None = Field(  # type: ignore[valid-type]
        default=None,
        description="a measure whose excursion after the return still belongs to the repetition",
    )


class Check(_Strict):
    """One thing to judge in each repetition.

    The target lies between ``low`` and ``high`` (either may be left out); ``tolerance`` widens it
    on both sides before a verdict is given. ``statistic`` is taken over ``phase`` (``max`` and
    ``min`` are values sustained for a moment, ``worst`` is the one furthest from the target,
    ``range`` is max less min); the measures of a repetition as a whole (hold, duration,
    peak_speed, range, steadiness, roundness) take statistic ``value``.
    """

    id: Name
    measure: Literal[TRACE_MEASURES + REP_MEASURES]  # type: ignore[valid-type]
    statistic: Statistic
    phase: Phase = "whole"
    relative: bool = Field(
        default=False, description="measure from the value at the repetition's own start"
    )
    low: float | None = None
    high: float | None = None
    tolerance: float = Field(ge=0)
    importance: Importance
    cue: Text = Field(description="one plain, kind sentence for the client when it is outside")
    praise: Text = Field(description="one true sentence when every repetition is within")
    source: Text
    side: Literal["working", "other"] = "working"

    @model_validator(mode="after")
    def _consistent(self) -> "Check":
        if self.low is None and self.high is None:
            raise ValueError("give low, high or both")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        if (self.measure in REP_MEASURES) != (self.statistic == "value"):
            raise ValueError(
                f"statistic 'value' belongs to {', '.join(REP_MEASURES)} and to nothing else"
            )
        return self


class Dose(_Strict):
    """What is prescribed for one set; ``per_direction`` counts circles each way."""

    count: int = Field(ge=1, le=100)
    per_direction: bool = False
    sets: int = Field(default=1, ge=1, le=20)
    hold_s: float | None = Field(default=None, gt=0, le=600)
    source: Text


class Filming(_Strict):
    """Where the camera should stand; best view first."""

    best: tuple[ViewName, ...] = Field(min_length=1, strict=False)
    usable: tuple[ViewName, ...] = Field(default=(), strict=False)
    advice: Text


class Exercise(_Strict):
    """One exercise as the coach prescribes it."""

    name: Name
    title: Text
    summary: Text = Field(description="what the client does, in two or three plain sentences")
    start_position: Text
    position: Literal["standing", "sitting", "lying", "side-lying", "prone", "push-up", "any"]
    arms: Literal["one", "both"] = Field(
        description="whether one arm works at a time or both together"
    )
    movement: MovementKind
    primary: Primary
    dose: Dose
    filming: Filming
    checks: tuple[Check, ...] = Field(strict=False)
    cautions: tuple[Text, ...] = Field(min_length=1, strict=False)
    look_yourself: tuple[Text, ...] = Field(
        strict=False, description="what the camera cannot judge, for the coach's eye"
    )
    source: Text
    like: Text | None = Field(
        default=None,
        description="the exercise (or .toml file) this one differs from; only differences follow",
    )
    without: tuple[Name, ...] = Field(
        default=(), strict=False, description="ids of that exercise's checks to leave out"
    )

    @model_validator(mode="after")
    def _unique_ids(self) -> "Exercise":
        ids = [check.id for check in self.checks]
        twice = sorted({i for i in ids if ids.count(i) > 1})
        if twice:
            raise ValueError(f"check id used twice: {', '.join(twice)}")
        return self
