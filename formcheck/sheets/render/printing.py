"""Printed pages: a typst template of ours beside the look that all of them share."""

from importlib import resources
from pathlib import Path

from formcheck.sheets.typesetting.typeset import typeset


def print_pdf(template: str, data: object, folder: Path) -> bytes:
    """The PDF of a template with its data; ``folder`` holds the pictures that it shows."""
    templates = resources.files(__package__) / "templates"
    (folder / "look.typ").write_bytes((templates / "look.typ").read_bytes())
    return typeset((templates / template).read_bytes(), data, root=folder)[0]
