"""A programme file: what may stand in it.

What it means is in ``programme.py``.
"""

import tomllib
from collections.abc import Sequence
from functools import cache
from typing import Any, Literal

from pydantic import Field, TypeAdapter, model_validator

from formcheck.catalogue.measures import MEASURES
from formcheck.exercises.schema import Name, Strict, Text, TraceMeasure, unique

NEVER = ("never_above", "never_below")


class Limit(Strict):
    """A border that this client's measure must never cross; it has no tolerance."""

    measure: TraceMeasure = Field(description="the measure")
    never_above: float | None = Field(default=None, description="the most it may ever be")
    never_below: float | None = Field(default=None, description="the least it may ever be")
    cue: Text = Field(
        default="Go only as far as was agreed with you.",
        description="what to tell the client when it was crossed",
    )

    @model_validator(mode="after")
    def _consistent(self) -> "Limit":
        above, below = self.never_above, self.never_below
        if above is None and below is None:
            raise ValueError("give never_above, never_below or both")
        if above is not None and below is not None and below >= above:
            raise ValueError(f"never_below {below:g} leaves nothing under never_above {above:g}")
        least, most = MEASURES[self.measure].bounds
        for key, value in (("never_above", above), ("never_below", below)):
            if value is not None and not least <= value <= most:
                allowed = f"from {least:g} to {most:g} for {self.measure}"
                raise ValueError(f"{key} = {value:g}: must be {allowed}")
        return self


def common_limits(text: str) -> tuple[Limit, ...]:
    """The limits that hold in every exercise, of a programme file that was found valid."""
    return _limits().validate_python(tomllib.loads(text).get("limits", ()))


@cache
def _limits() -> TypeAdapter[tuple[Limit, ...]]:
    return TypeAdapter(tuple[Limit, ...])


def _ends(limits: Sequence[Limit]) -> list[str]:
    """The ends that limits set, by measure and key."""
    return [
        f"{limit.measure}.{key}"
        for limit in limits
        for key in NEVER
        if getattr(limit, key) is not None
    ]


class Item(Strict):
    """One exercise of a programme and what differs in it for this client."""

    exercise: Text = Field(description="its name in the library, or the path of an exercise file")
    side: Literal["left", "right", "both", "alternating"] = Field(
        description="the client's own left or right; both or alternating in one clip"
    )
    after_sessions: int = Field(
        default=0, ge=0, le=200, description="days of this phase before it is added"
    )
    dose: dict[str, Any] = Field(
        default_factory=dict, description="keys of the exercise's [dose] that differ"
    )
    decision: dict[str, Any] = Field(
        default_factory=dict, description="keys of the exercise's [decision] that differ"
    )
    checks: tuple[dict[str, Any], ...] = Field(
        default=(), strict=False, description="checks that differ, matched by id"
    )
    parts: tuple[dict[str, Any], ...] = Field(
        default=(), strict=False, description="parts that differ, matched by name"
    )
    limits: tuple[Limit, ...] = Field(
        default=(), strict=False, description="borders that must never be crossed"
    )
    load: Text | None = Field(
        default=None, description='what is held or pulled, such as "2 kg" or "red band"'
    )
    note: Text | None = Field(default=None, description="a word to the client, shown on the sheet")

    @model_validator(mode="after")
    def _unique_limits(self) -> "Item":
        unique("limits", _ends(self.limits))
        return self


class Rule(Strict):
    """One rule of order: an exercise comes after some sessions of another."""

    exercise: Name = Field(description="the exercise that waits")
    after: Name = Field(description="the exercise that comes first")
    sessions: int = Field(ge=1, le=100, description="sessions with the first one alone")
    leave_out_if: Text | None = Field(default=None, description="when to leave it out altogether")
    source: Text = Field(description="where the rule comes from, or: common practice, no source")


class Rules(Strict):
    """A file of order rules."""

    order: tuple[Rule, ...] = Field(strict=False, description="the rules")


class Entry(Strict):
    """What must be met before a phase is proposed; the coach's signature is always needed.

    All of it is about the phase before.
    """

    days: int = Field(default=0, ge=0, le=500, description="days on which something of it was done")
    weeks: float = Field(default=0, ge=0, le=200, description="weeks since it began")
    share_within: float | None = Field(
        default=None,
        ge=0,
        le=1,
        description="least share of what was judged in it that was within, 0 to 1",
    )
    no_limit_passed: bool = Field(
        default=True, description="no limit was passed, or may have been, in its last sessions"
    )
    pain_during_at_most: int | None = Field(
        default=None, ge=0, le=10, description="most pain during the last sessions, 0 to 10"
    )
    settled_by_morning: bool = Field(
        default=False, description="pain the next morning was no more than before the session"
    )
    last_sessions: int = Field(
        default=3,
        ge=1,
        le=50,
        description="how many of its last days the rules on limits, pain "
        "and the share within look at",
    )


class PhaseFile(Strict):
    """One phase of a programme: its exercises, and what comes before it."""

    name: Text = Field(description="what this phase is called")
    items: tuple[Item, ...] = Field(min_length=1, strict=False, description="the exercises")
    enter: Entry | None = Field(
        default=None, description="what must be met before; not for the first phase"
    )


class ProgrammeFile(Strict):
    """A programme as it stands in its file: one phase with its items, or several phases."""

    client: Text = Field(description="an alias for the client, never a name")
    phase: Text | None = Field(
        default=None, description="what this stretch is called, where there is only one"
    )
    items: tuple[Item, ...] = Field(
        default=(), strict=False, description="its exercises, where there is only one phase"
    )
    phases: tuple[PhaseFile, ...] = Field(
        default=(), strict=False, description="the phases, in the order in which they follow"
    )
    stature_cm: float | None = Field(
        default=None,
        ge=80,
        le=230,
        description="the client's height; centimetre measures scale with it",
    )
    pain_at_most: int | None = Field(
        default=None, ge=0, le=10, description="most pain, 0 to 10, with which the client may go on"
    )
    limits: tuple[Limit, ...] = Field(
        default=(), strict=False, description="borders in every exercise; the tighter one holds"
    )
    order: tuple[Rule, ...] = Field(
        default=(), strict=False, description="rules of order besides the usual ones"
    )

    @model_validator(mode="after")
    def _consistent(self) -> "ProgrammeFile":
        unique("limits", _ends(self.limits))
        if self.phases and (self.phase or self.items):
            raise ValueError("give a phase with its items, or phases, and not both")
        if not self.phases and not self.phase:
            raise ValueError("phase is missing: say what this stretch of the programme is called")
        if not self.phases and not self.items:
            raise ValueError("items is missing: list at least one exercise")
        unique("phases", [one.name for one in self.phases])
        if self.phases and self.phases[0].enter is not None:
            raise ValueError(
                f'phases "{self.phases[0].name}".enter: the first phase is where the client starts; '
                "leave it out there"
            )
        return self

    @property
    def all_phases(self) -> tuple[PhaseFile, ...]:
        """The phases; the only one where there are no several."""
        return self.phases or (PhaseFile(name=self.phase or "", items=self.items),)
