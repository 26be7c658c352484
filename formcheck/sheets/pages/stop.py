"""A client's page where their answers say to stop: it asks for nothing more."""

from dataclasses import replace

from formcheck.sheets.pages.client import ClientPage
from formcheck.words.words import Words


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
