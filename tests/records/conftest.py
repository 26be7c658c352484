import pytest

from formcheck.records.clients import add_client
from formcheck.records.store import open_store


@pytest.fixture
def store(tmp_path):
    """A new record with one client, heron."""
    with open_store(tmp_path / "records.sqlite", create=True) as opened:
        add_client(opened, "heron")
        yield opened
