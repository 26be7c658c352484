"""The coach's first screen, the way from clip to clip, and the page of all clips in a browser."""

from dataclasses import replace

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from formcheck.batch.job import Job, outcome_of
from formcheck.batch.summary import as_html
from formcheck.sheets.pages.marks import plain_mark
from formcheck.sheets.render.html import coach_html

pytestmark = pytest.mark.browser


def place(page, selector):
    return page.execute_script(
        "const b = document.querySelector(arguments[0]).getBoundingClientRect();"
        "return {left: b.left, top: b.top, right: b.right, bottom: b.bottom, height: b.height}",
        selector,
    )


@pytest.fixture(scope="module")
def batch(folder, sheet, words):
    """Two clips of one client and one of another, with their coach's pages, and the summary."""
    rows = []
    marks = tuple(plain_mark(name, words) for name in ("outside", "within"))
    clips = (("a", "Wren", "limit-passed"), ("b", "Heron", "work-on"), ("c", "Wren", "well"))
    for name, client, level in clips:
        (folder / name).mkdir()
        html = "".join(coach_html(sheet, words, all_clips="../summary.html"))
        (folder / name / "coach.html").write_text(html, encoding="utf-8")
        (folder / name / "sheet.html").write_text(html, encoding="utf-8")
        (folder / name / "still.jpg").write_bytes(next(iter(sheet.stills.values())).jpeg)
        job = Job(clip=f"/uploads/{name}.mp4", shown=f"{name}.mp4", folder=name, client=client)
        made = outcome_of(job, "analysed", level, "Arm height: outside in 3 of 3.")
        rows.append(replace(made, title="Arm raise", counted="3 of 8", score=70, marks=marks))
    (folder / "summary.html").write_text(as_html(rows), encoding="utf-8")
    return folder


def test_glance_cue_and_every_check_are_on_the_first_screen_side_by_side(visit):
    page = visit("coach-clip", width=1440, height=900)
    glance, matrix = place(page, ".glance .did"), place(page, ".matrix")
    assert glance["right"] < matrix["left"]
    assert matrix["bottom"] < 900
    assert place(page, ".glance .cue")["bottom"] < 900
    assert place(page, ".matrix tbody tr")["height"] == pytest.approx(36, abs=2)


@pytest.mark.parametrize("width", [320, 390, 700, 1000, 1440])
@pytest.mark.parametrize("slid_px", [0, 70, 5000])
def test_no_number_of_the_matrix_is_ever_cut_so_that_it_reads_as_another(width, slid_px, visit):
    page = visit("coach-clip", width=width, height=900)
    cut = page.execute_async_script(
        "const done = arguments[1], box = document.querySelector('.matrix-box');"
        "box.scrollLeft = arguments[0];"
        "setTimeout(() => { const b = box.getBoundingClientRect(), one = 1.5;"
        "  const from = box.querySelector('tbody th').getBoundingClientRect().right;"
        "  done([...box.querySelectorAll('td > div')].filter((div) => {"
        "    const range = document.createRange(); range.selectNodeContents(div);"
        "    const {left, right} = range.getBoundingClientRect();"
        "    return right > from + one && left < b.right - one"
        "      && (left < from - one || right > b.right + one);"
        "  }).map((div) => div.textContent)); }, 400);",
        slid_px,
    )
    assert cut == []


@pytest.mark.parametrize(("width", "said"), [(320, True), (1440, False)])
def test_the_page_says_that_a_matrix_goes_on_only_where_it_does(width, said, visit):
    page = visit("coach-clip", width=width, height=900)
    assert (place(page, ".slide")["height"] > 10) is said


def test_the_player_stays_in_sight_however_far_the_coach_reads(visit):
    page = visit("coach-clip", width=1440, height=900)
    page.execute_script("document.querySelector('#quality').scrollIntoView()")
    player = place(page, "#player")
    assert 0 <= player["top"] < player["bottom"] <= 900


def test_what_plays_is_marked_in_strip_matrix_and_list_and_nowhere_else(visit):
    page = visit("coach-clip", width=1440, height=900)
    page.find_element(By.CSS_SELECTOR, ".matrix thead th:nth-child(4) button").click()
    marked = (
        "return [...document.querySelectorAll('[aria-current]')].map((one) =>"
        "[one.tagName.toLowerCase(), one.dataset.start])"
    )
    WebDriverWait(page, 20).until(lambda one: len(one.execute_script(marked)) == 3)
    tags, starts = zip(*page.execute_script(marked), strict=True)
    assert tags == ("li", "th", "summary")
    assert len(set(starts)) == 1


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
def test_the_page_of_all_clips_breaks_no_accessibility_rule(
    batch, width, scheme, visit, broken_rules
):
    page = visit("summary", width=width, scheme=scheme)
    assert broken_rules(page) == []


@pytest.mark.parametrize("width", [320, 390, 768, 1920])
def test_the_page_of_all_clips_never_scrolls_sideways(batch, width, visit):
    page = visit("summary", width=width)
    assert page.execute_script("return document.documentElement.scrollWidth") <= width


def test_on_a_phone_the_list_starts_at_once_and_pictures_are_shown_whole(batch, visit):
    page = visit("summary", width=390)
    assert place(page, ".whose th")["top"] == pytest.approx(place(page, "#clips")["top"], abs=2)
    assert place(page, "#clips")["top"] < 664 * 0.4
    fit = "return getComputedStyle(document.querySelector('.clip img')).objectFit"
    assert page.execute_script(fit) == "contain"


def test_clips_are_found_ordered_and_opened_by_keyboard(batch, visit):
    page = visit("summary", width=1280)

    def shown():
        rows = page.find_elements(By.CSS_SELECTOR, "tr[data-place]")
        return [row.get_attribute("data-name") for row in rows if row.is_displayed()]

    assert shown() == ["a.mp4", "c.mp4", "b.mp4"]
    page.find_element(By.ID, "words").send_keys("heron")
    assert shown() == ["b.mp4"]
    page.find_element(By.ID, "words").send_keys(Keys.CONTROL, "a", Keys.DELETE)
    page.find_element(By.ID, "order").send_keys("most")
    assert shown() == ["a.mp4", "b.mp4", "c.mp4"]
    page.find_element(By.CSS_SELECTOR, "a[data-folder='b']").send_keys(Keys.ENTER)
    links = [link.get_attribute("href") for link in page.find_elements(By.CSS_SELECTOR, ".clips a")]
    assert [link.split("#")[0].rsplit("/", 2)[-2:] for link in links[1:]] == [
        ["a", "coach.html"],
        ["c", "coach.html"],
    ]
