import pytest

from formcheck.words.words import Words, words_for


@pytest.fixture(scope="session")
def words() -> Words:
    return words_for("en")
