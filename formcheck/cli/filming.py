"""``formcheck filming``: how to film an exercise."""

from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli.options import PaperOption


def filming(
    exercise: Annotated[
        str, typer.Argument(help="Name from the library, or the path of a .toml file.")
    ],
    two: Annotated[
        bool, typer.Option("--two", help="Say how to film it with two phones at once.")
    ] = False,
    html: Annotated[Path | None, typer.Option(help="Write the guide as a page.")] = None,
    pdf: Annotated[Path | None, typer.Option(help="Write the guide as a card to print.")] = None,
    paper: Annotated[PaperOption | None, typer.Option(help="Paper of the card.")] = None,
) -> None:
    """Say how to film an exercise: where the camera stands, and what each view can judge.

    Example: formcheck filming scaption-raise --pdf scaption-raise.pdf

    Example: formcheck filming scaption-raise --two
    """
    from formcheck.cli.page_file import write_page
    from formcheck.errors import UsageError
    from formcheck.exercises.library import load_exercise
    from formcheck.sheets.render.filming import filming_html, filming_pdf, filming_text, pair_text
    from formcheck.words.words import words_for

    words = words_for("en")
    if paper and not pdf:
        raise UsageError("--paper is for the card to print; add --pdf")
    asked = load_exercise(exercise)
    if two:
        if html or pdf:
            raise UsageError("--two is told here only; leave out --html and --pdf")
        typer.echo(pair_text(asked, words))
        return
    if html:
        write_page(html, filming_html(asked, words).encode("utf-8"), share=True)
    if pdf:
        paper_size = paper.value if paper else words.formats.paper
        write_page(pdf, filming_pdf(asked, words, paper_size), share=True)
    if not (html or pdf):
        typer.echo(filming_text(asked, words))
