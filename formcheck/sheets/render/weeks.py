"""The pages of a client over the weeks: as HTML and to print."""

from dataclasses import asdict

from formcheck.scratch import typesetting_folder
from formcheck.sheets.pages.sheet import Heading
from formcheck.sheets.pages.weeks import Reader, WeeksPage
from formcheck.sheets.render.day_chart import NARROW, WIDE, draw_day_chart
from formcheck.sheets.render.html import environment, page_html
from formcheck.sheets.render.pdf import breakable
from formcheck.sheets.render.printing import print_pdf
from formcheck.words.words import Words

_NAMES = (
    *("now", "days", "days_key", "limits", "week_head", "done", "changes", "sides"),
    *("sides_note", "notes", "overrules", "caution"),
    *("col_days", "col_how", "col_sets", "col_counts", "col_held", "col_check", "col_left"),
    *("col_right", "col_apart", "col_error", "col_day", "col_before", "col_during", "col_after"),
    *("col_morning", "col_effort", "col_words", "signed", "signed_note", "col_value", "col_signed"),
)


def weeks_html(page: WeeksPage, words: Words, reader: Reader) -> str:
    """The page as HTML, everything in it."""
    charts = [
        [
            draw_day_chart(environment(), card.chart, words, f"c{k}", width)
            for width in (NARROW, WIDE)
            if card.chart is not None
        ]
        for k, card in enumerate(page.cards)
    ]
    heading = Heading("", "", "", page.span, "", "", "", "", page.stop)
    return page_html("weeks.html.jinja", page, words, heading=heading, charts=charts, reader=reader)


def weeks_pdf(page: WeeksPage, words: Words, reader: Reader, paper: str) -> bytes:
    """The page as PDF; ``paper`` is ``a4`` or ``us-letter``."""
    shown = asdict(page)
    for card in shown["cards"]:
        del card["chart"]
    data = {
        "paper": paper,
        "lang": words("language"),
        "t": {"made_by": words("page.made_by"), **{n: words(f"weeks.{n}") for n in _NAMES}},
        "title": page.title,
        "for_whom": words("page.for_whom", alias=page.alias) if reader == "client" else "",
        "when": page.span,
        "said": words("weeks.said" if reader == "coach" else "weeks.said_client"),
        "stop_first": shown["stop"],
        "page": shown,
    }
    charts = []
    with typesetting_folder() as root:
        for k, card in enumerate(page.cards):
            if card.chart is None:
                charts.append({"path": "", "label": ""})
                continue
            svg = draw_day_chart(environment(), card.chart, words, f"c{k}", NARROW, standalone=True)
            (root / f"chart-{k}.svg").write_text(svg, encoding="utf-8")
            charts.append({"path": f"chart-{k}.svg", "label": card.chart.title})
        return print_pdf("weeks.typ", breakable(data | {"charts": charts}), root)
