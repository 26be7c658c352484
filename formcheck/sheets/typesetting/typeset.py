"""Typesetting with typst: our own fonts only, data passed as JSON and never as markup."""

import json
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Literal

import typst

from formcheck.sheets.typesetting.glyphs import writable

_FONTS = "fonts"


def typeset(
    template: bytes,
    data: object,
    *,
    root: Path,
    output: Literal["pdf", "png"] = "pdf",
    ppi: float = 72.0,
) -> list[bytes]:
    """Compile a template, typst source, with data: one PDF, or one PNG per page.

    ``data`` is JSON-serialisable and reaches the template as text in ``sys.inputs.data``; ``root``
    is the only folder that it can read pictures from.
    """
    # The package's own types want template, root and fonts to be of one type; they need not be.
    compile_template: Any = typst.compile
    made = compile_template(
        template,
        root=root,
        font_paths=_fonts(),
        format=output,
        ppi=ppi,
        sys_inputs={"data": writable(json.dumps(data, ensure_ascii=False, allow_nan=False))},
    )
    return list(made) if isinstance(made, list) else [made]


@cache
def _fonts() -> typst.Fonts:
    """The shipped fonts and no others, read once."""
    with resources.as_file(resources.files(__package__) / _FONTS) as folder:
        return typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder]
        )
