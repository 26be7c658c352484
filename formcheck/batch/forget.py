"""A client leaves a folder of results: what a batch wrote of several clients is written anew."""

from collections.abc import Iterator
from pathlib import Path

from formcheck.batch.ledger import STATE, owned_aside
from formcheck.batch.locks import FolderLocks
from formcheck.batch.summary import HTML_NAME, Summary
from formcheck.result_folder import ASIDE

_TEXTS = (".json", ".csv", ".html", ".txt")


def forget_in_results(out: Path, alias: str) -> list[Path]:
    """Remove why clips of a client were set aside, and write the summary without them.

    Folders that no batch wrote are left as they are. Returns the files, other than pictures and clips,
    in which the alias still stands.
    """
    if (out / STATE).is_dir():
        for aside in owned_aside(out, alias):
            aside.unlink(missing_ok=True)
        if (out / HTML_NAME).exists():
            with FolderLocks(out) as locks:
                Summary(out, locks).write()
    name = alias.lower().encode("utf-8")
    return [path for path in _texts(out) if name in path.read_bytes().lower()]


def _texts(out: Path) -> Iterator[Path]:
    for folder in (out, out / ASIDE):
        if folder.is_dir():
            yield from (p for p in sorted(folder.iterdir()) if p.is_file() and p.suffix in _TEXTS)
