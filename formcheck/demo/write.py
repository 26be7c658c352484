"""The demo as files: a record of its own, programmes, and every page of every client."""

import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from formcheck.atomic_output import prepare_folder
from formcheck.demo.made import made_table
from formcheck.demo.practice import (
    CLIENTS,
    WEEKS,
    Client,
    Latest,
    first_monday,
    last_sunday,
    live_through,
)
from formcheck.errors import OutputError
from formcheck.records.answers import open_answers
from formcheck.records.phases import most_pain_of
from formcheck.records.store import Store, open_store
from formcheck.scratch import scratch_folder
from formcheck.sheets.pages.packet import packet_page_of
from formcheck.sheets.pages.sheet import gather_sheet, heading_of
from formcheck.sheets.pages.weeks import Reader, weeks_page
from formcheck.sheets.render.html import client_html, coach_html, page_html
from formcheck.sheets.render.packet import packet_html
from formcheck.sheets.render.weeks import weeks_html
from formcheck.version import __version__
from formcheck.words.words import Words, as_invented, words_for

RECORD, INDEX = "records.sqlite", "index.html"


@dataclass(frozen=True, slots=True)
class ClientEntry:
    """One client on the first page: links are title and file."""

    alias: str
    story: str
    links: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DemoPage:
    """The first page of the demo."""

    title: str
    lead: str
    commands: tuple[str, ...]
    clients: tuple[ClientEntry, ...]


def write_demo(target: Path, today: date) -> None:
    """Write the demo into a new folder, whole or not at all.

    Eight weeks that end before the week of ``today``; every page is marked as invented. Raises
    OutputError if the folder is there already or cannot be written.
    """
    if os.path.lexists(target):
        raise OutputError(f"{target} is there already; nothing was written. Choose a new folder.")
    prepare_folder(target.absolute().parent)
    try:
        with scratch_folder(target.absolute().parent) as scratch:
            fresh = scratch / "fresh"
            fresh.mkdir(mode=0o700)
            _write_all(fresh, today)
            fresh.rename(target)
    except OSError as error:
        raise OutputError(f"{target} cannot be written: {error.strerror or error}") from error


def _write_all(folder: Path, today: date) -> None:
    words = as_invented(words_for("en"))
    start = first_monday(today)
    last = last_sunday(start)
    entries = []
    with open_store(folder / RECORD, create=True) as store:
        for client in CLIENTS:
            latest = live_through(store, client, start, folder)
            links = (
                *_pages(store, client, folder, words, last),
                *_sheets(store, client, folder, words, latest),
            )
            entries.append(ClientEntry(client.alias, client.story, links))
    page = DemoPage(
        title=words("demo.title"),
        lead=words("demo.lead", clients=len(CLIENTS), weeks=WEEKS),
        commands=tuple(
            f"formcheck {line} --until {last} --records {RECORD}"
            for line in (
                f'ready "{CLIENTS[1].alias}"',
                f'progress "{CLIENTS[0].alias}" --out pages',
            )
        ),
        clients=tuple(entries),
    )
    _write(folder, INDEX, page_html("demo.html.jinja", page, words))


def _pages(
    store: Store, client: Client, folder: Path, words: Words, today: date
) -> Iterator[tuple[str, str]]:
    """Write a client's pages over the weeks; the title and the file of each."""
    name = client.alias.split()[0]
    readers: tuple[Reader, ...] = ("client", "coach")
    for reader in readers:
        page = weeks_html(weeks_page(store, client.alias, today, words, reader), words, reader)
        yield words(f"demo.weeks_{reader}"), _write(folder, f"{name}-weeks-{reader}.html", page)
    packet = packet_html(packet_page_of(store, client.alias, words, today), words)
    yield words("demo.packet"), _write(folder, f"{name}-packet.html", packet)


def _sheets(
    store: Store, client: Client, folder: Path, words: Words, latest: Latest
) -> Iterator[tuple[str, str]]:
    """Write the sheets of a client's last sets; the title and the file of each."""
    name, today = client.alias.split()[0], max(day for _, _, day in latest.values())
    most = most_pain_of(store, client.alias, today)
    waiting = {one.day: one for one in open_answers(store, client.alias, most_pain=most)}
    for exercise, (one, result, day) in latest.items():
        heading = heading_of(
            result,
            one.exercise,
            words,
            alias=client.alias,
            made_on=day,
            show_face=False,
            answer=waiting.get(day),
            most_pain=most,
        )
        no_clip = words("demo.no_clip")
        heading = replace(
            heading, privacy=no_clip, provenance=words("demo.made", version=__version__)
        )
        table = made_table(result, one.exercise)
        sheet = gather_sheet(result, table, one.exercise, stills={}, heading=heading, words=words)
        for reader, pieces in (("client", client_html), ("coach", coach_html)):
            title = words(f"demo.sheet_{reader}", title=words.tell(one.exercise.title))
            file = f"{name}-{exercise}-{reader}.html"
            yield title, _write(folder, file, "".join(pieces(sheet, words)))


def _write(folder: Path, name: str, text: str) -> str:
    (folder / name).write_text(text, "utf-8")
    return name
