"""Names of any kind are readable on paper and in the clip, and never an empty box."""

import io
import json
from dataclasses import replace
from importlib import resources

import pytest
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from formcheck.sheets.render.pdf import client_pdf
from formcheck.sheets.typesetting.glyphs import is_covered, writable

FONTS = resources.files("formcheck.sheets.typesetting") / "fonts"


@pytest.fixture(scope="module")
def in_fonts():
    """Every character that a shipped font has a drawing for."""
    with resources.as_file(FONTS) as folder:
        files = [path for path in folder.iterdir() if path.suffix in (".ttf", ".otf")]
        return set().union(*(TTFont(path).getBestCmap() for path in files))


@pytest.mark.slow
def test_the_list_of_what_the_fonts_cover_is_that_of_the_fonts(in_fonts):
    ranges, start = [], None
    for code in sorted(in_fonts):
        if code - 1 not in in_fonts:
            start = code
        if code + 1 not in in_fonts:
            ranges.append(f"{start:X}" if start == code else f"{start:X}-{code:X}")
    assert (FONTS / "covered.txt").read_text("ascii").split() == ranges


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Zoë 山田 🦩", "Zoë 山田 🦩"),
        ("𝓗𝓮𝓻𝓸𝓷", "Heron"),  # noqa: RUF001
        ("Ⓗⓔⓡⓞⓝ", "Heron"),
        ("A\ue000B", "A\N{REPLACEMENT CHARACTER}B"),
        ("A\udcffB", "A\N{REPLACEMENT CHARACTER}B"),
        ("a\U0001e000b", "ab"),
    ],
)
def test_what_no_font_has_is_replaced_by_something_plain(name, shown):
    assert writable(name) == shown


def test_nothing_that_is_written_lacks_a_drawing_and_json_stays_json(in_fonts):
    everything = [chr(code) for code in range(0x80, 0x30000, 7)]
    text = json.dumps(everything, ensure_ascii=False)
    back = json.loads(writable(text))
    assert len(back) == len(everything)
    assert all(ord(c) in in_fonts or not c.isprintable() for c in "".join(back))
    assert all(is_covered(c) for c in "".join(back))


@pytest.mark.parametrize("name", ["Heron 🦩", "🏋️‍♀️ Wren 💪🏽", "ᏣᎳᎩ \U0010fffd", "a\udcffb"])
def test_emoji_and_unheard_of_letters_print(name, sheet, words):
    pdf = client_pdf(replace(sheet, heading=replace(sheet.heading, alias=name)), words, "a4")
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    fonts = {str(font.get_object()["/BaseFont"]) for font in page["/Resources"]["/Font"].values()}
    assert all("Noto" in font or "Droid" in font for font in fonts)
    assert any("Emoji" in font for font in fonts) == any(ord(c) > 0x1F300 for c in writable(name))
