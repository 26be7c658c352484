"""What the coach's pages say, in words: everything needed to decide."""

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from formcheck.catalogue.codes import LimitState, Verdict
from formcheck.checks.result import ClipResult, Finding, JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.measures.held import CARRIED_ON_AFTER_S
from formcheck.movements.types import Rep
from formcheck.sheets.pages.cards import CheckLine, CueCard, RepCard, cue_cards, rep_cards, rep_name
from formcheck.sheets.pages.client import cautions, how_to_film
from formcheck.sheets.pages.dose import asked_for, counted_whole, held_line, over_line, sets_line
from formcheck.sheets.pages.look_first import look_first
from formcheck.sheets.pages.marks import MOST_URGENT_FIRST, deciding_finding, mark_of, rep_mark
from formcheck.sheets.pages.moments import rep_key
from formcheck.sheets.pages.partly_measured import partly_measured
from formcheck.sheets.pages.prescribed import prescribed_for_coach
from formcheck.text import lower_first
from formcheck.words.labels import check_title, measure_label, not_measured
from formcheck.words.limits import limits_of, past_but_fine, value_text
from formcheck.words.words import Words

_TEMPO = ("out", "far", "back", "whole", "held")
_COVERAGE_FACTOR = 2.0
"""Sides differ where they do by more standard uncertainties than this, about 95 %.
Published: JCGM 100:2008, 6.3.3.
"""


@dataclass(frozen=True, slots=True)
class OpenFirst:
    """The repetition to open first, and why; ``picture`` is the key of its card, ``mark`` of what is
    to be seen there.
    """

    text: str
    mark: str
    picture: str
    at: str
    seek_s: float | None


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """One check across the whole repetitions; None where a repetition lacks it."""

    label: str
    limits: str
    cells: tuple[CheckLine | None, ...]

    @property
    def worst(self) -> CheckLine:
        """The cell that most needs a look; the first of several alike."""
        there = (cell for cell in self.cells if cell)
        return min(there, key=lambda cell: MOST_URGENT_FIRST.index(cell.mark.name))


@dataclass(frozen=True, slots=True)
class TempoRow:
    """How long the parts of one repetition took."""

    card: RepCard
    out: str
    far: str
    back: str
    whole: str
    held: str


@dataclass(frozen=True, slots=True)
class SideRow:
    """One check, left against right."""

    label: str
    left: str
    right: str
    difference: str


@dataclass(frozen=True, slots=True)
class CoachPage:
    """The coach's pages, top to bottom."""

    title: str
    open_first: OpenFirst | None
    facts: tuple[tuple[str, str], ...]
    recording: tuple[tuple[str, str], ...]
    cues: tuple[CueCard, ...]
    reps: tuple[RepCard, ...]
    matrix_title: str
    matrix_reps: tuple[RepCard, ...]
    matrix: tuple[MatrixRow, ...]
    tempo: tuple[TempoRow, ...]
    tempo_columns: tuple[str, ...]
    held_note: str
    sides: tuple[SideRow, ...]
    sides_note: str
    problems: tuple[str, ...]
    unmeasured: tuple[str, ...]
    partly_measured: tuple[str, ...]
    film: str
    look: tuple[str, ...]
    cautions: tuple[str, ...]
    provenance: str
    settings: tuple[tuple[str, str], ...]


