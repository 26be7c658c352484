"""Clients, known by an alias and never by a name."""

import unicodedata
from dataclasses import dataclass

from formcheck.clip_name import slug
from formcheck.errors import RecordsError
from formcheck.exercises.explain import nearest
from formcheck.records.store import Store, now

MAX_ALIAS = 60
"""Characters of an alias. Mechanical."""


@dataclass(frozen=True, slots=True)
class Client:
    """A client and what is recorded of them; ``last_day`` is that of the latest set, if any."""

    alias: str
    added_at: str
    sets: int
    days: int
    last_day: str | None


def tidy_alias(alias: str) -> str:
    """The alias as it is kept: one line, single spaces.

    Raises RecordsError if it is empty, too long, or holds what cannot be shown.
    """
    tidy = " ".join(unicodedata.normalize("NFC", alias).split())
    if not tidy or len(tidy) > MAX_ALIAS or not tidy.isprintable():
        raise RecordsError(
            f'"{alias[:MAX_ALIAS]}" cannot be an alias: give 1 to {MAX_ALIAS} characters that show'
        )
    return tidy


def looks_like_a_name(alias: str) -> bool:
    """Whether it reads like a first and a last name: words of letters only, each with a capital."""
    words = tidy_alias(alias).replace("-", " ").split()
    return len(words) > 1 and all(word.isalpha() and word[0].isupper() for word in words)


def alias_of(store: Store, alias: str) -> str:
    """The alias as it is recorded, from one in other capitals or as a file's name has it.

    Raises RecordsError if there is no such client.
    """
    rows = store.rows("SELECT alias FROM client ORDER BY alias")
    known = [str(row[0]) for row in rows if slug(row[0]) == slug(alias)]
    same = [one for one in known if one.casefold() == alias.casefold()] or known
    if len(same) == 1:
        return same[0]
    client_id(store, alias)
    return tidy_alias(alias)


def add_client(store: Store, alias: str) -> None:
    """Add a client. Raises RecordsError if there is one of that alias, in capitals or not."""
    tidy = tidy_alias(alias)
    with store.transaction():
        if store.row("SELECT 1 FROM client WHERE alias = ?", tidy):
            raise RecordsError(f'"{tidy}" is already a client; choose another alias')
        store.write("INSERT INTO client (alias, added_at) VALUES (?, ?)", tidy, now())


def list_clients(store: Store) -> list[Client]:
    """All clients by alias, with what is recorded of each."""
    rows = store.rows(
        "SELECT alias, added_at, count(s.id) AS sets, count(DISTINCT s.day) AS days, "
        "max(s.day) AS last_day FROM client c LEFT JOIN recorded_set s ON s.client_id = c.id "
        "GROUP BY c.id ORDER BY alias"
    )
    return [Client(**dict(row)) for row in rows]


def client_id(store: Store, alias: str) -> int:
    """The number of a client in the record. Raises RecordsError if there is none of that alias."""
    tidy = tidy_alias(alias)
    row = store.row("SELECT id FROM client WHERE alias = ?", tidy)
    if row is None:
        close = nearest(tidy, [str(one[0]) for one in store.rows("SELECT alias FROM client")])
        hint = f'; did you mean "{close}"?' if close else f"; `formcheck client add {tidy}` adds it"
        raise RecordsError(f'no client is called "{tidy}"{hint}')
    return int(row["id"])
