"""The pieces that both pages show, already in words: check lines, repetition cards, cue cards."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from formcheck.checks.cues import all_checks
from formcheck.checks.result import ClipResult, Cue, Finding, JudgedRep
from formcheck.exercises.schema import Check, Exercise
from formcheck.movements.types import Rep
from formcheck.words.words import Words

MarkName = Literal["within", "borderline", "outside", "not-measurable", "partial"]
ROUND = "round"
_IMPORTANCE = ("safety", "position", "range", "tempo")


@dataclass(frozen=True, slots=True)
class Mark:
    """The shape that stands for a verdict: where the dot lies against the two rails.

    ``below`` is True where the value lies under the target rather than over it.
    """

    name: MarkName
    word: str
    below: bool = False


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check of one repetition in words."""

    id: str
    label: str
    mark: Mark
    value: str
    limits: str
    margin: str
    at: str
    seek_s: float | None
    cue: str
    reason: str


@dataclass(frozen=True, slots=True)
class RepCard:
    """One repetition in words; ``picture`` is the key of its still."""

    number: int
    name: str
    detail: str
    mark: Mark
    note: str
    start: str
    end: str
    seek_s: float
    picture: str
    score: str
    coverage: str
    lines: tuple[CheckLine, ...]


@dataclass(frozen=True, slots=True)
class CueCard:
    """One thing to work on, with the moment and the still that show it best."""

    text: str
    seen: str
    unsure: str
    at: str
    seek_s: float
    picture: str


def check_label(measure: str, statistic: str, phase: str, words: Words) -> str:
    """``Arm height, average at the far point``."""
    parts = [words(f"statistic.{statistic}")] if words.knows("statistic", statistic) else []
    if parts != [""] and phase != "whole" and words.knows("phase", phase):
        parts.append(words(f"phase.{phase}"))
    label = capital(measure_label(measure, words))
    how = " ".join(part for part in parts if part)
    return f"{label}, {how}" if how else label


def measure_label(measure: str, words: Words) -> str:
    """The catalogue's words for a measure, or its own name where the catalogue has none."""
    known = words.knows("measure", measure)
    return words(f"measure.{measure}") if known else measure.replace("_", " ")


def capital(text: str) -> str:
    """The text with its first letter raised, for the start of a line."""
    return text[:1].upper() + text[1:]


def mark_of(finding: Finding, words: Words) -> Mark:
    """The mark of one check."""
    return Mark(finding.verdict, words(f"verdict.{finding.verdict}"), below=_is_below(finding))


def check_line(finding: Finding, words: Words) -> CheckLine:
    """One check in words."""
    return CheckLine(
        id=finding.id,
        label=check_label(finding.measure, finding.statistic, finding.phase, words),
        mark=mark_of(finding, words),
        value=words.measured(finding.value, finding.uncertainty, finding.unit),
        limits=words.limits(finding.low, finding.high, finding.unit),
        margin=words.quantity(finding.margin, finding.unit),
        at=words.moment(finding.at_s, 1),
        seek_s=finding.at_s,
        cue=finding.cue,
        reason=finding.reason or "",
    )


def telling(judged: JudgedRep, exercise: Exercise | None) -> Finding | None:
    """The finding that decides a repetition's mark: the worst, of those the most important, and of
    those the one that is surest to be wrong.
    """
    order = {check.id: _IMPORTANCE.index(check.importance) for check in _checks(exercise)}
    for verdict in ("outside", "borderline"):
        found = [finding for finding in judged.findings if finding.verdict == verdict]
        if found:
            return min(
                found,
                key=lambda one: (order.get(one.id, len(order)), _margin_in_uncertainties(one)),
            )
    return None


def _margin_in_uncertainties(finding: Finding) -> float:
    return (finding.margin or 0.0) / max(finding.uncertainty or 0.0, 1e-6)


