"""The pose model bundles that formcheck carries: where they are, and that they are unharmed."""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

from formcheck.errors import ModelError

DEFAULT_BUNDLE = "full"

# An installed formcheck carries its bundles inside the package, a checkout beside it.
_PACKAGE = Path(__file__).resolve().parent.parent
_FOLDERS = (_PACKAGE / "_models", _PACKAGE.parent / "models")


@dataclass(frozen=True, slots=True)
class Bundle:
    """A pose model file that has been checked against the manifest."""

    name: str
    path: Path
    sha256: str


def find_bundle(name: str = DEFAULT_BUNDLE) -> Bundle:
    """The bundle called ``name`` (``lite`` or ``full``), its size and sha256 checked.

    Raises
    ------
    ModelError
        If there is no such bundle, or it is missing or damaged.
    """
    folder = _bundle_folder()
    listed = _read_manifest(folder)
    if name not in listed:
        raise ModelError(f"There is no pose model called {name!r}. Use {', '.join(listed)}.")
    path = folder / f"{name}.task"
    size, sha256 = listed[name]
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ModelError(f"The pose model {name!r} is not at {path}. {_remedy(name)}") from error
    if len(data) != size:
        what = f"has {len(data)} bytes instead of {size}"
    elif hashlib.sha256(data).hexdigest() != sha256:
        what = "has the right size but the wrong content (sha256)"
    else:
        return Bundle(name, path, sha256)
    raise ModelError(f"The pose model {path} is damaged: it {what}. {_remedy(name)}")


def _bundle_folder() -> Path:
    for folder in _FOLDERS:
        if (folder / "manifest.json").is_file():
            return folder
    looked = " or ".join(str(folder) for folder in _FOLDERS)
    raise ModelError(f"No pose models found in {looked}. Install formcheck again.")


def _read_manifest(folder: Path) -> dict[str, tuple[int, str]]:
    """Bundle name to size in bytes and sha256."""
    path = folder / "manifest.json"
    try:
        bundles = json.loads(path.read_text(encoding="utf-8"))["bundles"]
        return {name: (int(entry["size"]), entry["sha256"]) for name, entry in bundles.items()}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ModelError(
            f"The list of pose models {path} cannot be read. Install formcheck again."
        ) from error


def _remedy(name: str) -> str:
    if _bundle_folder() == _FOLDERS[0]:
        return "Install formcheck again."
    return f"Build it again with: python models/build_bundles.py {name}"
