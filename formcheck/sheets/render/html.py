"""The pages as self-contained HTML: no outside resource, a strict content security policy."""

import base64
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from formcheck.sheets.pages.chart_spec import ChartSpec
from formcheck.sheets.pages.client import ClientPage
from formcheck.sheets.pages.coach import CoachPage
from formcheck.sheets.pages.marks import CLIENT_MARKS, COACH_MARKS, plain_mark
from formcheck.sheets.pages.moments import Drawn, Still
from formcheck.sheets.pages.sheet import Heading, Sheet, UnusablePage
from formcheck.sheets.render.camera_drawing import draw_camera
from formcheck.sheets.render.chart import NARROW, WIDE, draw_chart
from formcheck.text import capitalise_first, strip_bidi
from formcheck.words.stop import for_coach
from formcheck.words.words import Words

_LANDSCAPE = 1.6
"""Width over height above which pictures need more room side by side. Mechanical."""


@dataclass(frozen=True, slots=True)
class ClipLink:
    """The annotated clip on a page: a file beside it (``src``) or base64 inside it (``data``).

    ``poster`` is what it shows until it plays, as a data URI.
    """

    width: int
    height: int
    duration_s: float
    src: str = ""
    data: str = ""
    sound: bool = False
    poster: str = ""


@dataclass(frozen=True, slots=True)
class _Picture:
    jpeg: bytes
    width: int
    height: int
    time_s: float
    at: str
    drawn: Drawn

    @property
    def uri(self) -> str:
        return "data:image/jpeg;base64," + base64.b64encode(self.jpeg).decode("ascii")


@dataclass(frozen=True, slots=True)
class _DrawnChart:
    label: str
    narrow: Markup
    wide: Markup
    prominent: bool


def client_html(sheet: Sheet, words: Words, clip: ClipLink | None = None) -> Iterator[str]:
    """The client's page, in pieces, as a long clip makes it large.

    It shows the stills of what is to work on, and of the charts only the first that has any values.
    """
    told = sheet.client.large | {cue.picture for cue in sheet.client.cues}
    stills = {key: still for key, still in sheet.stills.items() if key in told}
    charts = [spec for spec in sheet.charts if np.isfinite(spec.value).any()]
    charts.sort(key=lambda spec: not spec.bands)  # what was asked for is to be seen on it
    shown = replace(sheet, charts=tuple(charts[:1]), stills=stills)
    scripts = ("player.js",) if clip else ()
    return _render("client.html.jinja", shown, sheet.client, words, clip=clip, scripts=scripts)


def coach_html(
    sheet: Sheet, words: Words, clip: ClipLink | None = None, all_clips: str = ""
) -> Iterator[str]:
    """The coach's page, in pieces, with a note that can be written, stored and printed.

    ``all_clips`` is the address of the page of all clips that this one is among.
    """
    scripts = [
        *(["player.js"] if clip else []),
        *(["clips.js"] if all_clips else []),
        "note.js",
    ]
    return _render(
        "coach.html.jinja",
        sheet,
        sheet.coach,
        words,
        clip=clip,
        scripts=scripts,
        all_clips=all_clips,
    )


def unusable_html(
    page: UnusablePage, heading: Heading, words: Words, people: Still | None = None
) -> str:
    """The short page of a clip that could not be judged; ``people`` shows who may be meant."""
    camera = draw_camera(environment(), page.drawn, words) if page.drawn else None
    styles = ("sheet.css", "packet.css") if camera else ("sheet.css",)
    context = {
        **_common(heading, words, styles=styles),
        "camera": camera,
        "people": None if people is None else _picture(people, words),
    }
    return environment().get_template("unusable.html.jinja").render(page=page, **context)


def page_html(
    template: str,
    page: object,
    words: Words,
    *,
    heading: Heading | None = None,
    styles: Sequence[str] = ("sheet.css",),
    scripts: Sequence[str] = (),
    **more: object,
) -> str:
    """A page that is not about one clip: its own template over the common frame."""
    head = heading or Heading("", "", "", "", "", "", "", "")
    context = _common(head, words, names=scripts, styles=styles)
    return environment().get_template(template).render(page=page, **context, **more)


