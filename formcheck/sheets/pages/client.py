"""What the client's page says, in words: one page, no number that needs explaining."""

from dataclasses import dataclass

from formcheck.catalogue.codes import NOT_JOINED, ProblemCode, ReasonCode, Verdict
from formcheck.checks.result import ClipResult
from formcheck.exercises.schema import Exercise
from formcheck.sheets.pages.cards import (
    CueCard,
    LimitCard,
    RepCard,
    client_rep_cards,
    cue_cards,
    limit_cards,
)
from formcheck.sheets.pages.dose import (
    asked_for,
    counted_line,
    counted_whole,
    held_line,
    is_over,
    more_sets_line,
    over_line,
    sets_line,
)
from formcheck.sheets.pages.prescribed import prescribed_for_client
from formcheck.text import capitalise_first, lower_first
from formcheck.words.labels import check_title, measure_label
from formcheck.words.words import Words

MOST_LARGE = 4
"""No more repetitions to work on have a picture of their own: they are much alike. A proposal."""

OPERATORS_PROBLEMS = (
    ProblemCode.ANOTHER_POSITION,
    ProblemCode.ANOTHER_EXERCISE,
    ProblemCode.TWO_EXERCISES,
    ProblemCode.NO_REPETITION,
)
"""What only whoever runs formcheck can put right; clients are told of it in other words."""


@dataclass(frozen=True, slots=True)
class ClientPage:
    """The client's page, top to bottom.

    ``large`` are the keys of the repetitions that are shown with a picture: those to work on.
    ``in_english`` are the texts in the exercise's own words that are not in the page's language.
    """

    title: str
    done: str
    asked: str
    dose_line: str
    notice: str
    partial_line: str
    well: str
    limits: tuple[LimitCard, ...]
    cues: tuple[CueCard, ...]
    check_yourself: tuple[str, ...]
    reps: tuple[RepCard, ...]
    reps_title: str
    large: frozenset[str]
    unmeasured: tuple[str, ...]
    next_none: str
    film: str
    cautions: tuple[str, ...]
    in_english: tuple[str, ...]


def client_page(result: ClipResult, exercise: Exercise, words: Words) -> ClientPage:
    """Everything on the client's page from the result and the exercise as prescribed."""
    kind, count = counted_whole(result, exercise)
    check_yourself = _check_yourself(result, exercise, words)
    reps = client_rep_cards(result, exercise, words)
    # A doubt that no cue is about is told in one sentence, and not shown large.
    shown = (Verdict.OUTSIDE, Verdict.BORDERLINE) if result.summary.cues else (Verdict.OUTSIDE,)
    to_work_on = [rep for rep in reps if rep.mark.name in shown]
    return ClientPage(
        title=words.tell(exercise.title),
        done=_done(result, exercise, words),
        asked=asked_for(exercise, words),
        dose_line=" ".join(
            part
            for part in (
                _dose_line(result, words),
                held_line(result.dose, words),
                "" if result.another_exercise else more_sets_line(result.dose, words),
                prescribed_for_client(result, exercise, words),
            )
            if part
        ),
        partial_line=_partial_line(result, words),
        well=_well(result, kind, count, words),
        notice=notice(result, exercise, words),
        limits=limit_cards(result, words),
        cues=cue_cards(result, exercise, words),
        check_yourself=check_yourself,
        reps=reps,
        reps_title=words("client.reps", kind=words.kind(kind, 2)),
        unmeasured=_unmeasured(result, words),
        large=frozenset(rep.picture for rep in to_work_on[:MOST_LARGE]),
        next_none=_next_none(result, check_yourself, words),
        film=_not_joined(result, words) or words.tell(how_to_film(result, exercise)),
        cautions=cautions(exercise, words),
        in_english=_in_english(result, exercise, words),
    )


def _done(result: ClipResult, exercise: Exercise, words: Words) -> str:
    """``5 of 10 done``, and by set, side or direction where there are several; ``seen`` where that does
    not count as done: a limit of safety was, or may have been, passed, or holds were too short.
    """
    kind, count = counted_whole(result, exercise)
    if result.another_exercise:
        return words("client.counted_another")
    if count == 0:
        return words("client.counted_none", kind=words.kind(kind))
    whole = [judged.rep for judged in result.whole_reps]
    seen_only = result.alarms or held_line(result.dose, words)
    key = "client.seen_only" if seen_only else "client.done"
    done = capitalise_first(words(key, counted=counted_line(result.dose, words)))
    more = [sets_line(result.dose, words)]
    if exercise.parts:
        parts = words.kind(exercise.movement, len(whole))
        more.append(words("client.breakdown", count=len(whole), group=parts))
    breakdown = ", ".join(filter(None, more))
    return f"{done} ({breakdown})" if breakdown else done


def _partial_line(result: ClipResult, words: Words) -> str:
    """How many were begun but not finished, and how often the hand only came to rest."""
    reasons = [judged.rep.reason for judged in result.reps if judged.rep.partial]
    rested = reasons.count(ReasonCode.ONLY_RESTED)
    lines = (("partial", len(reasons) - rested), ("only_rested", rested))
    return " ".join(words.count(f"client.{key}", count) for key, count in lines if count)


def _in_english(result: ClipResult, exercise: Exercise, words: Words) -> tuple[str, ...]:
    own = (*in_own_words(exercise), result.summary.praise or "")
    said = (*own, *(cue.sentence for cue in result.summary.cues))
    return tuple(one for one in said if isinstance(one, str) and words.is_foreign(one))


