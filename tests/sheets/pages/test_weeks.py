"""The pages over the weeks say what the record holds, and no more than can be told."""

from datetime import timedelta

import pytest

from formcheck.records import reliability
from formcheck.records.answers import answers_of, clear
from formcheck.records.baseline import sign_baseline
from formcheck.records.clients import add_client
from formcheck.records.notes import Note, add_note, overrule
from formcheck.records.programmes import prescribe
from formcheck.records.sets import record_result, sets_of
from formcheck.records.signature import sign_phase
from formcheck.records.store import open_store
from formcheck.sheets.pages.weeks import weeks_page
from formcheck.sheets.render.weeks import weeks_html, weeks_pdf
from formcheck.words.stop import for_coach, stop_card
from formcheck.words.words import UNKNOWN, words_for
from tests.records.made import made_check, made_rep, made_result
from tests.records.weeks import START, day_of, filmed, prescribed, said, ticked

WORDS = words_for("en")
UNTIL = day_of(3, 6)


@pytest.fixture(autouse=True)
def study(monkeypatch):
    known = {("shoulder_elevation", "front"): 3.0}
    monkeypatch.setattr(reliability, "study", lambda: known)


@pytest.fixture
def store(tmp_path):
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "heron")
        yield store


@pytest.fixture
def weeks(tmp_path):
    """Three weeks in which the arm goes higher, with one limit passed and one day ticked off."""
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "heron")
        prescribed(store, tmp_path)
        ticked(store, day_of(1, 0))
        for k, value in enumerate((70.0, 71.0, 72.0, 88.0, 90.0, 91.0)):
            limit = "passed" if k == 5 else "kept"
            filmed(store, START + timedelta(days=1 + 2 * k), value=value, limit=limit)
        said(store, day_of(1, 0), words="Not easy.")
        yield store


def signed(store, phase, day):
    """A signature whatever the rules say of it."""
    told = {"by": "coach", "note": "Ready.", "although_not_met": True}
    sign_phase(store, "heron", phase, from_day=day, **told)


def page(store, reader="coach"):
    return weeks_page(store, "heron", UNTIL, WORDS, reader)


@pytest.mark.parametrize("reader", ["client", "coach"])
def test_which_limit_was_passed_and_by_how_much_comes_first_on_the_page(weeks, reader):
    (line,) = page(weeks, reader).limits
    assert line.startswith(WORDS.date(START + timedelta(days=11)))
    assert line.endswith("arm height 128 ± 4°, limit at most 120°")
    _, main = weeks_html(page(weeks, reader), WORDS, reader).split("<main")
    assert main.index(line) < main.index(WORDS("weeks.now")) < main.index(WORDS("weeks.days"))


@pytest.mark.parametrize("reader", ["client", "coach"])
def test_a_change_beyond_error_is_told_with_what_error_explains(weeks, reader):
    (card,) = page(weeks, reader).cards
    assert card.changed
    assert card.told == "Rose from 71° to 90°: more than the 5° that error explains."
    assert card.meaning == "That is nearer to what is asked."


def test_the_band_of_a_chart_is_the_uncertainty_that_was_stated(weeks):
    (card,) = page(weeks).cards
    stated = sets_of(weeks, "heron")[0].checks[0].uncertainty
    assert card.chart.half_band == pytest.approx(reliability.NORMAL_95 * stated)


def test_the_client_is_told_of_no_change_that_error_explains(tmp_path):
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "heron")
        for k, value in enumerate((70.0, 71.0, 72.0, 73.0)):
            filmed(store, START + timedelta(days=k), value=value)
        client, coach = page(store, "client"), page(store, "coach")
    assert (client.cards, client.no_cards) == ((), WORDS("weeks.no_change_client"))
    assert [card.changed for card in coach.cards] == [False]