def rep_mark(judged: JudgedRep, exercise: Exercise | None, words: Words) -> Mark:
    """The mark of a whole repetition."""
    if judged.rep.partial:
        return Mark("partial", words("verdict.partial"))
    worst = telling(judged, exercise)
    if worst is not None:
        return mark_of(worst, words)
    seen = any(finding.verdict == "within" for finding in judged.findings)
    name: MarkName = "within" if seen else "not-measurable"
    return Mark(name, words(f"verdict.{name}"))


def rep_cards(result: ClipResult, exercise: Exercise | None, words: Words) -> tuple[RepCard, ...]:
    """Every repetition, partial ones too, in the order of the clip."""
    both = len({judged.rep.side for judged in result.reps}) > 1
    return tuple(_rep_card(judged, exercise, words, both=both) for judged in result.reps)


def cue_cards(result: ClipResult, exercise: Exercise, words: Words) -> tuple[CueCard, ...]:
    """The things to work on, as many as the result holds.

    Of a clip that shows something else only what is certain and of safety, as a limit that must not
    be passed holds for whatever is done.
    """
    of_safety = {check.id for _, check in all_checks(exercise) if check.importance == "safety"}
    whole = [judged.rep for judged in result.reps if not judged.rep.partial]
    kind = whole[0].kind if whole else "rep"
    sides = [side for side in result.dose.counted.values() if isinstance(side, Mapping)]
    rounds = sum(int(side.get("cycles", 0)) for side in sides)
    return tuple(
        _cue_card(position, cue, *((ROUND, rounds) if cue.per_round else (kind, len(whole))), words)
        for position, cue in enumerate(result.summary.cues)
        if not result.another_exercise or (cue.certain and cue.check_id in of_safety)
    )


def rep_name(rep: Rep, words: Words) -> str:
    """``Repetition 3``."""
    return words("page.repetition", kind=capital(words.kind(rep.kind)), number=rep.index)


def rep_key(rep: Rep) -> str:
    """The key of a repetition's still."""
    return f"rep-{rep.side}-{rep.index}"


def cue_key(position: int) -> str:
    """The key of a cue's still."""
    return f"cue-{position}"


def key_moment_s(rep: Rep) -> float:
    """The moment that shows a repetition best: the middle of its top."""
    return (rep.top_start_s + rep.top_end_s) / 2


def _checks(exercise: Exercise | None) -> tuple[Check, ...]:
    return exercise.checks if exercise else ()


def _is_below(finding: Finding) -> bool:
    if finding.value is None:
        return False
    if finding.low is None or finding.high is None:
        return finding.low is not None
    return finding.value < (finding.low + finding.high) / 2


def _rep_card(judged: JudgedRep, exercise: Exercise | None, words: Words, *, both: bool) -> RepCard:
    rep = judged.rep
    worst = telling(judged, exercise)
    where = [words(f"side.{rep.side}")] if both and words.knows("side", rep.side) else []
    where += [words(f"direction_of.{rep.direction}")] if rep.direction else []
    where += [rep.part] if rep.part else []
    return RepCard(
        number=rep.index,
        name=rep_name(rep, words),
        detail=", ".join(where),
        mark=rep_mark(judged, exercise, words),
        note="" if worst is None or rep.partial else measure_label(worst.measure, words),
        start=words.moment(rep.start_s),
        end=words.moment(rep.end_s),
        seek_s=rep.start_s,
        picture=rep_key(rep),
        score="" if judged.score is None else words.number(judged.score, 0),
        coverage=words.share(judged.coverage),
        lines=tuple(check_line(finding, words) for finding in judged.findings),
    )


def _cue_card(position: int, cue: Cue, kind: str, among: int, words: Words) -> CueCard:
    total = max(among, cue.times_seen)
    shown: Mapping[str, object] = {"total": total, "kind": words.kind(kind, total)}
    return CueCard(
        text=cue.text,
        seen=words.count(
            "client.seen" if cue.certain else "client.perhaps_seen", cue.times_seen, **shown
        ),
        unsure="" if cue.certain else words("client.unsure"),
        at=words.moment(cue.at_s),
        seek_s=cue.at_s,
        picture=cue_key(position),
    )
