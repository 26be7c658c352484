"""The printed sheets: one page for the client, as many as it takes for the coach."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from formcheck.scratch import typesetting_folder
from formcheck.sheets.pages.coach import CoachPage
from formcheck.sheets.pages.long_sets import evenly_spaced, tally_checks, tally_marks
from formcheck.sheets.pages.marks import CLIENT_MARKS, COACH_MARKS, MarkName, plain_mark
from formcheck.sheets.pages.moments import close_up_key
from formcheck.sheets.pages.sheet import Sheet
from formcheck.sheets.render.chart import NARROW, WIDE, draw_chart
from formcheck.sheets.render.html import environment
from formcheck.sheets.render.printing import print_pdf
from formcheck.text import capitalise_first, strip_bidi
from formcheck.words.stop import for_coach
from formcheck.words.words import Words

_LONGEST_WORD = 36
"""Characters after which a word may be broken, so that it stays on the page. Mechanical."""
_BREAK = "\N{ZERO WIDTH SPACE}"
_CLIENT_WORDS = {
    "made_by": "page.made_by",
    "for_client": "page.for_client",
    "did": "client.did",
    "well": "client.well",
    "next": "client.next",
    "next_check": "client.next_check",
    "unmeasured": "client.unmeasured",
    "how_to_film": "client.how_to_film",
    "stop": "client.stop",
    "key": "client.reps_key",
}
_COACH_WORDS = {
    "made_by": "page.made_by",
    "for_coach": "page.for_coach",
    "reps_key": "client.reps_key",
    "stop": "client.stop",
    "left": "side.left",
    "right": "side.right",
    "not_measured": "coach.unmeasured",
    **{
        name: f"coach.{name}"
        for name in (
            *(
                "overview",
                "told",
                "appendix",
                "measures",
                "measures_note",
                "worst",
                "checks_note",
                "margin_note",
                "checks",
                "check",
                "over_set",
            ),
            *("verdict", "value", "limit", "margin", "when", "tempo", "out", "far", "back"),
            *("whole", "held", "sides", "difference", "quality", "no_problems"),
            *(
                "all_measured",
                "none_measured",
                "no_view",
                "tempo_note",
                "look",
                "look_note",
                "note",
                "signed",
                "provenance",
            ),
        )
    },
}


def client_pdf(sheet: Sheet, words: Words, paper: str) -> bytes:
    """The client's page as PDF; ``paper`` is ``a4`` or ``us-letter``."""
    page = sheet.client
    dose = " ".join(part for part in (f"{page.asked}.", page.dose_line, page.partial_line) if part)
    data = _common(sheet, words, paper, _CLIENT_WORDS) | {"dose": dose}
    reps = evenly_spaced(page.reps)
    some = {"shown": len(reps), "total": len(page.reps), "kind": sheet.heading.kinds}
    data["page"] = asdict(replace(page, reps=reps, large=frozenset())) | {
        "large": sorted(page.large)
    }
    shown = {rep.mark.name for rep in page.reps}
    data["key"] = _key([name for name in CLIENT_MARKS if name in shown], words)
    data["printed_note"], data["tallies"] = "", []
    if len(reps) < len(page.reps):
        data["printed_note"] = words("client.printed", **some)
        data["tallies"] = [asdict(one) for one in tally_marks(rep.mark for rep in page.reps)]
    _add_moments(data["page"], words)
    return _print("client.typ", sheet, data, words)


def coach_pdf(sheet: Sheet, words: Words, paper: str) -> bytes:
    """The coach's pages as PDF."""
    heading = replace(sheet.heading, stop=for_coach(sheet.heading.stop, words))
    data = _common(replace(sheet, heading=heading), words, paper, _COACH_WORDS)
    page = sheet.coach
    some = {"shown": len(sheet.printed_reps), "total": len(page.reps)}
    data["page"] = asdict(_only_reps(page, sheet.printed_reps))
    data["strip"] = [{"number": rep.number, "mark": asdict(rep.mark)} for rep in page.reps]
    data["printed_note"], data["tallied"] = "", []
    if some["shown"] < some["total"]:
        data["printed_note"] = words("coach.printed", **some)
        data["tallied"] = [asdict(check) for check in tally_checks(page.matrix)]
    for row, told in zip(page.matrix, data["page"]["matrix"], strict=True):
        told["worst"] = asdict(row.worst)
    data["note"] = sheet.note
    data["open_at"] = words("page.at", moment=page.open_first.at) if page.open_first else ""
    data["key"] = _key(COACH_MARKS, words)
    _add_moments(data["page"], words)
    for rep in data["page"]["reps"]:
        share = words("coach.coverage", share=rep["coverage"])
        score = words("coach.score_of", score=rep["score"])
        scored = f"{words('coach.score')}: {score}, {share}" if rep["score"] else ""
        about = (rep["detail"], rep["held"], scored)
        rep["about"] = "".join(f" · {one}" for one in about if one)
    data["close_ups"] = [
        {"picture": key, "label": f"{rep.name} {words.moment(sheet.stills[key].time_s)}"}
        for rep in page.matrix_reps
        if (key := close_up_key(rep.picture)) in sheet.stills
    ]
    return _print("coach.typ", sheet, data, words)


