"""The client's packet: one offline page for a phone, one sheet of paper, and the answers form alone."""

from dataclasses import asdict, dataclass, replace
from typing import Any

from markupsafe import Markup

from formcheck.scratch import typesetting_folder
from formcheck.sheets.pages.packet import PacketItem, PacketPage
from formcheck.sheets.pages.sheet import Heading
from formcheck.sheets.render.figure import DrawnFigure, draw_exercise
from formcheck.sheets.render.html import environment, page_html
from formcheck.sheets.render.plan import DISTANCE_M, draw_plan
from formcheck.sheets.render.printing import print_pdf
from formcheck.words.words import Words

_STYLES = ("sheet.css", "packet.css")


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The drawings of one exercise: a pair for each part, and the plan."""

    figures: tuple[DrawnFigure, ...]
    plan: Markup


def packet_html(page: PacketPage, words: Words) -> str:
    """The packet as one self-contained page, which works without a network."""
    drawn = [_drawn(item, words) for item in page.items]
    return page_html(
        "packet.html.jinja",
        page,
        words,
        heading=_heading(page),
        styles=_STYLES,
        scripts=("pacer.js", "answers.js"),
        drawn=drawn,
    )


def answers_html(page: PacketPage, words: Words) -> str:
    """The questions and answers of a packet alone."""
    return page_html(
        "answers.html.jinja",
        replace(page, title=words("answers.title")),
        words,
        heading=_heading(page),
        styles=_STYLES,
        scripts=("answers.js",),
    )


def packet_pdf(page: PacketPage, words: Words, paper: str) -> bytes:
    """The packet on one sheet of paper, the answers on its back; ``paper`` is ``a4`` or ``us-letter``."""
    data: dict[str, Any] = {
        "paper": paper,
        "lang": words("language"),
        "t": _names(page, words),
        "title": page.title,
        "draft": words("page.draft"),
        "for_whom": words("page.for_whom", alias=page.client),
        "when": page.phase,
        "stop_first": asdict(page.stop_first) if page.stop_first else None,
        "stop": page.stop,
        "questions": [text for _, text in page.questions],
        "scales": [words("packet.scale", name=name) for _, name, _ in page.scales],
        "later": page.later,
        "steps": page.steps,
    }
    with typesetting_folder() as folder:
        data["items"] = []
        for number, item in enumerate(() if page.stop_first else page.items):
            drawn = _drawn(item, words, standalone=True)
            pictures = {"plan": drawn.plan}
            for at, one in enumerate(drawn.figures):
                pictures |= {f"start-{at}": one.start} | ({f"end-{at}": one.end} if one.end else {})
            for name, svg in pictures.items():
                (folder / f"{number}-{name}.svg").write_text(svg, encoding="utf-8")
            data["items"].append(_printed(item, number, drawn))
        return print_pdf("packet.typ", data, folder)


def _names(page: PacketPage, words: Words) -> dict[str, str]:
    """The fixed words on paper."""
    of_packet = (
        *("role", "how_to_film", "plan_caption", "stop", "limits", "first", "first_how"),
        *("tell", "back", "stop_this", "start", "end", "held"),
    )
    of_answers = ("day", "none", "stopped_by", "words")
    return {
        **{name: words(f"packet.{name}") for name in of_packet},
        **{name: words(f"answers.{name}") for name in of_answers},
        "made_by": words("page.made_by"),
        "name": words("packet.name_short"),
        "back_how": words("packet.back_how", most=page.most_pain),
        "nothing": words("stop.dose"),
    }


def _printed(item: PacketItem, number: int, drawn: _Drawn) -> dict[str, Any]:
    kept = ("title", "side", "dose", "limits", "summary", "start", "film", "note", "cautions")
    parts = [
        {
            "title": part.title,
            "pace": part.pace.line,
            "start": f"{number}-start-{at}.svg",
            "end": f"{number}-end-{at}.svg" if drawn.figures[at].end else "",
        }
        for at, part in enumerate(item.parts)
    ]
    more = {"parts": parts, "plan": f"{number}-plan.svg", "clip_name": item.clip_name}
    return {name: getattr(item, name) for name in kept} | more


def _drawn(item: PacketItem, words: Words, *, standalone: bool = False) -> _Drawn:
    draw, exercise = environment(), item.exercise
    figures = (
        draw_exercise(
            draw,
            exercise,
            one.part,
            item.side_key,
            (one.start_label, one.end_label),
            standalone=standalone,
        )
        for one in item.parts
    )
    distance = words("packet.distance", distance=words.exact(DISTANCE_M, ""))
    plan = draw_plan(
        draw, exercise, item.side_key, item.plan_label, distance, standalone=standalone
    )
    return _Drawn(tuple(figures), plan)


def _heading(page: PacketPage) -> Heading:
    return Heading(page.client, "", page.phase, "", "", "", "", "", page.stop_first)
