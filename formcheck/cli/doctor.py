"""``formcheck doctor``: is this installation whole?"""

from collections.abc import Callable

import typer


def doctor() -> None:
    """Check versions, codecs, the pose models, write access, and that nothing opens a network.

    Exit code 0 if all is well, 2 if something needs attention.

    Example: formcheck doctor
    """
    checks: tuple[tuple[str, Callable[[], str]], ...] = (
        ("versions", _versions),
        ("codecs", _codecs),
        ("pose model", _models),
        ("cache folder", _cache),
        ("no network", _no_network),
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


def _cache() -> str:
    from formcheck.landmarks.cache import LandmarkCache

    return LandmarkCache().check_writable()


def _no_network() -> str:
    from formcheck.landmarks.privacy import check_no_metrics

    return check_no_metrics()