def _only_reps(page: CoachPage, keys: frozenset[str]) -> CoachPage:
    """The page with only those repetitions."""
    kept = [k for k, rep in enumerate(page.matrix_reps) if rep.picture in keys]
    return replace(
        page,
        reps=tuple(rep for rep in page.reps if rep.picture in keys),
        matrix_reps=tuple(page.matrix_reps[k] for k in kept),
        matrix=tuple(replace(row, cells=tuple(row.cells[k] for k in kept)) for row in page.matrix),
        tempo=tuple(row for row in page.tempo if row.card.picture in keys),
    )


def _common(sheet: Sheet, words: Words, paper: str, names: Mapping[str, str]) -> dict[str, Any]:
    heading = sheet.heading
    whom = words("page.for_whom", alias=heading.alias) if heading.alias else ""
    return {
        "paper": paper,
        "lang": words("language"),
        "t": {name: words(key) for name, key in names.items()},
        "title": sheet.client.title,
        "draft": words("page.draft"),
        "for_whom": whom,
        "when": heading.when,
        "running": "".join(f" · {one}" for one in (whom, heading.when) if one),
        "kind": capitalise_first(heading.kind),
        "privacy": heading.privacy,
        "provenance": heading.provenance,
        "stop_first": asdict(heading.stop) if heading.stop else None,
    }


def _key(names: Sequence[MarkName], words: Words) -> list[dict[str, Any]]:
    """How to read the marks."""
    return [
        {"mark": asdict(plain_mark(name, words)), "means": words(f"verdict_long.{name}")}
        for name in names
    ]


def _add_moments(page: dict[str, Any], words: Words) -> None:
    for cue in page["cues"]:
        cue["at_line"] = words("page.at", moment=cue["at"])


def _print(template: str, sheet: Sheet, data: dict[str, Any], words: Words) -> bytes:
    """Lay pictures and charts beside each other and set the template there."""
    with typesetting_folder() as root:
        data["pictures"] = {}
        shown = _pictures_in(data)
        told = {
            one["picture"]: one["alt"] for name in ("cues", "reps") for one in data["page"][name]
        }
        for number, key in enumerate(key for key in sheet.stills if key in shown):
            still = sheet.stills[key]
            name = f"still-{number}.jpg"
            (root / name).write_bytes(still.jpeg)
            alt = told.get(key) or words("page.picture_at", moment=words.moment(still.time_s))
            shape = still.width / still.height
            shown_as = {"path": name, "alt": alt, "drawn": still.drawn, "shape": shape}
            data["pictures"][key] = shown_as
        data["charts"] = []
        for number, spec in enumerate(sheet.charts):
            name = f"chart-{number}.svg"
            width = WIDE if spec.prominent else NARROW
            svg = draw_chart(environment(), spec, words, width, standalone=True)
            (root / name).write_text(svg, encoding="utf-8")
            label = capitalise_first(spec.label)
            data["charts"].append({"path": name, "label": label, "prominent": spec.prominent})
        return print_pdf(template, breakable(data), root)


def _pictures_in(data: dict[str, Any]) -> set[str]:
    """Keys of the stills that are printed."""
    page = data["page"]
    return {one["picture"] for one in (*page["reps"], *page["cues"], *data.get("close_ups", ()))}


def breakable(value: Any) -> Any:  # noqa: ANN401 - any JSON value
    """The same data as harmless lines, with places to break in overlong words."""
    match value:
        case str():
            return " ".join(_with_breaks(part) for part in strip_bidi(value).split(" "))
        case dict():
            return {
                key: inner if key == "path" else breakable(inner) for key, inner in value.items()
            }
        case list() | tuple():
            return [breakable(inner) for inner in value]
    return value


def _with_breaks(word: str) -> str:
    if len(word) <= _LONGEST_WORD:
        return word
    parts = (word[i : i + _LONGEST_WORD] for i in range(0, len(word), _LONGEST_WORD))
    return _BREAK.join(parts)
