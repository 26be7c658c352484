"""What a result comes to: its counts, and each check over its whole repetitions."""

import hashlib
import json
import statistics
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from formcheck.catalogue.codes import LimitState, Verdict


@dataclass(frozen=True, slots=True)
class Overruled:
    """The coach's verdict on a check of the repetition at ``at_s`` of the clip."""

    at_s: float
    check_id: str
    side: str
    verdict: str


@dataclass(frozen=True, slots=True)
class MeasuredCheck:
    """A check over the whole repetitions of a set.

    ``value`` is the mean of the repetitions, ``spread`` their standard deviation and
    ``uncertainty`` the mean of their standard uncertainties, all in ``unit``; None where nothing was
    measured. ``low`` and ``high`` are the limits applied. The others count repetitions by verdict,
    the coach's where one was given. ``part`` and ``side`` are empty where there is none.
    """

    part: str
    check_id: str
    side: str
    measure: str
    statistic: str
    phase: str
    unit: str
    value: float | None
    spread: float | None
    uncertainty: float | None
    low: float | None
    high: float | None
    within: int
    outside: int
    borderline: int
    not_measurable: int


@dataclass(frozen=True, slots=True)
class Counts:
    """What was done in a clip: sets, those that surely reached the dose, whole repetitions, and the
    seconds held in all. ``limit_state`` is the gravest of the limits of safety, empty if none was set.
    """

    sets: int
    sets_met: int
    count: int
    held_s: float
    limit_state: str


def result_sha256(result: Mapping[str, Any]) -> str:
    """The hash of what a result says, however it is written down."""
    text = json.dumps(result, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def counts_of(result: Mapping[str, Any]) -> Counts:
    """The counts of a result, as ``result.json`` has it."""
    reps, dose = whole_reps(result), result["dose"]
    by_set = dose["counted"].get("by_set", ())
    states = [LimitState(limit["state"]) for limit in result.get("limits", ())]
    return Counts(
        sets=len(by_set) or int(bool(reps)),
        sets_met=dose["counted"].get("sets_done", int(dose["met"] is True)),
        count=len(reps),
        held_s=float(sum(rep["hold_s"] or 0.0 for rep in reps)),
        limit_state=min(states, key=lambda state: state.rank, default=""),
    )


def checks_of(
    result: Mapping[str, Any], overruled: Sequence[Overruled] = ()
) -> list[MeasuredCheck]:
    """Each check of a result over its whole repetitions, with the coach's verdicts counted."""
    found: dict[tuple[str, str, str], list[tuple[dict[str, Any], str]]] = {}
    for rep in whole_reps(result):
        for check in rep["checks"]:
            key = (rep["part"] or "", check["id"], check["side"] or "")
            found.setdefault(key, []).append((check, _verdict(rep, check, overruled)))
    return [_over_set(*key, several) for key, several in found.items()]


def whole_reps(result: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The repetitions that were seen from start to end."""
    return [rep for rep in result["reps"] if not rep["partial"]]


def spans(result: Mapping[str, Any]) -> Iterator[tuple[str, float, float]]:
    """Side, start and end in seconds of each whole repetition."""
    return ((rep["side"], rep["start_s"], rep["end_s"]) for rep in whole_reps(result))


def _verdict(
    rep: Mapping[str, Any], check: Mapping[str, Any], overruled: Sequence[Overruled]
) -> str:
    """The latest verdict of the coach on that check of that repetition, or else the measured one."""
    own = [
        one.verdict
        for one in overruled
        if (one.check_id, one.side) == (check["id"], check["side"] or "")
        and rep["start_s"] <= one.at_s <= rep["end_s"]
    ]
    return own[-1] if own else str(check["verdict"])


def _over_set(
    part: str, check_id: str, side: str, several: Sequence[tuple[dict[str, Any], str]]
) -> MeasuredCheck:
    seen = [check for check, _ in several if check["value"] is not None]
    values = [float(check["value"]) for check in seen]
    sds = [float(check["uncertainty"]) for check in seen if check["uncertainty"] is not None]
    verdicts = Counter(verdict for _, verdict in several)
    last = several[-1][0]
    return MeasuredCheck(
        part=part,
        check_id=check_id,
        side=side,
        measure=last["measure"],
        statistic=last["statistic"],
        phase=last["phase"],
        unit=last["unit"],
        value=statistics.fmean(values) if values else None,
        spread=statistics.stdev(values) if len(values) > 1 else None,
        uncertainty=statistics.fmean(sds) if sds else None,
        low=last["low"],
        high=last["high"],
        within=verdicts[Verdict.WITHIN],
        outside=verdicts[Verdict.OUTSIDE],
        borderline=verdicts[Verdict.BORDERLINE],
        not_measurable=verdicts[Verdict.NOT_MEASURABLE],
    )
