"""From a reading and a check to a verdict.

Decision rule (terms of JCGM 106:2012): simple acceptance and guarded rejection. A value inside the
limits is ``within``; it is ``outside`` only when it passes a limit by more than its uncertainty
allows at 95 % one-sided; between the two it is ``borderline``. Where the uncertainty is as wide as
the band of tolerance the camera cannot decide, and the verdict is ``not-measurable``, unless the
value is so far to one side of a limit that it is sure all the same.
"""

from formcheck.catalogue.codes import Message, Params, ReasonCode, Verdict
from formcheck.checks.result import Finding
from formcheck.checks.statistics import ONE_SIDED_95, RESOLVABLE_SDS, Reading, band
from formcheck.exercises.schema import Check


def judge(check: Check, reading: Reading) -> Finding:
    """The finding of one check from its reading."""
    low, high = check.limits
    margin, verdict, reason = None, Verdict.NOT_MEASURABLE, reading.reason
    if reading.value is not None and reading.sd is not None:
        margin = min(
            reading.value - low if low is not None else float("inf"),
            high - reading.value if high is not None else float("inf"),
        )
        sure = abs(margin) > ONE_SIDED_95 * reading.sd
        if sure or RESOLVABLE_SDS * reading.sd <= band(check) or check.tolerance == 0:
            verdict = _verdict(margin, reading.sd)
        else:
            margin = None
            coarse: Params = {"sd": reading.sd, "unit": reading.unit}
            reason = Message(ReasonCode.TOO_COARSE, coarse)
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
    )


def _verdict(margin: float, sd: float) -> Verdict:
    if margin >= 0:
        return Verdict.WITHIN
    return Verdict.OUTSIDE if -margin > ONE_SIDED_95 * sd else Verdict.BORDERLINE
