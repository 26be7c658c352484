"""What runs on the machines of a cluster."""

from dataclasses import asdict
from typing import Any

from formcheck.batch.job import from_json
from formcheck.batch.locks import FolderLocks
from formcheck.batch.workers.pool import WORKER_COMMAND, Pool
from formcheck.errors import UsageError
from formcheck.version import __version__


def version() -> str:
    """The formcheck that a machine of the cluster has."""
    return __version__


def do_remotely(message: dict[str, Any], command: tuple[str, ...] = ()) -> dict[str, Any]:
    """Do one job in a worker process of this machine, with all its limits.

    Returns ``{"outcome": ...}``, its value None if another process is at work on the clip, or
    ``{"refused": reason}`` if nothing can be done here at all.
    """
    job, setup = from_json(message)
    if setup.formcheck != __version__:
        return {"refused": f"a machine of the cluster has formcheck {__version__}; update it"}
    try:
        with (
            FolderLocks(setup.out) as locks,
            Pool(setup, locks, workers=1, command=command or WORKER_COMMAND) as pool,
        ):
            pool.submit(job)
            while True:
                for _, outcome in pool.poll(1.0):
                    return {"outcome": asdict(outcome) if outcome else None}
    except UsageError as error:
        return {"refused": str(error)}
