"""What a client's answers mean: stop, and speak to a clinician. The same on every page, in the terminal
and in a batch.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.records.answer_file import StopReason, reasons_to_stop
from formcheck.records.answers import Answer
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class StopCard:
    """Title, what to do, the answers that say so, and until when."""

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
    lines = [(one, line) for one in answers for line in stop_reasons(one, words, most_pain)]
    if not lines:
        return None
    told = [
        words("stop.on_day", day=words.date(one.day), line=line) if days else line
        for one, line in lines
    ]
    reasons = tuple(dict.fromkeys(told))
    return StopCard(words("stop.title"), words("stop.lead"), reasons, words("stop.cleared"))


def for_coach(card: StopCard | None, words: Words) -> StopCard | None:
    """The same card as it speaks to the coach."""
    if card is None:
        return None
    title, lead, cleared = (words(f"stop.coach_{name}") for name in ("title", "lead", "cleared"))
    return replace(card, title=title, lead=lead, cleared=cleared)


def stop_reasons(answer: Answer, words: Words, most_pain: int = MOST_PAIN) -> list[str]:
    """What of an answer gives a reason to stop, each with the limit that it passes."""
    return [_line(reason, words) for reason in reasons_to_stop(answer, most_pain)]


def stop_lines(answer: Answer | None, words: Words, most_pain: int = MOST_PAIN) -> list[str]:
    """A line for each answer that gives a reason to stop, as a terminal and a list of clips have it."""
    lines = stop_reasons(answer, words, most_pain) if answer else []
    return [words("stop.line", title=words("stop.title"), line=line) for line in lines]


def _line(reason: StopReason, words: Words) -> str:
    """``Answered yes: ...``, or ``Pain during: 7 of 10. With more than 5, stop.``"""
    if reason.flag:
        return words("stop.flag", question=words(f"red_flag.{reason.flag}"))
    name = words(f"answers.{reason.pain}")
    return words("stop.pain", name=name, value=reason.value, limit=reason.limit)
