"""The file of the record: made only when asked, private, whole, and brought up to date."""

import sqlite3
import stat
import subprocess
import sys
from contextlib import suppress

import pytest

from formcheck.errors import RecordsError
from formcheck.records import store as store_module
from formcheck.records.clients import add_client, client_id, list_clients
from formcheck.records.store import backup_of, default_place, migrations, open_store, statements


def made_at_version(path, version, *, alias="heron"):
    """A record as the formcheck of that version left it, with a client in it."""
    connection = sqlite3.connect(path, isolation_level=None)
    for script in migrations()[:version]:
        for statement in statements(script):
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {store_module.APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {version}")
    connection.execute("INSERT INTO client (alias, added_at) VALUES (?, '2026-01-01')", (alias,))
    connection.close()


def test_no_record_is_made_unasked(tmp_path):
    place = tmp_path / "deep" / "records.sqlite"
    with pytest.raises(RecordsError, match="no record of clients"):
        open_store(place)
    assert not place.parent.exists()


def test_nobody_else_can_read_it_nor_what_is_written_beside_it(tmp_path):
    place = tmp_path / "own" / "records.sqlite"
    with open_store(place, create=True) as store:
        add_client(store, "heron")
        modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in place.parent.iterdir()}
    assert set(modes.values()) == {0o600}
    assert "records.sqlite-wal" in modes
    assert stat.S_IMODE(place.parent.stat().st_mode) == 0o700


def test_it_lies_where_the_variable_says(monkeypatch, tmp_path):
    monkeypatch.setenv("FORMCHECK_RECORDS", str(tmp_path / "elsewhere.sqlite"))
    assert default_place() == tmp_path / "elsewhere.sqlite"


def test_every_change_is_on_the_disk_before_it_counts(store):
    assert store.row("PRAGMA journal_mode")[0] == "wal"
    assert store.row("PRAGMA synchronous")[0] == 2  # FULL
    assert store.row("PRAGMA foreign_keys")[0] == 1
    assert store.row("PRAGMA secure_delete")[0] == 1


@pytest.mark.parametrize("version", range(1, len(migrations()) + 1))
def test_a_record_of_every_earlier_layout_is_brought_up_to_date(tmp_path, version):
    place = tmp_path / "records.sqlite"
    made_at_version(place, version)
    with open_store(place) as store:
        assert store.row("PRAGMA user_version")[0] == len(migrations())
        assert [client.alias for client in list_clients(store)] == ["heron"]
        add_client(store, "wren")
        store.check_integrity()
    earlier = version < len(migrations())
    assert backup_of(place, version).exists() == earlier
    if earlier:
        copy = sqlite3.connect(backup_of(place, version))
        assert copy.execute("SELECT alias FROM client").fetchall() == [("heron",)]
        assert copy.execute("PRAGMA user_version").fetchone()[0] == version
        copy.close()


def test_a_step_that_fails_leaves_the_record_as_it_was(tmp_path, monkeypatch):
    place = tmp_path / "records.sqlite"
    made_at_version(place, len(migrations()))
    failing = (
        *migrations(),
        "CREATE TABLE half (id INTEGER);\nCREATE TABLE client (id INTEGER);\n",
    )
    monkeypatch.setattr(store_module, "migrations", lambda: failing)
    with pytest.raises(RecordsError, match="already exists"):
        open_store(place)
    monkeypatch.undo()
    with open_store(place) as store:
        assert store.row("SELECT 1 FROM sqlite_master WHERE name = 'half'") is None
        assert [client.alias for client in list_clients(store)] == ["heron"]


def test_a_record_of_a_newer_formcheck_is_left_alone(tmp_path):
    place = tmp_path / "records.sqlite"
    made_at_version(place, len(migrations()))
    connection = sqlite3.connect(place)
    connection.execute("PRAGMA user_version = 999")
    connection.close()
    with pytest.raises(RecordsError, match="newer formcheck"):
        open_store(place)


def test_a_database_of_something_else_is_left_alone(tmp_path):
    place = tmp_path / "other.sqlite"
    connection = sqlite3.connect(place)
    connection.execute("CREATE TABLE recipe (id INTEGER)")
    connection.close()
    before = place.read_bytes()
    with pytest.raises(RecordsError, match="something else"):
        open_store(place)
    assert place.read_bytes() == before


def test_a_damaged_file_is_told_in_one_line(tmp_path):
    place = tmp_path / "records.sqlite"
    place.write_bytes(b"no database at all, but long enough to be looked at" * 40)
    with pytest.raises(RecordsError) as told:
        open_store(place)
    assert "\n" not in str(told.value)


def test_a_damaged_page_is_found(tmp_path):
    place = tmp_path / "records.sqlite"
    with open_store(place, create=True) as store:
        for number in range(400):
            add_client(store, f"client {number}")
    content = bytearray(place.read_bytes())
    page = store_module_page_size(place)
    for start in range(page * 3, len(content), page):  # every page but the first few
        content[start + 8 : start + 40] = b"\xff" * 32
    place.write_bytes(bytes(content))
    with pytest.raises(RecordsError), open_store(place) as store:
        store.check_integrity()


def store_module_page_size(place):
    return int.from_bytes(place.read_bytes()[16:18], "big")


def test_a_block_that_fails_changes_nothing(store):
    with suppress(ZeroDivisionError), store.transaction():
        store.write("INSERT INTO client (alias, added_at) VALUES ('wren', '')")
        _ = 1 / 0
    assert [client.alias for client in list_clients(store)] == ["heron"]


def test_two_processes_take_turns(store):
    code = (
        "import sys\n"
        "from formcheck.records.clients import add_client\n"
        "from formcheck.records.store import open_store\n"
        "with open_store(sys.argv[1]) as store:\n"
        "    for n in range(20):\n"
        "        add_client(store, f'{sys.argv[2]}{n}')\n"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", code, str(store.path), name]) for name in ("a", "b")
    ]
    assert [one.wait() for one in running] == [0, 0]
    assert len(list_clients(store)) == 41


def test_an_alias_is_unique_whatever_its_capitals(store):
    with pytest.raises(RecordsError, match="already a client"):
        add_client(store, "HERON")
    assert client_id(store, " Heron ") == client_id(store, "heron")


@pytest.mark.parametrize("alias", ["", "   ", "x" * 61, "a\x07b", "tab\u202eeman"])
def test_an_alias_can_be_shown(store, alias):
    with pytest.raises(RecordsError, match="cannot be an alias"):
        add_client(store, alias)


def test_an_unknown_alias_is_told_with_what_was_meant(store):
    with pytest.raises(RecordsError, match='did you mean "heron"'):
        client_id(store, "heran")


def test_every_change_has_a_line_of_its_own(store):
    lines = [tuple(row) for row in store.rows("SELECT change, subject FROM audit")]
    assert lines == [("added", "client")]


def test_a_full_disk_is_told_as_such_and_changes_nothing(store):
    store.rows("PRAGMA max_page_count = 1")  # no smaller than it is, and no larger from now on
    with pytest.raises(RecordsError, match="the disk is full, and nothing was changed"):
        store.write("CREATE TABLE more (anything)")
    assert [one.alias for one in list_clients(store)] == ["heron"]


def test_a_record_on_a_disk_that_cannot_be_written_is_told_as_such(store):
    store.rows("PRAGMA query_only = 1")
    with pytest.raises(RecordsError, match="open to you for reading and writing"):
        add_client(store, "heron")
