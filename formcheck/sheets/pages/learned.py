"""What was learned from a demonstration, in words, for the coach to accept or to change."""

from dataclasses import dataclass
from pathlib import Path

from formcheck.learn.learn import Lesson
from formcheck.learn.limits import Learned, Readings
from formcheck.sheets.pages.dose import asked_for
from formcheck.text import capitalise_first
from formcheck.words.labels import check_title, measure_label
from formcheck.words.limits import limits_text
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class LearnedRow:
    """One check that was tried."""

    label: str
    shown: str
    mistake: str
    limits: str
    told_apart: str
    cue: str
    reason: str


@dataclass(frozen=True, slots=True)
class LearnedPage:
    """The page, top to bottom; ``text`` holds the lines of the exercise file."""

    title: str
    facts: tuple[tuple[str, str], ...]
    kept: tuple[LearnedRow, ...]
    left_out: tuple[LearnedRow, ...]
    contrast: bool
    verdict: str
    file: str
    text: tuple[str, ...]


def learned_page(lesson: Lesson, *, file: Path, text: str, words: Words) -> LearnedPage:
    """The page of a lesson; ``text`` is the exercise file, ``file`` where it is written."""
    return LearnedPage(
        title=lesson.exercise.title,
        facts=_facts(lesson, words),
        kept=tuple(_row(one, words) for one in lesson.kept),
        left_out=tuple(_row(one, words) for one in lesson.tried if one.unsupported is not None),
        contrast=lesson.wrong is not None,
        verdict=verdict(lesson, words),
        file=file.name,
        text=tuple(text.splitlines()),
    )


def verdict(lesson: Lesson, words: Words) -> str:
    """How both clips fare by what was learned, in one or two sentences."""
    wrong, total = lesson.right
    lines = [words("learned.right", passed=total - wrong, total=total)]
    if lesson.wrong is not None:
        found, mistakes = lesson.wrong
        lines.append(words("learned.wrong", found=found, total=mistakes))
        # What tells the two apart must also have found one of the mistakes.
        apart = [_label(one, words) for one in lesson.kept if one.separates and found]
        key = "learned.told_by" if apart else "learned.not_told"
        lines.append(words(key, checks=", ".join(apart)) if apart else words(key))
    return " ".join(lines)


def left_out(lesson: Lesson, words: Words) -> str:
    """The checks that this view does not support, in one line; empty if it supports all."""
    names = [_label(one, words) for one in lesson.tried if one.unsupported is not None]
    return words("learned.not_judged", checks="; ".join(names)) if names else ""


def _facts(lesson: Lesson, words: Words) -> tuple[tuple[str, str], ...]:
    exercise = lesson.exercise
    primary = exercise.primary
    way = words(f"learned.{primary.direction}")
    shown_by = f"{capitalise_first(measure_label(primary.measure, words))}, {way}"
    tempo = exercise.dose.tempo_s or ()
    rows = [
        ("kind", words.kind(exercise.movement)),
        ("like", lesson.like.title if lesson.like else ""),
        ("shown_by", shown_by),
        ("dose", asked_for(exercise, words)),
        ("pace", " / ".join(words.quantity(part, "s") for part in tempo)),
        ("view", words(f"view.{lesson.view}") if words.knows("view", lesson.view) else lesson.view),
    ]
    return tuple((words(f"learned.{name}"), text) for name, text in rows if text)


def _row(one: Learned, words: Words) -> LearnedRow:
    check, right = one.check, one.right
    told = {None: "", True: words("learned.yes"), False: words("learned.no")}[one.separates]
    return LearnedRow(
        label=_label(one, words),
        shown=_values(right, words),
        mistake=_values(one.wrong, words) if one.wrong else "",
        limits=limits_text(check.measure, *check.limits, right.unit, words),
        told_apart=told,
        cue=check.cue,
        reason=words.tell(one.unsupported) if one.unsupported else "",
    )


def _label(one: Learned, words: Words) -> str:
    return check_title(one.check, words)


def _values(found: Readings, words: Words) -> str:
    """The span of what was read, or the one value, with one standard uncertainty."""
    if not found.values:
        return words.quantity(None, found.unit)
    low, high = (words.quantity(end, found.unit) for end in (min(found.values), max(found.values)))
    span = low if low == high else words("limits.between", low=low, high=high)
    return words("learned.read", span=span, uncertainty=words.quantity(found.sd, found.unit))
