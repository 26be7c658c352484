"""Limits of safety that were passed, or may have been: which, when, in what, and by how much."""

from dataclasses import dataclass
from datetime import date

from formcheck.catalogue.codes import LimitState
from formcheck.records.sets import result_of, sets_of
from formcheck.records.store import Store


@dataclass(frozen=True, slots=True)
class PassedLimit:
    """A limit that a recorded set passed, or may have, as its result has it.

    ``value`` and its standard ``uncertainty`` are of the moment that most probably passes it, with the
    limit's ends in the same ``unit``; an end that it does not have is None.
    """

    day: date
    set_id: int
    exercise: str
    state: LimitState
    measure: str
    value: float | None
    uncertainty: float | None
    unit: str
    low: float | None
    high: float | None


def passed_limits(store: Store, alias: str) -> list[PassedLimit]:
    """The limits that a client passed, or may have, by day, whatever exercise each clip showed."""
    return [
        PassedLimit(
            one.day,
            one.id,
            one.exercise,
            LimitState(limit["state"]),
            *(limit[name] for name in ("measure", "value", "uncertainty", "unit", "low", "high")),
        )
        for one in sets_of(store, alias, checks=False)
        if one.limit_state and LimitState(one.limit_state).alarming
        for limit in result_of(store, one.id)["limits"]
        if LimitState(limit["state"]).alarming
    ]
