"""A batch that records as it goes: each finished result, as soon as it is there."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from formcheck.batch.job import Outcome
from formcheck.batch.ledger import note_moved
from formcheck.batch.tally import Tally
from formcheck.records.recording import RecordedFolder, record_folder
from formcheck.records.store import open_store

OnProgress = Callable[[Tally, Outcome | None], None]


@contextmanager
def recording(
    records: Path | None, out: Path, on_progress: OnProgress
) -> Iterator[tuple[OnProgress, list[RecordedFolder]]]:
    """What to call with each outcome of a batch so that it is recorded, and what becomes of them.

    Without ``records``, the file of the record, nothing is. Raises RecordsError if it cannot be used.
    """
    found: list[RecordedFolder] = []
    if records is None:
        yield on_progress, found
        return
    with open_store(records) as store:

        def record(tally: Tally, outcome: Outcome | None) -> None:
            if outcome is not None and outcome.status == "analysed":
                for one in record_folder(store, out / outcome.folder):
                    found.append(one)
                    if one.moved_from is not None:
                        note_moved(one.folder, one.moved_from)
            on_progress(tally, outcome)

        yield record, found
