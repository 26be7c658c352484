"""The checks that some repetitions allowed and others did not."""

from formcheck.catalogue.codes import Verdict
from formcheck.checks.result import ClipResult, Finding
from formcheck.words.labels import check_title
from formcheck.words.words import Words


def partly_measured(result: ClipResult, words: Words) -> tuple[str, ...]:
    """A line for each: in how many it could not be told, of either arm, and why.

    What no repetition allowed is in ``summary.not_measured``.
    """
    told = {(one.part, one.check_id) for one in result.summary.not_measured}
    found: dict[str, list[list[Finding]]] = {}
    for judged in result.whole_reps:
        arms: dict[str, list[Finding]] = {}
        for one in judged.findings:
            if not told & {(None, one.id), (judged.rep.part, one.id)}:
                arms.setdefault(one.id, []).append(one)
        for check_id, of_rep in arms.items():
            found.setdefault(check_id, []).append(of_rep)
    return tuple(line for reps in found.values() if (line := _line(reps, words)))


def _line(reps: list[list[Finding]], words: Words) -> str:
    """The line of a check, from its findings in each repetition; empty where all were measured."""
    unseen = [[one for one in arms if _is_unseen(one)] for arms in reps]
    first = next((one for some in unseen for one in some), None)
    if first is None:
        return ""
    return words(
        "coach.partly_measured",
        name=check_title(first, words),
        count=sum(map(bool, unseen)),
        total=len(reps),
        reason=words.tell(first.reason) if first.reason else "",
    )


def _is_unseen(finding: Finding) -> bool:
    return finding.verdict == Verdict.NOT_MEASURABLE
