"""``python -m tests.gallery FOLDER`` writes every kind of page from made clips, without a pose model.

``--video`` adds the annotated clips, ``--only NAME`` (repeatable) makes some cases only; other
options of ``formcheck batch`` (``--no-pdf``, ``--locale de``) are handed on.
"""

import argparse
import os
import sys
from pathlib import Path

from tests.gallery.make import make_gallery


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.gallery", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", action="append", default=[], metavar="NAME")
    own, handed_on = parser.parse_known_args()
    own.folder.mkdir(parents=True, exist_ok=True)
    os.environ["FORMCHECK_CACHE_DIR"] = str(own.folder.resolve() / "cache")
    sys.stdout.write(f"{make_gallery(own.folder.resolve(), own.only, handed_on)}\n")


if __name__ == "__main__":
    main()
