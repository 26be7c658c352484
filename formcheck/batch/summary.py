"""The summary of a results folder: ``summary.csv`` and ``summary.html``, most urgent clip first."""

import base64
import csv
import hashlib
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from time import monotonic, sleep
from urllib.parse import quote

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from formcheck.batch.job import SUMMARY_PAGE, Outcome
from formcheck.batch.ledger import Outcomes, write_file
from formcheck.batch.locks import FolderLocks
from formcheck.batch.triage import LEVELS, level_name
from formcheck.sheets.pages.long_sets import Tally, tally_marks
from formcheck.sheets.pages.marks import Mark
from formcheck.text import capitalise_first, escape_formula
from formcheck.words.words import words_for

CSV_NAME, HTML_NAME = "summary.csv", SUMMARY_PAGE

_CSV_FIELDS = (
    "client",
    "clip",
    "exercise",
    "side",
    "date",
    "status",
    "score",
    "counted",
    "dose_met",
    "duration_s",
    "frames",
    "seconds",
    "folder",
    "moved_from",
)
_MOST_MARKS = 24
"""Of more repetitions than this a row tells how many there are of each mark. A proposal."""
_PATIENCE_S = 30.0
"""Longest wait for another batch that is writing the summary. Mechanical."""


class Summary:
    """The summary of a results folder: everything in it, this batch's and any other's."""

    def __init__(self, out: Path, locks: FolderLocks, *, share: bool = False) -> None:
        self._out = out
        self._locks = locks
        self._share = share
        self._outcomes = Outcomes(out)

    def write(self) -> None:
        """Write both files. Raises OutputError."""
        give_up_at = monotonic() + _PATIENCE_S
        while not self._locks.acquire(HTML_NAME):
            if monotonic() > give_up_at:
                return  # another batch writes it over and over, with the same content
            sleep(0.05)
        try:
            outcomes = in_order(self._outcomes.read())
            write_file(self._out / CSV_NAME, as_csv(outcomes), share=self._share)
            write_file(self._out / HTML_NAME, as_html(outcomes), share=self._share)
        finally:
            self._locks.release(HTML_NAME)


def in_order(outcomes: Iterable[Outcome]) -> list[Outcome]:
    """Whoever needs a look first, first: by level, then by score, then by name."""

    def urgency(outcome: Outcome) -> tuple[int, int, str]:
        level = LEVELS.index(outcome.triage) if outcome.triage in LEVELS else len(LEVELS)
        return level, -1 if outcome.score is None else outcome.score, outcome.shown

    return sorted(outcomes, key=urgency)


def as_csv(outcomes: Iterable[Outcome]) -> str:
    """One row a clip; text that a spreadsheet would run is guarded."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["look", "why", *_CSV_FIELDS])
    for outcome in outcomes:
        named = {"clip": outcome.shown, "date": outcome.made_on}
        cells = [named.get(name, getattr(outcome, name, "")) for name in _CSV_FIELDS]
        look = level_name(outcome.triage)
        writer.writerow([_cell(value) for value in (look, outcome.why, *cells)])
    return text.getvalue()


def as_html(outcomes: list[Outcome]) -> str:
    """A page to sift and order: a group for each client, whoever has the most urgent clip first."""
    words = words_for("en")
    styles = "".join(
        _text(package, name)
        for package, name in (
            ("formcheck.sheets.render", "sheet.css"),
            ("formcheck.sheets.render", "coach.css"),
            (__package__, "summary.css"),
        )
    )
    style = Markup(styles)  # noqa: S704
    script = Markup(_text(__package__, "summary.js"))  # noqa: S704 - our own files
    environment = Environment(
        loader=ChoiceLoader(
            [PackageLoader("formcheck.batch"), PackageLoader("formcheck.sheets.render")]
        ),
        autoescape=True,
        undefined=StrictUndefined,
    )
    times = Counter(outcome.triage for outcome in outcomes)
    rows = [_row(number, outcome) for number, outcome in enumerate(outcomes)]
    return environment.get_template("summary.html.jinja").render(
        t=words,
        groups=_by_client(rows),
        count=len(rows),
        scored=any(outcome.score is not None for outcome in outcomes),
        dosed=any(outcome.counted for outcome in outcomes),
        levels=[(level, level_name(level), times[level]) for level in LEVELS if times[level]],
        style=style,
        script=script,
        policy=_policy(style, script),
    )


def _policy(style: str, script: str) -> str:
    """Nothing but what is in the page itself, and the stills beside it."""
    return "; ".join(
        (
            "default-src 'none'",
            "img-src 'self' file:",
            f"style-src '{_hash(style)}'",
            f"script-src '{_hash(script)}'",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


@dataclass(frozen=True, slots=True)
class _Row:
    """One clip. ``marks`` are its repetitions in order, ``tallies`` how many of each where there are
    too many for a row.
    """

    place: int
    level: str
    look: str
    page: str
    folder: str
    marks: tuple[Mark, ...]
    tallies: tuple[Tally, ...]
    outcome: Outcome


def _row(place: int, outcome: Outcome) -> _Row:
    page = {"analysed": "coach.html", "unusable": "sheet.html"}.get(outcome.status, "")
    long = len(outcome.marks) > _MOST_MARKS
    return _Row(
        place=place,
        level=outcome.triage,
        look=capitalise_first(level_name(outcome.triage)),
        page=page,
        folder=quote(outcome.folder, safe=""),
        marks=() if long else outcome.marks,
        tallies=tally_marks(outcome.marks) if long else (),
        outcome=outcome,
    )


def _by_client(rows: Sequence[_Row]) -> list[tuple[str, list[_Row]]]:
    """Clients with their rows. Rows come most urgent first, and so do the clients by their first."""
    groups: dict[str, list[_Row]] = {}
    for row in rows:
        groups.setdefault(row.outcome.client, []).append(row)
    return list(groups.items())


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return escape_formula(value) if isinstance(value, str) else str(value)


def _text(package: str, name: str) -> str:
    return (resources.files(package) / "templates" / name).read_text("utf-8")


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return "sha256-" + base64.b64encode(digest).decode("ascii")
