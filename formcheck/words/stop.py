"""What a client's answers mean: stop, and speak to a clinician. The same on every page, in the terminal
and in a batch.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.records.answer_file import StopReason, reasons_to_stop
from formcheck.records.answers import Answer
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class StopCard:
    """Title, what to do, and the answers that say so."""

    title: str
    lead: str
    reasons: tuple[str, ...]
    cleared: str


def stop_card(
    answers: Sequence[Answer], words: Words, most_pain: int = MOST_PAIN, *, days: bool = False
) -> StopCard | None:
    """The card for a client's answers; None if they give no reason to stop.

    ``most_pain`` (0-10) is the most pain with which the client goes on. With ``days`` each reason says
    of which day it is.
    """
    lines = [(one, line) for one in answers for line in _lines(one, words, most_pain)]
    if not lines:
        return None
    told = [
        words("stop.on_day", day=words.date(one.day), line=line) if days else line
        for one, line in lines
    ]
    reasons = tuple(dict.fromkeys(told))
    return StopCard(words("stop.title"), words("stop.lead"), reasons, words("stop.cleared"))


def stop_lines(answer: Answer | None, words: Words, most_pain: int = MOST_PAIN) -> list[str]:
    """A line for each answer that gives a reason to stop, as a terminal and a list of clips have it."""
    lines = _lines(answer, words, most_pain) if answer else []
    return [words("stop.line", title=words("stop.title"), line=line) for line in lines]


def _lines(answer: Answer, words: Words, most_pain: int) -> list[str]:
    return [_line(reason, words) for reason in reasons_to_stop(answer, most_pain)]


def _line(reason: StopReason, words: Words) -> str:
    """``Answered yes: ...``, or ``Pain during: 7 of 10. With more than 5, stop.``"""
    if reason.flag:
        return words("stop.flag", question=words(f"red_flag.{reason.flag}"))
    name = words(f"answers.{reason.pain}")
    return words("stop.pain", name=name, value=reason.value, limit=reason.limit)
