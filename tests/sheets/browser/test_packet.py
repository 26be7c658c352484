"""The packet on a phone: answers that stop, a file to send, a pace that runs; by touch and by keys."""

import json
import time

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from formcheck.records.answer_file import read_answer_file
from formcheck.sheets.pages.packet import packet_page
from formcheck.sheets.render.packet import answers_html, packet_html
from tests.sheets.packets import programme_in

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def pages(tmp_path_factory, words):
    folder = tmp_path_factory.mktemp("packet")
    page = packet_page(programme_in(folder), words)
    (folder / "packet.html").write_text(packet_html(page, words), "utf-8")
    (folder / "answers.html").write_text(answers_html(page, words), "utf-8")
    return folder


@pytest.fixture(params=["packet.html", "answers.html"])
def on_phone(request, browser, pages):
    browser.set_window_size(390, 844)
    metrics = {"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.get((pages / request.param).as_uri())
    yield browser
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def choose(browser, name, value):
    field = browser.find_element(By.CSS_SELECTOR, f"input[name={name}][value='{value}']")
    browser.execute_script("arguments[0].click()", field)


def card(browser):
    return browser.find_element(By.ID, "stop-card")


def test_it_fits_a_phone_and_is_accessible(on_phone, broken_rules):
    assert on_phone.execute_script("return document.documentElement.scrollWidth") <= 390
    assert broken_rules(on_phone) == []


def test_text_of_twice_the_size_stays_on_a_small_phone(on_phone):
    metrics = {"width": 390, "height": 664, "deviceScaleFactor": 1, "mobile": True}
    on_phone.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    on_phone.execute_script("document.documentElement.style.fontSize = '200%'")
    assert on_phone.execute_script("return document.documentElement.scrollWidth") <= 390


def test_keys_alone_lead_from_the_questions_to_a_saved_file(on_phone):
    before = set(on_phone.downloads.glob("heron_answers_*.json"))

    def tab_to(name):
        for _ in range(60):
            on_phone.switch_to.active_element.send_keys(Keys.TAB)
            here = on_phone.switch_to.active_element
            if name in (here.get_attribute("name"), here.get_attribute("id")):
                return here
        raise AssertionError(f"the Tab key does not reach {name}")

    tab_to("none").send_keys(Keys.SPACE)
    tab_to("pain_during").send_keys(Keys.ARROW_RIGHT)
    tab_to("save").send_keys(Keys.ENTER)
    fresh = WebDriverWait(on_phone, 10).until(
        lambda _: set(on_phone.downloads.glob("heron_answers_*.json")) - before
    )
    client, answer = read_answer_file(fresh.pop())
    assert (client, answer.source, answer.flags_raised) == ("heron", "form", ())
    assert answer.pain_during is not None


def test_a_red_flag_puts_stop_first_and_takes_the_pace_away(on_phone):
    assert not card(on_phone).is_displayed()
    choose(on_phone, "flag", "numb-or-weak")
    assert card(on_phone).is_displayed()
    assert "speak to your clinician" in card(on_phone).text
    assert "numbness" in card(on_phone).text
    assert on_phone.execute_script("return document.activeElement.id") == "stop-card"
    assert (
        on_phone.execute_script("return document.querySelector('main section').id") == "stop-card"
    )
    for button in on_phone.find_elements(By.CSS_SELECTOR, ".go button"):
        assert not button.is_displayed()
    choose(on_phone, "flag", "numb-or-weak")
    assert not card(on_phone).is_displayed()


def test_pain_above_the_limit_stops_and_pain_at_it_does_not(on_phone):
    choose(on_phone, "pain_during", 5)
    assert not card(on_phone).is_displayed()
    choose(on_phone, "pain_during", 6)
    assert "Pain during: 6" in card(on_phone).text
    choose(on_phone, "effort", 10)
    choose(on_phone, "pain_during", 2)
    assert not card(on_phone).is_displayed()


def test_the_answers_are_saved_as_a_file_to_send(on_phone):
    before = set(on_phone.downloads.glob("heron_answers_*.json"))
    on_phone.execute_script("document.querySelector('input[name=none]').click()")
    choose(on_phone, "pain_before", 1)
    choose(on_phone, "effort", 4)
    on_phone.find_element(By.NAME, "words").send_keys("Better than last week")
    save = on_phone.find_element(By.ID, "save")
    on_phone.execute_script("arguments[0].focus()", save)
    save.send_keys(Keys.ENTER)
    fresh = WebDriverWait(on_phone, 10).until(
        lambda _: set(on_phone.downloads.glob("heron_answers_*.json")) - before
    )
    said = json.loads(fresh.pop().read_text("utf-8"))
    assert said["client"] == "heron"
    assert (said["pain_before"], said["pain_during"], said["effort"]) == (1, None, 4)
    assert said["words"] == "Better than last week"
    assert set(said["red_flags"].values()) == {False}
    assert len(said["day"]) == len("2026-03-31")
    assert "Saved as heron_answers_" in on_phone.find_element(By.ID, "saved").text


def test_nothing_is_saved_of_nothing(on_phone):
    on_phone.execute_script("document.getElementById('save').click()")
    assert "Nothing is answered yet" in on_phone.find_element(By.ID, "saved").text


@pytest.mark.parametrize("on_phone", ["packet.html"], indirect=True)
def test_the_pace_runs_and_stops(on_phone):
    button = on_phone.find_element(By.CSS_SELECTOR, ".go button")
    on_phone.execute_script("arguments[0].focus()", button)
    button.send_keys(Keys.SPACE)
    word = on_phone.find_element(By.CSS_SELECTOR, ".now .word")
    assert word.text == "Get ready"
    WebDriverWait(on_phone, 8).until(lambda _: word.text == "Ease on")
    assert on_phone.find_element(By.CSS_SELECTOR, ".tally").text == "1 of 3"
    WebDriverWait(on_phone, 8).until(lambda _: word.text == "Hold")
    button.send_keys(Keys.SPACE)
    time.sleep(0.1)
    assert button.text == "Start the pace"


@pytest.mark.parametrize("on_phone", ["packet.html"], indirect=True)
def test_the_clip_is_named_with_today(on_phone):
    named = on_phone.find_element(By.CSS_SELECTOR, ".clip-name").text
    day = on_phone.execute_script("return document.querySelector('input[name=day]').value")
    assert named == f"heron_belly-press_right_{day}"


@pytest.mark.parametrize("on_phone", ["packet.html"], indirect=True)
def test_everything_to_touch_is_large_enough(on_phone):
    small = on_phone.execute_script(
        "return [...document.querySelectorAll('button, .numbers label, .tick, .contents a, select')]"
        ".filter(e => e.offsetParent).map(e => e.getBoundingClientRect())"
        ".filter(r => r.width < 40 || r.height < 40).length"
    )
    assert small == 0
