"""The page of an exercise learned from a demonstration."""

from pathlib import Path

from formcheck.learn.learn import Lesson
from formcheck.sheets.pages.learned import learned_page
from formcheck.sheets.render.html import page_html
from formcheck.words.words import Words


def learned_html(lesson: Lesson, *, file: Path, text: str, words: Words) -> str:
    """The page of a lesson; ``text`` is the exercise file, ``file`` where it is written."""
    page = learned_page(lesson, file=file, text=text, words=words)
    return page_html("learned.html.jinja", page, words)