def coach_page(result: ClipResult, exercise: Exercise, words: Words, alias: str = "") -> CoachPage:
    """Everything on the coach's pages from the result and the exercise as prescribed for a client."""
    reps = rep_cards(result, exercise, words)
    whole = tuple(
        card for card, judged in zip(reps, result.reps, strict=True) if not judged.rep.partial
    )
    plural = words.kind(exercise.movement, 2)
    tempo = tuple(
        _tempo_row(judged.rep, card, words) for judged, card in zip(result.reps, reps, strict=True)
    )
    still = any((judged.rep.hold_s or 0.0) > CARRIED_ON_AFTER_S for judged in result.reps)
    return CoachPage(
        title=exercise.title,
        open_first=_open_first(result, exercise, words),
        facts=_facts(result, exercise, words, alias),
        recording=_recording(result, words),
        cues=cue_cards(result, exercise, words),
        reps=reps,
        matrix_title=words("coach.matrix", kind=words.kind(exercise.movement)),
        matrix_reps=whole,
        matrix=_matrix(whole),
        tempo=tempo,
        tempo_columns=tuple(name for name in _TEMPO if any(getattr(row, name) for row in tempo)),
        held_note=words("coach.held_note") if still else "",
        sides=_side_rows(result, words),
        sides_note=words("coach.sides_note", kind=plural),
        problems=tuple(words.tell(problem.message) for problem in result.problems),
        unmeasured=tuple(not_measured(one, words) for one in result.summary.not_measured),
        partly_measured=partly_measured(result, words),
        film=how_to_film(result, exercise),
        look=result.summary.look_yourself,
        cautions=cautions(exercise, words),
        provenance=provenance_line(result, words),
        settings=tuple((str(k), str(v)) for k, v in result.provenance.settings.items()),
    )


def _open_first(result: ClipResult, exercise: Exercise, words: Words) -> OpenFirst | None:
    """The whole repetition that most needs a look; None where nothing stands out in any."""
    found = [
        (judged, finding)
        for judged in result.reps
        if not judged.rep.partial and (finding := deciding_finding(judged, exercise)) is not None
    ]
    if not found:
        return None
    judged, finding = min(found, key=lambda one: _urgency(one[1], words))
    name = (
        measure_label(finding.measure, words)
        if finding.safety_limit
        else check_title(finding, words)
    )
    values = {
        "rep": lower_first(rep_name(judged.rep, words)),
        "check": lower_first(name),
        "value": value_text(finding, words),
        "limits": limits_of(finding, words),
        "reason": words.tell(finding.reason) if finding.reason else "",
    }
    key = "coach.open_unseen" if finding.value is None else "coach.open"
    at_s = finding.at_s if finding.at_s is not None else judged.rep.start_s
    why = past_but_fine(finding, words), _why_this(finding, found, words)
    told = " ".join(filter(None, (words(key, **values), *why)))
    mark = mark_of(finding, words).name
    return OpenFirst(told, mark, rep_key(judged.rep), words.moment(at_s), at_s)


def _why_this(finding: Finding, found: list[tuple[JudgedRep, Finding]], words: Words) -> str:
    """Why this one of several whose marks are alike; empty of a single one, or one not read."""
    name = mark_of(finding, words).name
    alike = sum(one.id == finding.id and mark_of(one, words).name == name for _, one in found)
    if alike == 1 or finding.value is None:
        return ""
    key = "open_why_unsure" if name == "probably-fine" else "open_why"
    return words(f"coach.{key}_both" if alike == 2 else f"coach.{key}", count=alike)


def _urgency(finding: Finding, words: Words) -> tuple[bool, int, float, float]:
    """Limits of safety first, then by verdict, by how probably it is outside, by how far beyond."""
    mark = MOST_URGENT_FIRST.index(mark_of(finding, words).name)
    beyond = (finding.margin or 0.0) / (finding.uncertainty or math.inf)
    return not finding.safety_limit, mark, -(finding.probability_outside or 0.0), beyond


def _recording(result: ClipResult, words: Words) -> tuple[tuple[str, str], ...]:
    clip, view = result.clip, result.view
    rate = words.number(clip.mean_rate_hz, 1)
    if clip.variable_rate:
        rate += f" ({words('coach.variable_rate')})"
    clip_line = words(
        "coach.clip_line",
        file=clip.file,
        duration=words.moment(clip.duration_s, 1),
        size=words("coach.size", width=clip.width, height=clip.height),
        rate=rate,
    )
    return (
        (
            words("coach.view"),
            words(
                "coach.view_line",
                view=words(f"view.{view.name}") if words.knows("view", view.name) else view.name,
                yaw=words.measured(abs(view.yaw_deg), view.uncertainty_deg, "deg"),
            ),
        ),
        *_second_camera(result, words),
        (
            words("coach.followed"),
            words("coach.followed_line", share=words.share(result.tracked_share)),
        ),
        (words("coach.clip"), clip_line),
    )


