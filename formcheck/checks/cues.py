"""What to tell the client: at most two cues, one true praise, and what could not be judged."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

from formcheck.catalogue.codes import Importance, Message, ReasonCode, Verdict
from formcheck.catalogue.views import FilmingView
from formcheck.checks.result import Cue, Finding, JudgedRep, NotMeasured
from formcheck.checks.rounds import RoundsBySide, round_cues
from formcheck.exercises.schema import Check, Exercise
from formcheck.measures.table import FROM_ANYWHERE

BetterView = Callable[[Check], FilmingView | None]
"""Where else to film from so that a check can be decided; None if that is not known."""
_Seen = tuple[JudgedRep, Finding]
MAX_CUES = 2
"""More is not taken in at once. Common practice, no source."""
BORDERLINE_SHARE = 0.5
"""A borderline finding becomes a (soft) cue when at least this share of repetitions show it.
A proposal."""
LIKELY = 2 / 3
"""... each outside with at least this probability, so that wrong is twice as likely as right. Where
it is a toss-up, nobody is asked to change what may well be right. A proposal."""


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A cue that may be given. ``fault`` is what it is about: each is told to the client once."""

    cue: Cue
    importance: Importance
    times_seen: int
    fault: Hashable


def choose_cues(
    exercise: Exercise, reps: Sequence[JudgedRep], rounds: RoundsBySide
) -> tuple[Cue, ...]:
    """At most MAX_CUES cues: certain before doubtful, then by importance, then by how often.

    A part left out or cut short ranks with the checks of range, before them. A cue that two parts
    share in the same words, as circles both ways do, is given once, and so is a fault that two
    checks of one measure find in the same part.
    """
    candidates = [
        *_round_candidates(exercise, reps, rounds),
        *_check_candidates(exercise, reps),
    ]
    first_of_fault: dict[Hashable, Cue] = {}
    for candidate in sorted(candidates, key=_rank):
        first_of_fault.setdefault(candidate.fault, candidate.cue)
    return tuple(first_of_fault.values())[:MAX_CUES]


def _rank(candidate: _Candidate) -> tuple[bool, int, int]:
    """The place of a candidate among others, the first to be told being the least."""
    return not candidate.cue.certain, candidate.importance.rank, -candidate.times_seen


def _round_candidates(
    exercise: Exercise, reps: Sequence[JudgedRep], rounds: RoundsBySide
) -> list[_Candidate]:
    """What rounds lack, ranked as if every repetition showed it."""
    return [
        _Candidate(cue, Importance.RANGE, len(reps), cue.check_id)
        for cue in round_cues(exercise, rounds)
    ]


def _check_candidates(exercise: Exercise, reps: Sequence[JudgedRep]) -> list[_Candidate]:
    """One for each check that found something to work on."""
    found = []
    for check, parts in _by_cue(exercise):
        if check.safety_limit:  # is told by itself, before any cue
            continue
        mine = [judged for part in parts for judged in of_part(reps, part)]
        outside = _with_verdict(mine, check, Verdict.OUTSIDE)
        borderline = _with_verdict(mine, check, Verdict.BORDERLINE)
        seen = _told_alike(outside or [pair for pair in borderline if _likely(pair[1])])
        if outside or len(seen) >= max(BORDERLINE_SHARE * len(mine), 1):
            seen = seen if outside else _perhaps_not(borderline, seen[0][1].cue)
            found.append(_check_candidate(check, parts, seen, certain=bool(outside)))
    return found


def _perhaps_not(borderline: Sequence[_Seen], cue: str) -> list[_Seen]:
    """All that the pages mark as perhaps not on target and this cue is about, so that they count alike."""
    return [pair for pair in borderline if pair[1].perhaps_not and pair[1].cue == cue]


