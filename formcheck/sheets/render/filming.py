"""The filming guide of an exercise in words: for the terminal, as a page, and as a card to print."""

from dataclasses import asdict, dataclass
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory

from formcheck.exercises.schema import Check, Exercise
from formcheck.filming.advice import ViewAdvice, view_advice
from formcheck.sheets.pages.cards import capital, check_label, measure_label
from formcheck.sheets.render.html import page_html
from formcheck.sheets.render.typesetting import typeset
from formcheck.words.words import Words

_STEPS = ("camera", "see", "clothes", "light", "quiet", "whole")


@dataclass(frozen=True, slots=True)
class ViewLine:
    """One view: what can be judged from it and what not."""

    view: str
    judged: str
    not_judged: str


@dataclass(frozen=True, slots=True)
class FilmingCard:
    """The guide, top to bottom."""

    title: str
    advice: str
    steps: tuple[tuple[str, str], ...]
    views: tuple[ViewLine, ...]
    never: tuple[str, ...]


def filming_card(exercise: Exercise, words: Words) -> FilmingCard:
    """Where the camera stands, what must be seen, and what each view can judge."""
    advice = view_advice(exercise)
    return FilmingCard(
        title=exercise.title,
        advice=exercise.filming.advice,
        steps=tuple((words(f"filming.{s}"), words(f"filming.{s}_how")) for s in _STEPS),
        views=tuple(_view_line(one, words) for one in advice),
        never=exercise.cannot_judge,
    )


def filming_text(card: FilmingCard, words: Words) -> str:
    """The guide as plain lines."""
    lines = [card.title, "", card.advice, ""]
    lines += [f"{name}: {text}" for name, text in card.steps]
    lines += ["", words("filming.views")]
    for line in card.views:
        lines.append(f"  {line.view}: {line.judged}")
        if line.not_judged:
            lines.append(f"    {words('filming.not_judged')}: {line.not_judged}")
    lines += ["", words("filming.never"), *(f"  - {line}" for line in card.never)]
    return "\n".join(lines)


def filming_html(card: FilmingCard, words: Words) -> str:
    """The guide as a page."""
    return page_html("filming.html.jinja", card, words)


def filming_pdf(card: FilmingCard, words: Words, paper: str) -> bytes:
    """The guide as a card to print; ``paper`` is ``a4`` or ``us-letter``."""
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
    with TemporaryDirectory() as folder:
        look = resources.files("formcheck.sheets.render") / "templates" / "look.typ"
        (Path(folder) / "look.typ").write_bytes(look.read_bytes())
        return typeset("filming.typ", data, root=Path(folder))[0]


def _view_line(one: ViewAdvice, words: Words) -> ViewLine:
    return ViewLine(
        view=words(f"filming.from_{one.view}"),
        judged=_names(one.decided, one.undecided, words) or words("filming.nothing"),
        not_judged=_names(one.undecided, one.decided, words),
    )


def _names(checks: tuple[Check, ...], others: tuple[Check, ...], words: Words) -> str:
    """What the checks are of, each once; with how it is read where ``others`` are of it too."""
    split = {check.measure for check in others}
    names = dict.fromkeys(
        check_label(check.measure, check.statistic, check.phase, words)
        if check.measure in split
        else measure_label(check.measure, words)
        for check in checks
    )
    return capital("; ".join(name[:1].lower() + name[1:] for name in names))
