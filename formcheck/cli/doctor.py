"""``formcheck doctor``: is this installation whole?"""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Annotated

import typer


def doctor(
    results: Annotated[
        list[Path] | None,
        typer.Argument(help="Folders of results to put right after a killed run."),
    ] = None,
    drop_landmarks: Annotated[
        int | None,
        typer.Option(
            min=0, help="Remove cached landmarks that are older than so many days.", metavar="DAYS"
        ),
    ] = None,
) -> None:
    """Check versions, codecs, the pose models, write access, and that nothing opens a network.

    What killed runs left half-written among temporary files, and in the folders that are named, is
    put right, and said. Exit code 0 if all is well, 2 if something needs attention.

    Example: formcheck doctor

    Example: formcheck doctor results
    """
    checks: tuple[tuple[str, Callable[[], str]], ...] = (
        ("versions", _versions),
        ("codecs", _codecs),
        ("pose model", _models),
        ("cache folder", partial(_cache, drop_landmarks)),
        ("record of clients", _records),
        ("no network", _no_network),
        ("killed runs", partial(_recover, results or [])),
    )
    well = True
    for name, look in checks:
        try:
            typer.echo(f"ok    {name}: {look()}")
        except Exception as error:  # a doctor reports whatever is wrong and goes on
            well = False
            typer.echo(f"FAIL  {name}: {error}")
    raise typer.Exit(0 if well else 2)


def _versions() -> str:
    import platform
    from importlib.metadata import version

    packages = ("mediapipe", "av", "opencv-python-headless", "numpy", "scipy", "pydantic")
    found = ", ".join(f"{package} {version(package)}" for package in packages)
    return f"Python {platform.python_version()}, {found}"


def _codecs() -> str:
    from formcheck.clips.reader import available_codecs

    codecs = available_codecs()
    missing = [name for name, there in codecs.items() if not there]
    if missing:
        raise RuntimeError(f"missing {', '.join(missing)}; reinstall the package 'av'")
    return ", ".join(codecs)


def _models() -> str:
    from formcheck.landmarks.bundles import find_bundle

    found = [f"{name} {find_bundle(name).sha256[:12]}" for name in ("lite", "full")]
    return ", ".join(found)


def _cache(drop_days: int | None) -> str:
    from datetime import timedelta

    from formcheck.landmarks.cache import LandmarkCache

    cache = LandmarkCache()
    folder = cache.check_writable()
    if drop_days is None:
        return folder
    dropped = cache.drop_older(timedelta(days=drop_days))
    return f"{folder}, {dropped} entries older than {drop_days} days removed"


def _records() -> str:
    from formcheck.records.clients import list_clients
    from formcheck.records.store import default_place, open_store

    if not default_place().exists():
        return "none yet"
    with open_store() as store:
        store.check_integrity()
        count = len(list_clients(store))
        return f"{count} client{'' if count == 1 else 's'} in {store.path}"


def _no_network() -> str:
    from formcheck.landmarks.privacy import check_no_metrics

    return check_no_metrics()


def _recover(results: Sequence[Path]) -> str:
    from formcheck.errors import UsageError
    from formcheck.landmarks.cache import LandmarkCache
    from formcheck.result_folder import recover_results

    for folder in results:
        if not folder.is_dir():
            raise UsageError(f"{folder} is no folder; name one that holds results")
    places = (LandmarkCache().folder, *results)
    found = [line for place in places for line in recover_results(place)]
    return "; ".join(found) or "they left nothing"
