"""The pieces that both pages show, already in words: check lines, repetition cards, cue cards."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from formcheck.checks.result import ClipResult, Cue, Finding, JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.movements.types import Rep
from formcheck.sheets.pages.dose import ROUND, held_of
from formcheck.sheets.pages.marks import Mark, client_mark, deciding_finding, mark_of, rep_mark
from formcheck.sheets.pages.moments import Drawn, cue_key, finding_of, rep_key
from formcheck.text import capitalise_first, lower_first
from formcheck.words.labels import check_label, check_title
from formcheck.words.limits import limit_for_client, limits_of, past_but_fine, value_text
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check of one repetition in words; ``read`` says what was measured, and when, ``number`` is
    the value without its unit.
    """

    id: str
    label: str
    read: str
    mark: Mark
    value: str
    number: str
    limits: str
    margin: str
    at: str
    seek_s: float | None
    cue: str
    reason: str


@dataclass(frozen=True, slots=True)
class RepCard:
    """One repetition in words; ``picture`` is the key of its still, ``alt`` what that shows."""

    number: int
    name: str
    detail: str
    mark: Mark
    note: str
    held: str
    start: str
    end: str
    seek_s: float
    end_s: float
    picture: str
    alt: str
    score: str
    coverage: str
    lines: tuple[CheckLine, ...]


@dataclass(frozen=True, slots=True)
class LimitCard:
    """A limit of safety that was passed, or may have been; ``own_words`` are the coach's."""

    title: str
    text: str
    own_words: str
    at: str
    seek_s: float | None


@dataclass(frozen=True, slots=True)
class TimeBar:
    """How much of the time that was asked for was taken, as a share of it and in words."""

    share: float
    text: str


@dataclass(frozen=True, slots=True)
class CueCard:
    """One thing to work on, with the moment and the still that show it best.

    ``alt`` tells what the still shows; ``bar`` is there for what was too short, which none shows.
    ``drawn`` says in words what is drawn on the still, by its ``Drawn``.
    """

    text: str
    alt: str
    bar: TimeBar | None
    seen: str
    unsure: str
    at: str
    seek_s: float
    picture: str
    drawn: Mapping[Drawn, str] = field(default_factory=dict)


def check_line(finding: Finding, words: Words, *, of_arm: bool = False) -> CheckLine:
    """One check in words, ``of_arm`` with the arm that it is of."""
    label = check_title(finding, words)
    return CheckLine(
        id=finding.id,
        label=f"{label}, {words(f'side.{finding.side}')}" if of_arm and finding.side else label,
        read=check_label(finding.measure, finding.statistic, finding.phase, words),
        mark=mark_of(finding, words),
        value=value_text(finding, words),
        number=value_text(finding, words, bare=True),
        limits=limits_of(finding, words),
        margin=words.quantity(finding.margin, finding.unit),
        at=words.moment(finding.at_s, 1),
        seek_s=finding.at_s,
        cue=finding.cue,
        reason=words.tell(finding.reason) if finding.reason else past_but_fine(finding, words),
    )


def rep_cards(result: ClipResult, exercise: Exercise | None, words: Words) -> tuple[RepCard, ...]:
    """Every repetition, partial ones too, in the order of the clip; as the coach is told of it."""
    both = len({judged.rep.side for judged in result.reps}) > 1
    return tuple(_rep_card(judged, exercise, words, both=both) for judged in result.reps)


def client_rep_cards(
    result: ClipResult, exercise: Exercise | None, words: Words
) -> tuple[RepCard, ...]:
    """The same as the client is told of it: what is unsure without a sign of a fault is not named."""
    cards = zip(rep_cards(result, exercise, words), result.reps, strict=True)
    return tuple(
        replace(
            card,
            mark=client_mark(judged, exercise, words),
            note="" if card.mark.name == "probably-fine" else card.note,
        )
        for card, judged in cards
    )


def limit_cards(result: ClipResult, words: Words) -> tuple[LimitCard, ...]:
    """The limits of safety that were passed, or may have been, as the client is told of them."""
    found = []
    for limit in result.alarms:
        title, text = limit_for_client(limit, words)
        own = words.tell(limit.cue)
        found.append(LimitCard(title, text, own, words.moment(limit.at_s), limit.at_s))
    return tuple(found)