@cache
def environment() -> Environment:
    """The templates: everything escaped, an unknown name an error."""
    made = Environment(
        loader=PackageLoader("formcheck.sheets.render"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_harmless,
    )
    made.filters["capitalise_first"] = capitalise_first
    return made


def load_templates() -> None:
    """Compile the templates of both pages, which takes a fifth of a second."""
    for name in ("base.html", "client.html", "coach.html", "parts", "chart.svg"):
        environment().get_template(f"{name}.jinja")


def _render(
    template: str,
    sheet: Sheet,
    page: ClientPage | CoachPage,
    words: Words,
    *,
    clip: ClipLink | None,
    scripts: Sequence[str],
    all_clips: str = "",
) -> Iterator[str]:
    of_coach = isinstance(page, CoachPage)
    styles = ("sheet.css", "coach.css") if of_coach else ("sheet.css",)
    heading = sheet.heading
    if of_coach:
        heading = replace(heading, stop=for_coach(heading.stop, words))
    columns = _columns(len(page.matrix_reps)) if isinstance(page, CoachPage) else ""
    context = _common(heading, words, clip, scripts, styles, own_style=columns)
    return (
        environment()
        .get_template(template)
        .generate(
            page=page,
            charts=[_drawn(spec, words) for spec in sheet.charts],
            stills={key: _picture(still, words) for key, still in sheet.stills.items()},
            note=sheet.note,
            all_marks=[
                plain_mark(name, words) for name in (COACH_MARKS if of_coach else CLIENT_MARKS)
            ],
            landscape=any(
                still.width > _LANDSCAPE * still.height for still in sheet.stills.values()
            ),
            moments=[rep.seek_s for rep in page.reps],
            all_clips=all_clips,
            **context,
        )
    )


def _common(
    heading: Heading,
    words: Words,
    clip: ClipLink | None = None,
    names: Sequence[str] = (),
    styles: Sequence[str] = ("sheet.css",),
    *,
    own_style: str = "",
) -> dict[str, Any]:
    scripts = [_asset(name) for name in names]
    style = Markup("").join([*map(_asset, styles), own_style, _printed_margins(heading)])
    return {
        "t": words,
        "lang": words("language"),
        "alias": heading.alias,
        "when": heading.when,
        "privacy": heading.privacy,
        "provenance": heading.provenance,
        "kind": heading.kind,
        "kinds": heading.kinds,
        "stop_first": heading.stop,
        "clip": clip,
        "style": style,
        "scripts": scripts,
        "policy": _policy(style, scripts, plays=clip is not None),
    }


def _columns(reps: int) -> Markup:
    """How many repetitions the coach's matrix has, from which its style tells how wide it is."""
    return Markup(f".matrix-room{{--reps:{reps}}}\n")  # noqa: S704 - a number only


def _printed_margins(heading: Heading) -> Markup:
    """What the browser prints at the head and foot of every page: whose, which clip, when."""
    whose = " · ".join(filter(None, (heading.alias, heading.when)))
    # Written as code points, so that nothing in a name ends the string or the style.
    told = "".join(f"\\{ord(letter):06x}" for letter in strip_bidi(whose))
    return Markup(  # noqa: S704 - digits and our own words only
        f'@page{{margin:14mm;@top-left{{content:"{told}";font:10pt sans-serif}}'
        f'@bottom-left{{content:"{told}";font:10pt sans-serif}}'
        '@bottom-right{content:counter(page) " / " counter(pages);font:10pt sans-serif}}\n'
    )


def _policy(style: str, scripts: Sequence[str], *, plays: bool) -> str:
    """Only what is in the page itself, by its hash; the clip beside it or out of it."""
    parts = ["default-src 'none'", "img-src data:", f"style-src '{_hash(style)}'"]
    if scripts:
        parts.append(" ".join(["script-src", *(f"'{_hash(script)}'" for script in scripts)]))
    if plays:
        parts.append("media-src 'self' file: blob:")
    return "; ".join([*parts, "base-uri 'none'", "form-action 'none'"])


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return "sha256-" + base64.b64encode(digest).decode("ascii")


@cache
def _asset(name: str) -> Markup:
    text = (resources.files(__package__) / "templates" / name).read_text("utf-8")
    return Markup(text)  # noqa: S704 - our own file, nothing filled in


def _harmless(value: object) -> object:
    """Text that is filled in becomes a harmless line; our own markup passes as it is."""
    return strip_bidi(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _drawn(spec: ChartSpec, words: Words) -> _DrawnChart:
    narrow, wide = (draw_chart(environment(), spec, words, width) for width in (NARROW, WIDE))
    return _DrawnChart(spec.label, narrow, wide, spec.prominent)


def _picture(still: Still, words: Words) -> _Picture:
    at = words.moment(still.time_s)
    return _Picture(still.jpeg, still.width, still.height, round(still.time_s, 3), at, still.drawn)
