"""The filming guide of an exercise: for the terminal, as a page, and as a card to print."""

from dataclasses import asdict

from formcheck.exercises.schema import Exercise
from formcheck.scratch import typesetting_folder
from formcheck.sheets.pages.filming import filming_card, pair_card
from formcheck.sheets.render.camera_drawing import draw_camera
from formcheck.sheets.render.html import environment, page_html
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


def pair_text(exercise: Exercise, words: Words) -> str:
    """How to film with two phones, as plain lines."""
    card = pair_card(exercise, words)
    lines = [card.title, "", card.where, "", *(f"  {k}. {s}" for k, s in enumerate(card.steps, 1))]
    lines += ["", f"{words('filming.two_judged')}: {card.judged}"]
    return "\n".join([*lines, f"{words('filming.two_gained')}: {card.gained}"])


def filming_html(exercise: Exercise, words: Words) -> str:
    """The guide as a page."""
    return page_html(
        "filming.html.jinja",
        filming_card(exercise, words),
        words,
        styles=("sheet.css", "packet.css"),
        camera=draw_camera(environment(), exercise, words),
    )


def filming_pdf(exercise: Exercise, words: Words, paper: str) -> bytes:
    """The guide as a card to print; ``paper`` is ``a4`` or ``us-letter``."""
    card = filming_card(exercise, words)
    data = {
        "paper": paper,
        "lang": words("language"),
        "t": {
            "made_by": words("page.made_by"),
            "role": words("filming.role"),
            "never": words("filming.never"),
            "from_above": words("plan.from_above"),
            "in_picture": words("plan.in_picture"),
        },
        "title": card.title,
        "for_whom": "",
        "when": "",
        "page": asdict(card),
    }
    with typesetting_folder() as folder:
        drawn = draw_camera(environment(), exercise, words, standalone=True)
        for name, svg in (("plan", drawn.plan), ("picture", drawn.picture)):
            (folder / f"{name}.svg").write_text(svg, encoding="utf-8")
        return print_pdf("filming.typ", data, folder)
