"""What comes first on every page where the client's answers say so: stop, and speak to a clinician."""

from dataclasses import dataclass, replace

from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.records.answer_file import StopReason, reasons_to_stop
from formcheck.records.answers import Answer
from formcheck.sheets.pages.client import ClientPage
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class StopCard:
    """Title, what to do, and the answers that say so."""

    title: str
    lead: str
    reasons: tuple[str, ...]
    cleared: str


def stop_card(answer: Answer | None, words: Words, most_pain: int = MOST_PAIN) -> StopCard | None:
    """The card for the client's answer; None if it gives no reason to stop."""
    reasons = reasons_to_stop(answer, most_pain) if answer else ()
    if not reasons:
        return None
    return StopCard(
        words("stop.title"),
        words("stop.lead"),
        tuple(stop_line(reason, words) for reason in reasons),
        words("stop.cleared"),
    )


def stop_line(reason: StopReason, words: Words) -> str:
    """``You answered yes: ...``, or ``Pain during: 7 of 10. Agreed for you: at most 5.``"""
    if reason.flag:
        return words("stop.flag", question=words(f"red_flag.{reason.flag}"))
    name = words(f"answers.{reason.pain}")
    return words("stop.pain", name=name, value=reason.value, limit=reason.limit)


def without_more(page: ClientPage, words: Words) -> ClientPage:
    """The client's page that asks for nothing more and tells nobody to keep going."""
    return replace(
        page,
        dose_line=words("stop.dose"),
        cues=(),
        large=frozenset(),
        check_yourself=(),
        next_none=words("stop.next"),
    )
