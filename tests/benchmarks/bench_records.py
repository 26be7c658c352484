"""A record of 500 clients and 10,000 sets: every command, and the pages of a client."""

import random
from datetime import date, timedelta

import pytest
from typer.testing import CliRunner

from formcheck.cli.app import app
from formcheck.records.clients import add_client
from formcheck.records.programmes import prescribe
from formcheck.records.sets import record_result
from formcheck.records.store import open_store
from tests.records.made import made_check, made_rep, made_result

CLIENTS, SETS = 500, 20
START = date(2026, 1, 5)
CHECKS = 8
PROGRAMME = """
client = "client 7"
phase = "all of it"
[[items]]
exercise = "scaption-raise"
side = "right"
dose = { count = 8, sets = 2, days_a_week = 3 }
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A record of that size, every set with eight repetitions of eight checks."""
    folder = tmp_path_factory.mktemp("records")
    rng = random.Random(1)
    with open_store(folder / "records.sqlite", create=True) as store:
        for number in range(CLIENTS):
            add_client(store, f"client {number}")
            with store.transaction():
                for k in range(SETS):
                    day = START + timedelta(days=2 * k)
                    result = made(f"{number} {k}", rng)
                    record_result(store, f"client {number}", result, day=day)
        (folder / "programme.toml").write_text(PROGRAMME)
        prescribe(store, "client 7", folder / "programme.toml", from_day=START)
    return folder / "records.sqlite"


def made(name, rng):
    reps = [
        made_rep(k, [made_check(f"check-{c}", value=rng.gauss(80, 5)) for c in range(CHECKS)])
        for k in range(1, 9)
    ]
    return made_result(name, reps=reps)


COMMANDS = {
    "list": ("client", "list"),
    "show": ("client", "show", "client 7"),
    "ready": ("ready", "client 7", "--until", "2026-03-01"),
    "note": ("client", "note", "client 7", "words", "--by", "coach"),
    "progress": ("progress", "client 7", "--until", "2026-03-01", "--no-pdf", "--out", "{out}"),
    "progress with PDF": ("progress", "client 7", "--until", "2026-03-01", "--out", "{out}"),
    "export": ("client", "export", "client 7", "--out", "{out}/all.zip"),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_command(benchmark, place, tmp_path, name):
    arguments = [one.format(out=tmp_path) for one in COMMANDS[name]]

    def run():
        done = CliRunner().invoke(app, [*arguments, "--records", str(place)])
        assert done.exit_code == 0, done.output

    benchmark.pedantic(run, rounds=3, warmup_rounds=1)
