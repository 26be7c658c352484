"""A long set on paper: how many of each mark, and those repetitions in full that most need a look.

Nobody leafs through hundreds, and typesetting them takes a gigabyte. The pages on the screen and the
tables tell of every one.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from formcheck.checks.result import ClipResult, JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.sheets.pages.cards import RepCard
from formcheck.sheets.pages.coach import MatrixRow
from formcheck.sheets.pages.marks import Mark, rep_mark
from formcheck.sheets.pages.moments import rep_key
from formcheck.words.words import Words

LONG = 40
"""A set of more repetitions is long."""
FOR_COACH, FOR_CLIENT = 16, 10
"""So many repetitions of a long set are printed."""
_NEEDS_A_LOOK = ("outside", "borderline", "not-measurable", "partial", "within")


@dataclass(frozen=True, slots=True)
class Tally:
    """How many there are of one mark."""

    mark: Mark
    count: int


@dataclass(frozen=True, slots=True)
class CheckTally:
    """How many there are of each mark of one check."""

    label: str
    limits: str
    tallies: tuple[Tally, ...]


def worth_a_look(result: ClipResult, exercise: Exercise, words: Words) -> frozenset[str]:
    """Keys of the repetitions to print in full for the coach: all, but of a long set a part.

    For each check the one furthest outside; then those outside, borderline, not measurable and
    partial, and of each kind those with the lowest scores.
    """
    if len(result.reps) <= LONG:
        return frozenset(rep_key(judged.rep) for judged in result.reps)
    chosen = {rep_key(judged.rep) for judged in _furthest_outside(result.reps)}

    def need(judged: JudgedRep) -> tuple[bool, int, float]:
        mark = rep_mark(judged, exercise, words).name
        score = 101.0 if judged.score is None else judged.score
        return rep_key(judged.rep) not in chosen, _NEEDS_A_LOOK.index(mark), score

    return frozenset(rep_key(one.rep) for one in sorted(result.reps, key=need)[:FOR_COACH])


def from_first_to_last(reps: tuple[RepCard, ...]) -> tuple[RepCard, ...]:
    """The repetitions shown to the client in print: all, but of a long set some evenly apart."""
    if len(reps) <= LONG:
        return reps
    step = (len(reps) - 1) / (FOR_CLIENT - 1)
    return tuple(reps[round(k * step)] for k in range(FOR_CLIENT))


def tallied(marks: Iterable[Mark]) -> tuple[Tally, ...]:
    """How many there are of each mark, the best first; over and under a target are one."""
    counts = Counter(Mark(mark.name, mark.word) for mark in marks)
    order = sorted(counts, key=lambda mark: -_NEEDS_A_LOOK.index(mark.name))
    return tuple(Tally(mark, counts[mark]) for mark in order)


def tallied_checks(matrix: tuple[MatrixRow, ...]) -> tuple[CheckTally, ...]:
    """Each check over all whole repetitions."""
    return tuple(
        CheckTally(row.label, row.limits, tallied(cell.mark for cell in row.cells if cell))
        for row in matrix
    )


def _furthest_outside(reps: tuple[JudgedRep, ...]) -> Iterable[JudgedRep]:
    worst: dict[str, tuple[float, JudgedRep]] = {}
    for judged in reps:
        for finding in judged.findings:
            if finding.verdict == "outside" and finding.margin is not None:
                known = worst.get(finding.id)
                if known is None or finding.margin < known[0]:
                    worst[finding.id] = finding.margin, judged
    return (judged for _, judged in worst.values())
