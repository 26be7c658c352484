"""``formcheck packet``: what a client needs for the week, as one offline page and one sheet of paper."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.cli.options import PaperOption, RecordOption

if TYPE_CHECKING:
    from formcheck.sheets.pages.packet import PacketPage
    from formcheck.words.words import Words


def packet(
    client: Annotated[
        str,
        typer.Argument(
            help="The alias of a client in the record, or a programme file (.toml).",
            metavar="ALIAS|FILE",
        ),
    ],
    out: Annotated[
        Path | None, typer.Option(help="The packet as one page for a phone (.html).")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="The packet as one sheet of paper.")] = None,
    form: Annotated[
        Path | None, typer.Option(help="The questions and answers alone, as a page (.html).")
    ] = None,
    sessions: Annotated[
        int | None,
        typer.Option(min=0, help="Sessions done so far; by default those of the record."),
    ] = None,
    phase: Annotated[
        str | None, typer.Option(help="Phase of a programme file that has several.")
    ] = None,
    locale: Annotated[str, typer.Option(help="Language and place, such as en-GB or de.")] = "en",
    paper: Annotated[PaperOption | None, typer.Option(help="Paper of --pdf.")] = None,
    records: RecordOption = None,
) -> None:
    """Write a client's packet: this week's exercises, drawings, pace, how to film, answers.

    Example: formcheck packet heron --out heron.html --pdf heron.pdf
    """
    from formcheck.cli.page_file import write_page
    from formcheck.errors import UsageError
    from formcheck.sheets.render.packet import answers_html, packet_html, packet_pdf
    from formcheck.words.words import words_for

    if not (out or pdf or form):
        raise UsageError("nothing to write: give --out FILE.html, --pdf FILE.pdf or --form FILE")
    words = words_for(locale)
    page = _page(client, words, (phase, sessions), records)
    if out:
        write_page(out, packet_html(page, words).encode("utf-8"))
    if form:
        write_page(form, answers_html(page, words).encode("utf-8"))
    if pdf:
        paper_size = paper.value if paper else words.formats.paper
        write_page(pdf, packet_pdf(page, words, paper_size))


def _page(
    client: str, words: "Words", asked: tuple[str | None, int | None], records: Path | None
) -> "PacketPage":
    """The packet of a programme file, or of what the record says is in force today."""
    from formcheck.errors import RecordsError
    from formcheck.exercises.library import SUFFIX
    from formcheck.exercises.programme import load_programme
    from formcheck.records.clients import alias_of
    from formcheck.records.store import open_store
    from formcheck.sheets.pages.packet import packet_page, packet_page_of

    phase, sessions = asked
    if client.endswith(SUFFIX):
        programme = load_programme(client)
        programme = programme.in_phase(phase) if phase or len(programme.phases) > 1 else programme
        return packet_page(programme, words, sessions_done=sessions or 0)
    if phase:
        raise RecordsError("--phase is for a programme file; the record knows the phase")
    with open_store(records) as store:
        return packet_page_of(store, alias_of(store, client), words, date.today(), sessions)