def _facts(
    result: ClipResult, exercise: Exercise, words: Words, alias: str
) -> tuple[tuple[str, str], ...]:
    rounds = ((words("coach.rounds"), " ".join(map(words.tell, result.summary.rounds))),)
    return (
        *look_first(result, words),
        *_nothing_first(result, exercise, words),
        (words("coach.dose"), _dose_line(result, exercise, words)),
        *(rounds if result.summary.rounds else ()),
        *prescribed_for_coach(result, exercise, words, alias),
        (words("coach.score"), _score(result, words)),
    )


def _nothing_first(
    result: ClipResult, exercise: Exercise, words: Words
) -> tuple[tuple[str, str], ...]:
    """That there is nothing to open first, so that its lack is no riddle."""
    marks = {rep_mark(judged, exercise, words).name for judged in result.whole_reps}
    if marks != {Verdict.WITHIN} or result.another_exercise:
        return ()
    text = words("coach.open_none", kind=words.kind(exercise.movement))
    return ((words("coach.first"), text),)


def _second_camera(result: ClipResult, words: Words) -> tuple[tuple[str, str], ...]:
    """The other clip of a set that two cameras filmed, and how both fit."""
    if result.second is None:
        return ()
    second = result.second
    how = f"{words.tell(second.message)} {words.tell(second.taken_for_one_set)}"
    return ((words("coach.second"), f"{second.clip.file} · {how}"),)


def _dose_line(result: ClipResult, exercise: Exercise, words: Words) -> str:
    met = {True: "dose_met", False: "dose_not_met", None: "dose_unknown"}[result.dose.met]
    kind, count = counted_whole(result, exercise)
    because = {LimitState.PASSED: False, LimitState.PERHAPS_PASSED: None}
    state = result.alarms[0].state if result.alarms else None
    if state in because and because[state] is result.dose.met and count >= exercise.dose.count:
        met = f"dose_limit_{state}"
    counted = words.count("client.counted", count, kind=words.kind(kind, count))
    sets, held = sets_line(result.dose, words), held_line(result.dose, words)
    counted = f"{counted} ({sets})" if sets else counted
    asked = f"{asked_for(exercise, words)}: {words(f'coach.{met}')}"
    over = over_line(result.dose, words)
    told = f"{asked}. {over}" if over else asked
    return " ".join(filter(None, (f"{counted}.", held, told)))


def _score(result: ClipResult, words: Words) -> str:
    if result.another_exercise:
        return words("coach.score_another")
    if any(limit.state.alarming for limit in result.limits):
        return words("coach.score_unsafe")
    if result.summary.score is None:
        return words("coach.score_none")
    whole = result.whole_reps
    told = [_score_text(result.summary.score, result.summary.score_uncertainty or 0.0, words)]
    if not whole:
        return told[0]
    scored = sum(judged.score is not None for judged in whole)
    if scored < len(whole):
        kind = words.kind(whole[0].rep.kind, len(whole))
        told.append(words("coach.scored_of", count=scored, total=len(whole), kind=kind))
    share = sum(judged.coverage for judged in whole) / len(whole)
    return ", ".join([*told, words("coach.coverage", share=words.share(share))])


def _score_text(score: int, uncertainty: float, words: Words) -> str:
    """``89 ± 10 of 100``; with both ends where ± would go beyond 0 to 100."""
    low, high = score - uncertainty, score + uncertainty
    if low >= 0.0 and high <= 100.0:
        return words("coach.score_sd", score=score, uncertainty=words.number(uncertainty, 0))
    low, high = max(low, 0.0), min(high, 100.0)
    return words(
        "coach.score_range", score=score, low=words.number(low, 0), high=words.number(high, 0)
    )


