"""``formcheck packet``: what a client needs for the week, as one offline page and one page of paper."""

from pathlib import Path
from typing import Annotated

import typer


def packet(
    client: Annotated[
        str,
        typer.Argument(help="The client's programme file (.toml).", metavar="PROGRAMME"),
    ],
    out: Annotated[
        Path | None, typer.Option(help="The packet as one page for a phone (.html).")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="The packet as one page of paper.")] = None,
    form: Annotated[
        Path | None, typer.Option(help="The questions and answers alone, as a page (.html).")
    ] = None,
    sessions: Annotated[
        int, typer.Option(min=0, help="Sessions done so far; what is due later is only named.")
    ] = 0,
    locale: Annotated[str, typer.Option(help="Language and place, such as en-GB or de.")] = "en",
    paper: Annotated[
        str | None, typer.Option(help="Paper of --pdf: a4 or us-letter.", metavar="PAPER")
    ] = None,
) -> None:
    """Write a client's packet: this week's exercises, drawings, pace, how to film, answers.

    Example: formcheck packet heron.toml --out heron.html --pdf heron.pdf
    """
    from formcheck.cli.page_file import write_page
    from formcheck.errors import UsageError
    from formcheck.exercises.programme import load_programme
    from formcheck.sheets.pages.packet import packet_page
    from formcheck.sheets.render.packet import answers_html, packet_html, packet_pdf
    from formcheck.words.words import words_for

    if not (out or pdf or form):
        raise UsageError("nothing to write: give --out FILE.html, --pdf FILE.pdf or --form FILE")
    if paper not in (None, "a4", "us-letter"):
        raise UsageError(f"--paper {paper}: there is a4 and us-letter")
    words = words_for(locale)
    page = packet_page(load_programme(client), words, sessions_done=sessions)
    if out:
        write_page(out, packet_html(page, words).encode("utf-8"))
    if form:
        write_page(form, answers_html(page, words).encode("utf-8"))
    if pdf:
        write_page(pdf, packet_pdf(page, words, paper or words.formats.paper))
