"""A handful of broken files of each kind; ``texts`` and ``clips`` beside this try hundreds."""

import os

import pytest

from tests.faults.clips import try_clips
from tests.faults.texts import try_texts

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="commands run in forks"),
]


def test_a_broken_text_file_is_taken_or_refused_in_words():
    faults, ran = try_texts(mutations=25, seed=2)
    assert faults == []
    assert {one.code for one in ran} <= {0, 2}


def test_a_broken_clip_is_checked_or_refused_in_words(monkeypatch, tmp_path):
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(tmp_path))
    faults, ran = try_clips(mutations=6, seed=2, minutes=3)
    assert faults == []
    assert {one.code for one in ran} <= {0, 3, 4}
