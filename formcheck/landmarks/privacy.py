"""Proof that the pose library keeps to itself: it holds no upload address and opens no connection.

Clips are health data. Later releases of the library than the pinned one send usage metrics, so what
is installed is looked at, not trusted.
"""

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

from formcheck.errors import ModelError
from formcheck.scratch import scratch_folder

METRICS_HOST = b"play.googleapis.com"
"""The host that releases from 1.0 look up when a landmarker starts (found in 1.2.3)."""
_PIN = "Install the release that formcheck asks for: pip install mediapipe==0.10.31"
_RUN = """
import numpy
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.pose import PoseModel
with PoseModel(find_bundle("lite"), "detect") as model:
    model.people(numpy.full((256, 256, 3), 128, dtype=numpy.uint8))
"""


def check_no_metrics() -> str:
    """What was checked, in a few words.

    Raises
    ------
    ModelError
        If the installed pose library could send anything.
    """
    libraries = pose_libraries()
    for library in libraries:
        if METRICS_HOST in library.read_bytes():
            raise ModelError(f"The pose library {library} can send usage metrics. {_PIN}")
    if not libraries:
        raise ModelError(f"No pose library is installed. {_PIN}")
    if not can_watch():
        return "the pose library holds no upload address (a trial run cannot be watched here)"
    calls = connections([sys.executable, "-c", _RUN])
    if calls:
        raise ModelError(f"The pose library opened a connection: {calls[0]}. {_PIN}")
    return "the pose library holds no upload address and opened no connection in a trial run"


def pose_libraries() -> list[Path]:
    """The native libraries of the installed pose package, found without loading them."""
    package = importlib.util.find_spec("mediapipe")
    if package is None or not package.submodule_search_locations:
        return []
    folder = Path(package.submodule_search_locations[0])
    return sorted(p for p in folder.rglob("*") if p.suffix in (".so", ".dylib", ".dll", ".pyd"))


def can_watch() -> bool:
    """Whether strace is there and may watch: not where formcheck itself is being watched, nor in
    some containers.
    """
    strace = shutil.which("strace")
    if strace is None:
        return False
    watch = [strace, "-qq", "-o", os.devnull, sys.executable, "-S", "-c", ""]
    return subprocess.run(watch, capture_output=True, check=False).returncode == 0  # noqa: S603


def connections(command: list[str]) -> list[str]:
    """The calls by which a command, watched by strace, opens an internet socket.

    Raises
    ------
    ModelError
        If the command fails.
    """
    with scratch_folder() as folder:
        trace = folder / "trace"
        watch = ["strace", "-f", "-qq", "-e", "trace=network", "-o", str(trace)]
        done = subprocess.run(  # noqa: S603
            [*watch, *command], capture_output=True, text=True, check=False, env=_environment()
        )
        if done.returncode != 0:
            raise ModelError(f"The trial run of the pose library failed: {done.stderr[-400:]}")
        lines = trace.read_text(errors="replace").splitlines()
    return [line for line in lines if "AF_INET" in line]


def _environment() -> dict[str, str]:
    """The environment in which a new Python finds this very package."""
    return os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