def cue_cards(result: ClipResult, exercise: Exercise, words: Words) -> tuple[CueCard, ...]:
    """The things to work on."""
    whole = [judged.rep for judged in result.whole_reps]
    kind = whole[0].kind if whole else "rep"
    rounds = sum(count.rounds for count in result.dose.counted.by_rounds)
    return tuple(
        replace(
            _cue_card(
                position, cue, *((ROUND, rounds) if cue.per_round else (kind, len(whole))), words
            ),
            **_shown(cue, result, exercise, words),
        )
        for position, cue in enumerate(result.summary.cues)
    )


def _shown(cue: Cue, result: ClipResult, exercise: Exercise, words: Words) -> dict[str, Any]:
    """What the still of a cue shows, and the bar of one that is about time."""
    found = finding_of(cue, result)
    if found is None:
        return {}
    rep, finding = found
    return {
        "alt": _told(finding, words),
        "bar": _time_bar(rep, finding, exercise, words),
        "drawn": {
            "lines": words("client.drawn_lines"),
            "ring": words("client.drawn_ring", title=lower_first(check_title(finding, words))),
        },
    }


def _told(finding: Finding, words: Words) -> str:
    return words(
        "page.picture_about",
        title=check_title(finding, words),
        value=value_text(finding, words),
        limits=limits_of(finding, words),
    )


def _time_bar(rep: Rep, finding: Finding, exercise: Exercise, words: Words) -> TimeBar | None:
    """``Held about 3 s of 5 s``, of what was too short."""
    check = next((one for one in exercise.checks_of(rep.part) if one.id == finding.id), None)
    short = finding.value is not None and finding.low is not None and finding.high is None
    if check is None or not check.low or not short or finding.value is None:
        return None
    share = round(min(finding.value / check.low, 1.0), 3)
    if finding.measure == "hold":
        return TimeBar(share, held_of(rep, exercise, words))
    if finding.measure != "duration":
        return None
    took, asked = words.quantity(finding.value, "s"), words.exact(check.low, "s")
    return TimeBar(share, words("client.took_of", took=took, asked=asked))


def rep_name(rep: Rep, words: Words) -> str:
    """``Repetition 3``."""
    return words("page.repetition", kind=capitalise_first(words.kind(rep.kind)), number=rep.index)


def _rep_card(judged: JudgedRep, exercise: Exercise | None, words: Words, *, both: bool) -> RepCard:
    rep = judged.rep
    worst = deciding_finding(judged, exercise)
    where = [words(f"side.{rep.side}")] if both and words.knows("side", rep.side) else []
    where += [words(f"direction_of.{rep.direction}")] if rep.direction else []
    where += [rep.part] if rep.part else []
    return RepCard(
        number=rep.index,
        name=rep_name(rep, words),
        detail=", ".join(where),
        mark=rep_mark(judged, exercise, words),
        note="" if worst is None or rep.partial else check_title(worst, words),
        held=held_of(rep, exercise, words),
        start=words.moment(rep.start_s),
        end=words.moment(rep.end_s),
        seek_s=rep.start_s,
        end_s=rep.end_s,
        picture=rep_key(rep),
        alt=_told(worst, words) if worst and worst.value is not None else "",
        score="" if judged.score is None else words.number(judged.score, 0),
        coverage=words.share(judged.coverage),
        lines=tuple(
            check_line(finding, words, of_arm=bool(rep.arms)) for finding in judged.findings
        ),
    )


def _cue_card(position: int, cue: Cue, kind: str, among: int, words: Words) -> CueCard:
    total = max(among, cue.times_seen)
    shown: Mapping[str, object] = {"total": total, "kind": words.kind(kind, total)}
    return CueCard(
        text=words.tell(cue.sentence),
        alt=words("page.picture_at", moment=words.moment(cue.at_s)),
        bar=None,
        seen=words.count(
            "client.seen" if cue.certain else "client.perhaps_seen", cue.times_seen, **shown
        ),
        unsure="" if cue.certain else words("client.unsure"),
        at=words.moment(cue.at_s),
        seek_s=cue.at_s,
        picture=cue_key(position),
    )