def in_own_words(exercise: Exercise | None) -> tuple[str, ...]:
    """What stands on every page as the exercise file says it."""
    if exercise is None:
        return ()
    return (exercise.title, exercise.filming.advice, *exercise.cautions)


def notice(result: ClipResult, exercise: Exercise, words: Words) -> str:
    """What casts doubt on the whole sheet: another exercise, or no whole repetition."""
    if result.another_exercise:
        return words("client.another", exercise=words.tell(exercise.title))
    if any(problem.code is ProblemCode.NO_REPETITION for problem in result.problems):
        kind = words.kind(exercise.movement)
        return words("client.no_repetition", kind=kind, exercise=words.tell(exercise.title))
    return ""


def operators_notice(result: ClipResult, words: Words) -> str:
    """The same for whoever runs formcheck, and what they must do."""
    told = (
        words.tell(problem.message)
        for problem in result.problems
        if problem.code in OPERATORS_PROBLEMS
    )
    return " ".join(told)


def _not_joined(result: ClipResult, words: Words) -> str:
    """Why the set's other clip was left out, and what to film differently; empty if nothing was."""
    told = (words.tell(one.message) for one in result.problems if one.code in NOT_JOINED)
    return next(told, "")


def how_to_film(result: ClipResult, exercise: Exercise) -> str:
    """How to film it next time; empty if that would show no more."""
    return exercise.filming.advice if result.summary.film_anew else ""


def _next_none(result: ClipResult, check_yourself: tuple[str, ...], words: Words) -> str:
    """What is said if there is no cue; that all is well only if what makes the exercise was seen,
    nothing is perhaps not on target, and the dose was not short.
    """
    if result.alarms:
        return words(f"client.next_limit_{result.alarms[0].state}")
    if result.another_exercise:
        return words("client.next_other")
    if check_yourself:
        return words("client.next_check")
    judged = any(
        finding.verdict != "not-measurable" for one in result.whole_reps for finding in one.findings
    )
    if not judged:
        return words("client.next_unknown")
    if perhaps := _perhaps_not(result, words):
        return perhaps
    if is_over(result.dose):
        return words("client.next_over")
    return words("client.next_short" if result.dose.met is False else "client.next_none")


def _perhaps_not(result: ClipResult, words: Words) -> str:
    """What may not be on target, and in how many repetitions; empty if there is no sign of a fault."""
    whole = result.whole_reps
    found = [[one for one in judged.findings if one.perhaps_not] for judged in whole]
    if not any(found):
        return ""
    titles = dict.fromkeys(lower_first(check_title(one, words)) for some in found for one in some)
    return words(
        f"client.next_perhaps.{'one' if len(whole) == 1 else 'other'}",
        count=sum(map(bool, found)),
        total=len(whole),
        kind=words.kind(whole[0].rep.kind, len(whole)),
        titles=", ".join(titles),
    )


def _check_yourself(result: ClipResult, exercise: Exercise, words: Words) -> tuple[str, ...]:
    """What the client is to check where what makes the exercise was not seen for sure: a question, as
    nothing says that it was wrong.
    """
    if result.alarms:
        return ()
    told = {cue.check_id for cue in result.summary.cues}
    unsure = dict.fromkeys(
        (judged.rep.part if exercise.parts else None, finding.id)
        for judged in result.whole_reps
        for finding in judged.unsure_essentials
        if finding.id not in told
    )
    ways = {(part, check.id): check for part, check in exercise.all_checks}
    checks = (ways.get(key) or ways.get((None, key[1])) for key in unsure)
    asked = (
        words("client.check_yourself", title=check_title(one, words), cue=words.tell(one.cue))
        for one in checks
        if one and one.cue
    )
    return tuple(dict.fromkeys(asked))


def _dose_line(result: ClipResult, words: Words) -> str:
    if result.alarms:
        return words(f"client.not_counted_{result.alarms[0].state}")
    key = {True: "client.met", False: "", None: "client.unknown_met"}[result.dose.met]
    met = words(key) if key else ""
    return " ".join(filter(None, (met, over_line(result.dose, words))))


def cautions(exercise: Exercise | None, words: Words) -> tuple[str, ...]:
    """When to stop and whom to ask: the exercise's own cautions, then those of every sheet.

    Own words after primary-care referral pages for shoulder pain; no programme advice.
    """
    general = [words(f"caution.{name}") for name in ("stop", "refer", "operation", "sheet")]
    own = map(words.tell, exercise.cautions if exercise else ())
    return tuple(dict.fromkeys((*own, *general)))


def _unmeasured(result: ClipResult, words: Words) -> tuple[str, ...]:
    """Measures that no whole repetition showed; the coach's page has the reasons."""
    seen: dict[str, bool] = {}
    for judged in result.whole_reps:
        for finding in judged.findings:
            told = finding.verdict != "not-measurable"
            seen[finding.measure] = told or seen.get(finding.measure, False)
    return tuple(
        capitalise_first(measure_label(name, words)) for name, told in seen.items() if not told
    )


def _well(result: ClipResult, kind: str, count: int, words: Words) -> str:
    if result.summary.praise:
        return words.tell(result.summary.praise)
    if count:
        # What went past a limit, or may have, is no praise of what was done.
        key = "client.well_followed" if result.alarms else "client.well_counted"
        return words.count(key, count, kind=words.kind(kind, count))
    return words("client.well_filmed")
