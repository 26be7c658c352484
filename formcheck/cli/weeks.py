"""``formcheck progress`` and ``formcheck ready``: a client over the weeks."""

from datetime import date
from pathlib import Path
from shlex import quote
from typing import Annotated

import typer

from formcheck.cli.options import PaperOption, RecordOption, day_of

Alias = Annotated[str, typer.Argument(help="The client's alias.", metavar="ALIAS")]
Until = Annotated[
    str | None, typer.Option("--until", help="Last day that counts; today by default.")
]


def progress(
    alias: Alias,
    out: Annotated[Path, typer.Option(help="Folder for the pages.")],
    until: Until = None,
    locale: Annotated[
        str, typer.Option("--locale", help="Language and region of the client's page.")
    ] = "en",
    paper: Annotated[PaperOption | None, typer.Option(help="Paper of the PDF pages.")] = None,
    no_pdf: Annotated[bool, typer.Option("--no-pdf", help="Leave out the PDF pages.")] = False,
    records: RecordOption = None,
) -> None:
    """Write a client's weeks as pages: done against prescribed, and what changed beyond error.

    Writes OUT/ALIAS-progress.html for the client and OUT/ALIAS-progress-coach.html, both as PDF too.

    Example: formcheck progress heron --out pages
    """
    from formcheck.atomic_output import prepare_folder
    from formcheck.cli.page_file import write_page
    from formcheck.records.store import open_store
    from formcheck.result_folder import safe_name
    from formcheck.sheets.pages.weeks import Reader, weeks_page
    from formcheck.sheets.render.weeks import weeks_html, weeks_pdf
    from formcheck.words.words import words_for

    last = day_of(until, "--until") or date.today()
    readers: tuple[tuple[Reader, str, str | None], ...] = (
        ("client", "progress", None),
        ("coach", "progress-coach", "en"),
    )
    prepare_folder(out)
    with open_store(records) as store:
        for reader, ending, language in readers:
            words = words_for(locale, language)
            over = last < date.today()
            page = weeks_page(store, alias, last, words, reader, is_over=over)
            place = out / f"{safe_name(alias)}-{ending}"
            write_page(
                place.with_name(f"{place.name}.html"), weeks_html(page, words, reader).encode()
            )
            if not no_pdf:
                size = paper.value if paper else words.formats.paper
                pdf = weeks_pdf(page, words, reader, size)
                write_page(place.with_name(f"{place.name}.pdf"), pdf)


def ready(alias: Alias, until: Until = None, records: RecordOption = None) -> None:
    """Say what is met of what comes before a client's next phase, rule by rule.

    It proposes; the coach's signature moves the phase. Exit code 0 whatever it says.

    Example: formcheck ready heron
    """
    from formcheck.records.readiness import readiness_of
    from formcheck.records.store import open_store
    from formcheck.sheets.pages.ready import ready_lines
    from formcheck.text import strip_control
    from formcheck.words.words import words_for

    words = words_for("en")
    day = day_of(until, "--until") or date.today()
    with open_store(records) as store:
        found = readiness_of(store, alias, day)
    if found is None:
        typer.echo(words("ready.none", alias=alias, typed=quote(alias), day=words.date(day)))
        return
    for line in ready_lines(found, alias, words):
        typer.echo(strip_control(line))
    typer.echo(words("ready.caution"))
