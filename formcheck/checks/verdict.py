"""From a reading and a check to a finding; ``decision`` states the rule."""

from formcheck.catalogue.codes import Message, Params, ReasonCode, Verdict
from formcheck.checks.decision import beyond, coarsest_sd, decide
from formcheck.checks.habits import NO_HABIT, Habit
from formcheck.checks.result import Finding
from formcheck.checks.statistics import Reading
from formcheck.exercises.schema import DEFAULT_DECISION, Check, Decision


def judge(
    check: Check,
    reading: Reading,
    decision: Decision = DEFAULT_DECISION,
    habit: Habit = NO_HABIT,
) -> Finding:
    """The finding of one check from its reading, ``habit`` of the estimator undone."""
    low, high = check.limits
    margin, verdict, reason = None, Verdict.NOT_MEASURABLE, reading.reason
    probability = None
    if reading.value is not None and reading.sd is not None:
        value, sd = habit.undone(check, reading.value, reading.sd)
        outside = beyond(check, value, sd)
        verdict = decide(outside, decision, coarse=sd > coarsest_sd(check, decision))
        if verdict is Verdict.NOT_MEASURABLE:
            coarse: Params = {"sd": sd, "unit": reading.unit}
            reason = Message(ReasonCode.TOO_COARSE, coarse)
        else:
            probability = outside.probability
            margin = min(
                reading.value - low if low is not None else float("inf"),
                high - reading.value if high is not None else float("inf"),
            )
    return Finding(
        id=check.id,
        measure=check.measure,
        statistic=check.statistic,
        phase=check.phase,
        value=reading.value,
        uncertainty=reading.sd,
        unit=reading.unit,
        low=low,
        high=high,
        margin=margin,
        verdict=verdict,
        at_s=reading.at_s,
        cue=check.cue_for(reading.value),
        reason=reason,
        probability_outside=probability,
        essential=check.essential,
        safety_limit=check.safety_limit,
        title=check.title,
    )