def test_another_load_begins_a_new_line_and_says_so(weeks):
    filmed(weeks, day_of(3, 0), value=60.0, load="1 kg")
    before, after = page(weeks).cards
    assert before.differs == ""
    assert after.differs == (
        "A new line begins here, because this is different: the load. It is not compared with the one "
        "before."
    )
    assert after.context == "Filmed from the front, with 1 kg."
    assert WORDS("weeks.place_unknown") not in after.context


def test_a_limit_that_reads_what_a_target_reads_is_not_told_twice(store):
    for k, value in enumerate((70.0, 90.0)):
        checks = [
            made_check(name, value=value, measure="shoulder_elevation")
            for name in ("height", "limit")
        ]
        result = made_result(f"{k}", reps=[made_rep(1, checks)])
        record_result(store, "heron", result, day=day_of(1, k))
    assert [card.told[:4] for card in page(store).cards] == ["Rose"]


def test_a_place_that_is_known_in_part_is_told_on_the_chart(weeks):
    filmed(weeks, day_of(3, 0), value=90.0, elevation_deg=None)
    (card,) = page(weeks).cards
    assert card.context == f"Filmed from the front. {WORDS('weeks.place_unknown')}"


def test_the_latest_set_stands_beside_the_signed_one(weeks):
    first, *_ = sets_of(weeks, "heron")
    assert page(weeks).signed == ()
    sign_baseline(weeks, "heron", first.id, by="coach")
    (row,) = page(weeks).signed
    assert row[1:] == (
        "91 ± 3°",
        "21 ± 4° from 6 January 2026: more than error explains",
    )
    filmed(weeks, day_of(3, 0), value=60.0, load="1 kg")
    (row,) = page(weeks).signed
    assert row[2] == "not compared with 6 January 2026: different is the load"
    assert page(weeks, "client").signed == ()


def test_the_calendar_tells_filmed_ticked_and_limits_apart(weeks):
    first, second, _ = page(weeks).calendar
    assert first.signs == ("T", "F", "·", "F", "·", "F", "·")
    assert second.signs == ("F", "·", "F", "·", "F!", "·", "·")
    assert page(weeks).weekdays[0] == "Mon"


@pytest.mark.parametrize("reader", ["client", "coach"])
def test_a_warning_sign_comes_first_and_goes_once_it_is_cleared(weeks, reader):
    said(weeks, day_of(2, 0), red_flags={"numb-or-weak": True})
    stopped = page(weeks, reader)
    card = stop_card(answers_of(weeks, "heron"), WORDS, 5, days=True)
    assert stopped.stop == (card if reader == "client" else for_coach(card, WORDS))
    assert ("your" in stopped.stop.lead.lower()) == (reader == "client")
    html = weeks_html(stopped, WORDS, reader)
    assert html.split("<main>")[1].lstrip().startswith('<section class="stop-card"')
    clear(weeks, "heron", through_day=UNTIL, by="coach", note="Seen.")
    assert page(weeks, reader).stop is None


def test_the_clients_page_has_nothing_that_is_the_coachs(weeks):
    add_note(weeks, "heron", Note(day_of(2, 0), "coach", "Watch the blade."))
    assert "Watch the blade." in weeks_html(page(weeks), WORDS, "coach")
    client = weeks_html(page(weeks, "client"), WORDS, "client")
    assert "Watch the blade." not in client
    assert "share surely within" not in client


def test_a_week_says_what_was_asked_and_done(weeks):
    press = next(item for item in page(weeks).items if item.title.startswith("Belly"))
    assert press.rows[0] == (
        "5 Jan", "1 of 3", "1 ticked off; 2 missed", "2 of 6", "6 of 18", "30 of 90 s"
    )  # fmt: skip


