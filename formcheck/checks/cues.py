"""What to tell the client: at most two cues, one true praise, and what could not be judged."""

from collections.abc import Sequence

from formcheck.checks.result import Cue, Finding, JudgedRep
from formcheck.exercises.schema import Check, Exercise, Importance

IMPORTANCE: tuple[Importance, ...] = ("safety", "position", "range", "tempo")
MAX_CUES = 2
BORDERLINE_SHARE = 0.5
"""A borderline finding becomes a (soft) cue when at least this share of repetitions show it."""


def choose_cues(exercise: Exercise, reps: Sequence[JudgedRep]) -> tuple[Cue, ...]:
    """At most MAX_CUES cues: certain before doubtful, then by importance, then by how often."""
    ranked = []
    for check in exercise.checks:
        outside = _with_verdict(reps, check, "outside")
        doubtful = _with_verdict(reps, check, "borderline")
        certain = bool(outside)
        if not certain and len(doubtful) < max(BORDERLINE_SHARE * len(reps), 1):
            continue
        seen = outside or doubtful
        rep, finding = min(seen, key=lambda pair: pair[1].margin or 0.0)
        at_s = finding.at_s if finding.at_s is not None else rep.rep.top_start_s
        cue = Cue(check.id, check.cue, rep.rep.index, at_s, len(seen), certain)
        ranked.append((not certain, IMPORTANCE.index(check.importance), -len(seen), cue))
    ranked.sort(key=lambda entry: entry[:3])
    return tuple(cue for *_, cue in ranked[:MAX_CUES])


def choose_praise(exercise: Exercise, reps: Sequence[JudgedRep]) -> str | None:
    """The praise of the most important check that every repetition passed; None if there is none."""
    for importance in IMPORTANCE:
        for check in exercise.checks:
            within = _with_verdict(reps, check, "within")
            if check.importance == importance and reps and len(within) == len(reps):
                return check.praise
    return None


def not_measured(exercise: Exercise, reps: Sequence[JudgedRep]) -> tuple[str, ...]:
    """One plain sentence for each check that no repetition allowed, with the reason and a way out."""
    sentences = []
    for check in exercise.checks:
        missing = _with_verdict(reps, check, "not-measurable")
        if reps and len(missing) == len(reps):
            reason = missing[0][1].reason or "it was not seen"
            best = " or ".join(view.replace("-", " ") for view in exercise.filming.best)
            sentences.append(
                f"{check.id.replace('-', ' ').capitalize()}: {reason}. "
                f"To have it judged, film from the {best}."
            )
    return tuple(sentences)


def _with_verdict(
    reps: Sequence[JudgedRep], check: Check, verdict: str
) -> list[tuple[JudgedRep, Finding]]:
    return [
        (rep, finding)
        for rep in reps
        for finding in rep.findings
        if finding.id == check.id and finding.verdict == verdict
    ]
