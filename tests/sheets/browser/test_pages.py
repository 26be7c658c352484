"""What only a browser can tell: layout, accessibility as rendered, and the player at work."""

from dataclasses import replace

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from formcheck.sheets.pages.sheet import gather_sheet
from formcheck.sheets.render.chart import WIDE
from formcheck.sheets.render.html import client_html, coach_html

pytestmark = pytest.mark.browser

PAGES = ("sheet", "coach", "sheet-clip", "coach-clip", "unusable")


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
@pytest.mark.parametrize("name", PAGES)
def test_pages_break_no_accessibility_rule(name, width, scheme, visit, broken_rules):
    page = visit(name, width=width, scheme=scheme)
    page.execute_script("for (const d of document.querySelectorAll('details')) d.open = true")
    assert broken_rules(page) == []


@pytest.mark.parametrize("width", [320, 390, 768, 1280])
@pytest.mark.parametrize("name", PAGES)
def test_pages_never_scroll_sideways(name, width, visit):
    page = visit(name, width=width)
    assert page.execute_script("return document.documentElement.scrollWidth") <= width


def test_hostile_names_neither_run_nor_burst_the_page(
    all_hostile, sheet, result, exercise, table, words, folder, visit
):
    for number, hostile in enumerate(all_hostile):
        summary = replace(result.summary, praise=hostile, look_yourself=(hostile,))
        made = gather_sheet(
            replace(result, summary=summary),
            table,
            exercise.model_copy(update={"title": hostile}),
            stills={},
            heading=replace(sheet.heading, alias=hostile),
            words=words,
        )
        (folder / f"hostile-{number}.html").write_text("".join(client_html(made, words)), "utf-8")
        (folder / f"hostile-coach-{number}.html").write_text(
            "".join(coach_html(made, words)), "utf-8"
        )
        for name, own_scripts in (("hostile", 0), ("hostile-coach", 1)):
            page = visit(f"{name}-{number}")
            assert page.execute_script("return document.documentElement.scrollWidth") <= 390
            assert page.execute_script("return document.scripts.length") == own_scripts


def clip_time(page):
    return page.execute_script("return document.querySelector('video').currentTime")


def wait(page, condition):
    WebDriverWait(page, 10).until(lambda _: condition())


def ready(page):
    script = "return document.querySelector('video').readyState"
    wait(page, lambda: page.execute_script(script) >= 1)
    return page


@pytest.fixture(params=["sheet-clip", "coach-clip", "sheet-single"])
def playing(request, visit):
    return ready(visit(request.param, width=1280, height=900))


def test_the_clip_opens_from_disk_and_lasts_as_long_as_the_recording(playing):
    length = playing.execute_script("return document.querySelector('video').duration")
    assert length == pytest.approx(24.0, abs=0.1)
    assert playing.execute_script("return document.querySelector('video').videoWidth") == 180


def test_a_click_on_a_moment_goes_there_and_the_charts_follow(playing):
    button = playing.find_element(By.CSS_SELECTOR, "button.seek[data-seek='10.0']")
    button.click()
    wait(playing, lambda: clip_time(playing) == pytest.approx(10.0, abs=0.02))
    cursor = playing.find_element(By.CSS_SELECTOR, "svg.chart .cursor")
    assert cursor.get_attribute("visibility") == "visible"
    chart = playing.find_element(By.CSS_SELECTOR, "svg.chart")
    left, right, end = (
        float(chart.get_attribute(f"data-{name}")) for name in ("left", "right", "end")
    )
    moved = float(cursor.get_attribute("transform").split("(")[1].split()[0].rstrip(")"))
    assert moved == pytest.approx((right - left) * 10.0 / end, abs=1.0)


def test_a_click_on_the_chart_goes_to_that_moment(playing):
    playing.execute_script(
        "for (const d of document.querySelectorAll('details')) d.open = true;"
        "document.querySelector('.only-wide svg.chart').scrollIntoView({block: 'center'})"
    )
    chart = playing.find_element(By.CSS_SELECTOR, ".only-wide svg.chart")
    chart.click()
    left, right, end = (
        float(chart.get_attribute(f"data-{name}")) for name in ("left", "right", "end")
    )
    share = (WIDE / 2 - left) / (right - left)
    wait(playing, lambda: clip_time(playing) == pytest.approx(share * end, abs=0.1))


def test_the_player_works_by_keyboard(playing):
    player = playing.find_element(By.ID, "player")
    player.send_keys(Keys.ARROW_DOWN)
    wait(playing, lambda: clip_time(playing) == pytest.approx(1.0, abs=0.02))
    player.send_keys(Keys.ARROW_DOWN)
    wait(playing, lambda: clip_time(playing) == pytest.approx(4.8, abs=0.02))
    player.send_keys(Keys.ARROW_RIGHT)
    wait(playing, lambda: clip_time(playing) == pytest.approx(4.8 + 1 / 30, abs=0.01))
    player.send_keys(Keys.ARROW_UP)
    wait(playing, lambda: clip_time(playing) == pytest.approx(1.0, abs=0.02))
    player.send_keys(Keys.SPACE)
    wait(playing, lambda: clip_time(playing) > 1.3)
    player.send_keys(Keys.SPACE)
    assert playing.execute_script("return document.querySelector('video').paused")


def test_playing_can_be_slowed_and_says_so(playing):
    slow = playing.find_element(By.CSS_SELECTOR, "[data-do='slow']")
    slow.click()
    assert playing.execute_script("return document.querySelector('video').playbackRate") == 0.5
    assert slow.get_attribute("aria-pressed") == "true"


def test_the_slider_seeks_and_speaks_its_moment(playing):
    slider = playing.find_element(By.CSS_SELECTOR, ".scrub input")
    slider.send_keys(Keys.END)
    wait(playing, lambda: clip_time(playing) > 23)
    assert slider.get_attribute("aria-valuetext").startswith("0:2")


def test_everything_that_can_be_used_is_reached_by_tab_with_a_visible_focus(visit):
    page = ready(visit("sheet-clip"))
    body = page.find_element(By.TAG_NAME, "body")
    seen = []
    for _ in range(25):
        body.send_keys(Keys.TAB)
        focus = page.switch_to.active_element
        seen.append(focus.get_attribute("id") or focus.tag_name)
        if focus.tag_name in ("button", "summary", "input"):
            assert focus.value_of_css_property("outline-style") == "solid"
    assert {"player", "button", "input", "summary"} <= set(seen)


def test_a_page_whose_clip_was_left_behind_says_so(visit, folder, browser):
    text = (folder / "sheet-clip.html").read_text("utf-8")
    (folder / "alone.html").write_text(text.replace("annotated.mp4", "gone.mp4", 1), "utf-8")
    page = visit("alone")
    wait(page, lambda: page.find_element(By.CSS_SELECTOR, ".missing").is_displayed())
    browser.get_log("browser")  # the browser's own note that the file is missing