def test_what_meant_to_stop_stays_to_be_read_after_it_was_cleared(weeks):
    said(weeks, day_of(2, 0), during=7, words="A jerk")
    clear(weeks, "heron", through_day=day_of(2, 1), by="coach", note="Spoke with the surgeon.")
    coach, client = page(weeks), page(weeks, "client")
    assert coach.said[-1][-1] == (
        "A jerk. Pain during: 7 of 10. With more than 5, stop. Looked into by coach."
    )
    assert client.said[-1][-1] == "A jerk. Pain during: 7 of 10. With more than 5, stop."
    assert coach.said[0][-1] == "Not easy."
    assert coach.notes == (
        "coach looked into what was said through 13 January 2026: Spoke with the surgeon.",
    )
    assert client.notes == ()


def test_signatures_and_notes_stand_with_who_and_when(weeks):
    first, *_ = sets_of(weeks, "heron")
    signed(weeks, "loaded", day_of(2, 2))
    add_note(weeks, "heron", Note(day_of(2, 0), "coach", "Watch the blade.", first.id))
    sign_baseline(weeks, "heron", first.id, by="coach", note="As it should be.")
    raised = f"Arm raise, a third of the way from side to front, right side (set {first.id})"
    assert page(weeks).notes == (
        f"{raised}, 6 January 2026, signed as good by coach: As it should be.",
        f"{raised}, 12 January 2026, coach: Watch the blade.",
        '14 January 2026, coach signed phase "loaded" although not met or not known: weeks, '
        "pain during, settled. Ready.",
    )


def test_an_overrule_says_of_which_set_day_and_repetition_it_is(weeks):
    first, *_ = sets_of(weeks, "heron")
    overrule(
        weeks, "heron", first.id, rep=2, check_id="height", side="right", verdict="outside",
        by="coach", words="wide collar",
    )  # fmt: skip
    assert page(weeks).overruled == (
        f"Arm raise, a third of the way from side to front, right side (set {first.id}), "
        "6 January 2026, repetition 2: height (right side) measured within, by coach outside "
        "(wide collar)",
    )


def test_tables_of_several_phases_say_which_phase(weeks):
    signed(weeks, "loaded", day_of(2, 2))
    titles = [item.title for item in page(weeks).items]
    assert len(set(titles)) == len(titles) == 3
    assert titles[0] == 'Belly press and hold, right side, in phase "positions" from 5 January 2026'
    signed(weeks, "positions", day_of(3, 2))
    titles = [item.title for item in page(weeks).items]
    assert len(set(titles)) == len(titles)


def test_where_no_days_are_asked_for_what_was_done_stands_alone(weeks, tmp_path):
    path = tmp_path / "free.toml"
    path.write_text(
        'client = "heron"\nphase = "free"\n[[items]]\nexercise = "belly-press"\nside = "right"\n'
    )
    prescribe(weeks, "heron", path, from_day=day_of(2, 0))
    ticked(weeks, day_of(2, 1), sets=2)
    free = page(weeks).items[-1]
    assert free.rows[0] == ("12 Jan", "1", "1 ticked off", "2", "6", "30 s")
    assert free.rows[1][:4] == ("19 Jan", "0", UNKNOWN, "0")


@pytest.mark.parametrize("reader", ["client", "coach"])
def test_the_page_is_whole_in_itself_and_promises_nothing(weeks, reader):
    html = weeks_html(page(weeks, reader), WORDS, reader)
    assert "http://" not in html.replace("http://www.w3.org", "")
    assert "https://" not in html
    assert "no diagnosis and promises no recovery" in html
    assert html.count("<svg") == 2  # for a phone and for a larger screen


@pytest.mark.slow
@pytest.mark.parametrize("reader", ["client", "coach"])
def test_the_page_can_be_printed(weeks, reader):
    assert weeks_pdf(page(weeks, reader), WORDS, reader, "a4").startswith(b"%PDF")


def test_a_client_of_whom_nothing_is_recorded_has_a_page(tmp_path):
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "heron")
        empty = page(store)
    assert empty.now == (WORDS("weeks.no_programme"),)
    assert empty.no_cards == WORDS("weeks.nothing")
    assert "<svg" not in weeks_html(empty, WORDS, "coach")
