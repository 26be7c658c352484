"""The demo: built from nothing, marked as invented throughout, and true to the stories it tells."""

import re
from datetime import date

import pytest
from typer.testing import CliRunner

from formcheck.cli.app import app
from formcheck.demo.practice import CLIENTS, COACH, WEEKS, first_monday, last_sunday
from formcheck.demo.write import INDEX, RECORD
from formcheck.records.adherence import adherence_of
from formcheck.records.answers import answers_of, clearances_of, open_answers, ticked_of
from formcheck.records.phases import in_force
from formcheck.records.progress import Change, progress_of
from formcheck.records.readiness import State, readiness_of
from formcheck.records.sets import sets_of
from formcheck.records.store import open_store

TODAY = date(2026, 3, 4)
LAST = last_sunday(first_monday(TODAY))
ALIASES = {client.alias.split()[0]: client.alias for client in CLIENTS}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("practice") / "demo"
    done = CliRunner().invoke(app, ["demo", "--out", str(folder), "--until", TODAY.isoformat()])
    assert done.exit_code == 0, done.output
    return folder


@pytest.fixture(scope="module")
def store(made):
    with open_store(made / RECORD) as store:
        yield store


@pytest.mark.slow
def test_every_page_is_marked_as_invented_and_linked(made):
    pages = {path.name for path in made.glob("*.html")}
    for name in pages:
        assert "Invented example. No real person" in (made / name).read_text("utf-8"), name
    linked = set(re.findall(r'href="([^"#]+)"', (made / INDEX).read_text("utf-8")))
    assert linked == pages - {INDEX}
    assert len(pages) > 8 * len(CLIENTS)


@pytest.mark.slow
def test_there_is_something_in_every_page(made):
    for path in made.glob("*-coach.html"):
        text = path.read_text("utf-8")
        assert "<svg" in text, path.name


@pytest.mark.slow
def test_six_clients_lived_through_eight_weeks(store):
    assert len(CLIENTS) == 6
    for client in CLIENTS:
        days = {one.day for one in sets_of(store, client.alias, checks=False)}
        days |= {one.day for one in ticked_of(store, client.alias)}
        assert min(days) >= first_monday(TODAY)
        assert max(days) <= LAST
        assert len({(day - first_monday(TODAY)).days // 7 for day in days}) >= WEEKS - 1


def told(store, alias, check_id):
    return [
        one.told
        for one in progress_of(store, ALIASES[alias])
        if one.subject.check_id == check_id and one.sem is not None
    ]


@pytest.mark.slow
def test_a_true_rise_is_told_and_what_never_changed_is_not(store):
    assert Change.ROSE in told(store, "heron", "height")
    for alias in ("grebe", "teal", "coot"):
        assert set(told(store, alias, "height")) <= {Change.NOT_TOLD, Change.TOO_FEW}, alias


@pytest.mark.slow
def test_who_stayed_away_and_who_did_not_film_can_be_seen(store):
    def done(alias):
        return adherence_of(store, ALIASES[alias], LAST)

    days = {name: {one.day for one in sets_of(store, ALIASES[name])} for name in ALIASES}
    assert len(days["grebe"]) < 0.75 * len(days["heron"])
    assert len(ticked_of(store, ALIASES["wren"])) > len(sets_of(store, ALIASES["wren"]))
    assert done("heron") is not None


@pytest.mark.slow
def test_the_pain_was_cleared_with_a_note_and_the_warning_sign_is_still_open(store):
    assert any(one.pain_during == 7 for one in answers_of(store, ALIASES["coot"]))
    (cleared,) = clearances_of(store, ALIASES["coot"])
    assert cleared.by == COACH
    assert cleared.note
    assert open_answers(store, ALIASES["coot"], most_pain=5) == []
    (waiting,) = open_answers(store, ALIASES["swift"], most_pain=5)
    assert waiting.flags_raised == ("numb-or-weak",)
    gate = readiness_of(store, ALIASES["swift"], LAST).gate
    assert not gate.proposed
    assert [rule.state for rule in gate.rules][-1] is State.NOT_MET


@pytest.mark.slow
def test_pages_of_who_must_stop_begin_with_it(made):
    for path in made.glob("swift-*.html"):
        text = path.read_text("utf-8")
        if "coach" not in path.name:
            assert text.index("clinician") < text.index("<h2", text.index("<main>") + 400)
    assert "stopped" in (made / "swift-packet.html").read_text("utf-8").split("<main>")[0]


@pytest.mark.slow
def test_only_who_was_signed_is_in_the_second_phase(store):
    phases = {name: in_force(store, alias, LAST).programme.phase for name, alias in ALIASES.items()}
    assert [name for name, phase in phases.items() if phase == "with a band"] == ["heron"]


@pytest.mark.slow
def test_a_folder_that_is_there_is_left_alone(made):
    before = sorted(path.name for path in made.iterdir())
    done = CliRunner().invoke(app, ["demo", "--out", str(made)])
    assert done.exit_code != 0
    assert "already" in str(done.exception) + done.output
    assert sorted(path.name for path in made.iterdir()) == before
