"""The filming guide of an exercise: for the terminal, as a page, and as a card to print."""

from dataclasses import asdict

from formcheck.exercises.schema import Exercise
from formcheck.scratch import scratch_folder
from formcheck.sheets.pages.filming import filming_card
from formcheck.sheets.render.html import page_html
from formcheck.sheets.render.printing import print_pdf
from formcheck.words.words import Words


def filming_text(exercise: Exercise, words: Words) -> str:
    """The guide as plain lines."""
    card = filming_card(exercise, words)
    lines = [card.title, "", card.advice, ""]
    lines += [f"{name}: {text}" for name, text in card.steps]
    lines += ["", words("filming.views")]
    for line in card.views:
        lines.append(f"  {line.view}: {line.judged}")
        if line.not_judged:
            lines.append(f"    {words('filming.not_judged')}: {line.not_judged}")
    lines += ["", words("filming.never"), *(f"  - {line}" for line in card.never)]
    return "\n".join(lines)


def filming_html(exercise: Exercise, words: Words) -> str:
    """The guide as a page."""
    return page_html("filming.html.jinja", filming_card(exercise, words), words)


def filming_pdf(exercise: Exercise, words: Words, paper: str) -> bytes:
    """The guide as a card to print; ``paper`` is ``a4`` or ``us-letter``."""
    card = filming_card(exercise, words)
    keys = ("role", "views", "view", "judged", "not_judged", "never")
    data = {
        "paper": paper,
        "lang": words("language"),
        "t": {"made_by": words("page.made_by"), **{key: words(f"filming.{key}") for key in keys}},
        "title": card.title,
        "for_whom": "",
        "when": "",
        "page": asdict(card),
    }
    with scratch_folder() as folder:
        return print_pdf("filming.typ", data, folder)
