"""From a reading and a check to a finding; ``decision`` states the rule."""

from formcheck.catalogue.codes import Message, Params, ReasonCode, Verdict
from formcheck.checks.decision import beyond, coarsest_sd, decide
from formcheck.checks.reading_errors import ReadingErrors, errors_of
from formcheck.checks.result import Finding
from formcheck.checks.statistics import Reading
from formcheck.exercises.schema import DEFAULT_DECISION, Check, Decision


def judge(
    check: Check,
    reading: Reading,
    decision: Decision = DEFAULT_DECISION,
    errors: ReadingErrors | None = None,
) -> Finding:
    """The finding of one check from its reading; ``errors`` is how such readings err, by default as
    is known of them.
    """
    errors = errors or errors_of(check)
    low, high = check.limits
    margin, verdict, reason = None, Verdict.NOT_MEASURABLE, reading.reason
    probability = None
    if reading.value is not None and reading.sd is not None:
        outside = beyond(check, reading.value, reading.sd, errors)
        coarse = reading.sd > coarsest_sd(check, decision, errors)
        verdict = decide(outside, decision, coarse=coarse)
        if verdict is Verdict.NOT_MEASURABLE:
            params: Params = {"sd": reading.sd, "unit": reading.unit}
            reason = Message(ReasonCode.TOO_COARSE, params)
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