def _matrix(whole: tuple[RepCard, ...]) -> tuple[MatrixRow, ...]:
    # Parts of a compound set may ask for other limits of the same check: each has a row, by its name.
    # The arms that do it at once have a line each.
    by_rep = [{(line.label, line.limits): line for line in card.lines} for card in whole]
    parts: dict[tuple[str, str], list[str]] = {}
    for card, lines in zip(whole, by_rep, strict=True):
        for key in lines:
            parts.setdefault(key, []).append(card.detail)
    often = Counter(label for label, _ in parts)
    rows = [
        MatrixRow(
            f"{label} ({', '.join(dict.fromkeys(named))})"
            if often[label] > 1 and any(named)
            else label,
            limits,
            tuple(lines.get((label, limits)) for lines in by_rep),
        )
        for (label, limits), named in parts.items()
    ]
    return tuple(sorted(rows, key=_row_urgency))


def _row_urgency(row: MatrixRow) -> tuple[int, int]:
    """Rows with the gravest verdict first, among them those in which it is most frequent."""
    places = [MOST_URGENT_FIRST.index(cell.mark.name) for cell in row.cells if cell]
    return min(places), -places.count(min(places))


def _tempo_row(rep: Rep, card: RepCard, words: Words) -> TempoRow:
    def lasting(start_s: float, end_s: float) -> str:
        return words.quantity(end_s - start_s, "s")

    if rep.partial:
        return TempoRow(card=card, out="", far="", back="", whole="", held="")
    circle = rep.kind == "circle"
    return TempoRow(
        card=card,
        out="" if circle else lasting(rep.start_s, rep.top_start_s),
        far="" if circle else lasting(rep.top_start_s, rep.top_end_s),
        back="" if circle else lasting(rep.top_end_s, rep.end_s),
        whole=lasting(rep.start_s, rep.end_s),
        held="" if rep.hold_s is None else words.quantity(rep.hold_s, "s"),
    )


def _side_rows(result: ClipResult, words: Words) -> tuple[SideRow, ...]:
    """Checks measured on both sides.

    Errors within one side are correlated, so averaging its repetitions does not reduce them.
    """
    values: dict[str, dict[str, list[Finding]]] = {}
    for judged in result.whole_reps:
        for finding in judged.findings:
            if finding.value is not None:
                sides = values.setdefault(finding.id, {})
                sides.setdefault(finding.side or "", []).append(finding)
    return tuple(
        _side_row(sides, words) for sides in values.values() if "left" in sides and "right" in sides
    )


def _side_row(sides: Mapping[str, list[Finding]], words: Words) -> SideRow:
    first = sides["left"][0]
    (left, left_sd), (right, right_sd) = _average(sides["left"]), _average(sides["right"])
    spread = math.hypot(left_sd, right_sd)
    clear = abs(left - right) > _COVERAGE_FACTOR * spread
    return SideRow(
        label=check_title(first, words),
        left=words.measured(left, left_sd, first.unit),
        right=words.measured(right, right_sd, first.unit),
        difference=words.measured(left - right, spread, first.unit)
        if clear
        else words("coach.no_difference"),
    )


def _average(findings: list[Finding]) -> tuple[float, float]:
    values = [finding.value for finding in findings if finding.value is not None]
    spreads = [finding.uncertainty or 0.0 for finding in findings]
    return sum(values) / len(values), sum(spreads) / len(spreads)


def provenance_line(result: ClipResult, words: Words) -> str:
    """What made the result, in one line."""
    made = result.provenance
    fit = f"{words.tell(result.second.message)} " if result.second else ""
    return fit + words(
        "coach.provenance_line",
        version=made.formcheck,
        model=made.model,
        model_sha256=made.model_sha256[:12],
        clip_sha256=result.clip.sha256[:12],
    )