def _check_candidate(
    check: Check, parts: Sequence[str | None], seen: Sequence[_Seen], *, certain: bool
) -> _Candidate:
    """The cue of a check, at the worst of the repetitions that showed it."""
    judged, finding = min(seen, key=lambda pair: pair[1].margin or 0.0)
    cue = Cue(
        check_id=check.id,
        sentence=finding.cue,
        rep_index=judged.rep.index,
        at_s=finding.at_s if finding.at_s is not None else judged.rep.top_start_s,
        times_seen=len(seen),
        certain=certain,
    )
    above = finding.high is not None and (finding.value or 0.0) > finding.high
    fault = (tuple(parts), check.measure, check.phase, check.relative, above)
    return _Candidate(cue, check.importance, len(seen), fault)


def choose_praise(exercise: Exercise, reps: Sequence[JudgedRep]) -> str | None:
    """The praise of the most important check that every repetition surely passed, if there is one.

    Praise of a toss-up may be praise of a fault, so that a borderline check is not praised. Nor is
    a measure praised while another check of it finds a fault: hips that do not rise are no
    merit while they sag.
    """
    faulty = {
        finding.measure
        for judged in reps
        for finding in judged.findings
        if finding.verdict in (Verdict.OUTSIDE, Verdict.BORDERLINE)
    }
    for importance in Importance:
        for part, check in exercise.all_checks:
            mine = of_part(reps, part)
            sure = _with_verdict(mine, check, Verdict.WITHIN)
            if check.importance != importance or check.measure in faulty:
                continue
            if mine and len(sure) == len(mine):
                return check.praise
    return None


def not_measured(
    exercise: Exercise, reps: Sequence[JudgedRep], better_view: BetterView
) -> tuple[tuple[NotMeasured, ...], bool]:
    """Each check that no repetition allowed, with the reason and a way out; and whether there is a
    way out for any: another view, or more of the body in the picture.
    """
    found, way_out = [], False
    for part, check in exercise.all_checks:
        mine = of_part(reps, part)
        missing = _with_verdict(mine, check, Verdict.NOT_MEASURABLE)
        if mine and len(missing) == len(mine):
            finding = missing[0][1]
            reason = finding.reason or Message(ReasonCode.NOT_SEEN)
            from_anywhere = reason.code in FROM_ANYWHERE
            elsewhere = None if from_anywhere else better_view(check)
            too_coarse = finding.value is not None
            way_out |= elsewhere is not None or not (too_coarse or from_anywhere)
            found.append(NotMeasured(check.id, part, reason, elsewhere, check.title))
    return tuple(found), way_out


def _likely(finding: Finding) -> bool:
    """Whether a borderline finding is more than a toss-up."""
    return (finding.probability_outside or 0.0) >= LIKELY


def _told_alike(seen: Sequence[_Seen]) -> list[_Seen]:
    """The largest group that shares one cue: too far and not far enough are told differently."""
    ways: dict[str, list[_Seen]] = {}
    for pair in seen:
        ways.setdefault(pair[1].cue, []).append(pair)
    return max(ways.values(), key=len, default=[])


def _by_cue(exercise: Exercise) -> list[tuple[Check, list[str | None]]]:
    """Every check with the parts that have it, parts with the same cue together."""
    found: dict[tuple[str, str], tuple[Check, list[str | None]]] = {}
    for part, check in exercise.all_checks:
        found.setdefault((check.id, check.cue), (check, []))[1].append(part)
    return list(found.values())


def of_part(reps: Sequence[JudgedRep], part: str | None) -> list[JudgedRep]:
    """The repetitions that a check of that part applies to: all of them for part None."""
    return [judged for judged in reps if part is None or judged.rep.part == part]


def _with_verdict(reps: Sequence[JudgedRep], check: Check, verdict: Verdict) -> list[_Seen]:
    """Each repetition with this verdict of a check, and the finding that is nearest to a fault.

    Where both arms are judged, a fault of either is one; a merit, or what no view shows, is so of
    both.
    """
    found = []
    for rep in reps:
        mine = [finding for finding in rep.findings if finding.id == check.id]
        those = [finding for finding in mine if finding.verdict == verdict]
        fault = verdict in (Verdict.OUTSIDE, Verdict.BORDERLINE)
        if those and (fault or len(those) == len(mine)):
            found.append((rep, min(those, key=lambda one: one.margin or 0.0)))
    return found
