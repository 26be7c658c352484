"""The coach's note: typed by keyboard alone, kept in a copy of the page, on paper too."""

import base64
import io

import pytest
from pypdf import PdfReader
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

pytestmark = pytest.mark.browser

TYPED = "Well held. </textarea><b>& next: 12</b>"


@pytest.fixture
def printed(browser):
    """What stands on paper when the page is printed now."""

    def text():
        pdf = base64.b64decode(browser.print_page())
        return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)

    return text


def field(page, kind):
    return page.find_element(By.CSS_SELECTOR, f"#note-form {kind}")


def write_and_keep(page):
    """Type note, name and date and press the button, moving on by Tab alone."""
    field(page, "textarea").send_keys(TYPED, Keys.TAB)
    page.switch_to.active_element.send_keys("R. Finch", Keys.TAB)
    page.switch_to.active_element.send_keys("11252026")
    assert field(page, "[role=status]").text == "Not saved yet."
    button = field(page, "button")
    for _ in range(4):
        if page.switch_to.active_element == button:
            break
        page.switch_to.active_element.send_keys(Keys.TAB)
    page.switch_to.active_element.send_keys(Keys.ENTER)


@pytest.fixture(params=["coach", "coach-clip", "coach-single"])
def kept(request, visit, browser, folder):
    """A page's saved copy, opened from where the page lies."""
    for old in browser.downloads.iterdir():
        old.unlink()
    page = visit(request.param, width=1280)
    write_and_keep(page)
    copy = browser.downloads / "coach-note.html"
    WebDriverWait(page, 10).until(lambda _: copy.exists())
    assert field(page, "[role=status]").text.startswith("Saved as coach-note.html")
    (folder / f"kept-{request.param}.html").write_bytes(copy.read_bytes())
    return visit(f"kept-{request.param}", width=1280), request.param


def test_a_saved_copy_is_the_whole_page_with_note_name_and_date_and_runs(kept, printed):
    page, name = kept
    assert field(page, "textarea").get_attribute("value") == TYPED
    values = [
        one.get_attribute("value") for one in page.find_elements(By.CSS_SELECTOR, ".sign input")
    ]
    assert values == ["R. Finch", "2026-11-25"]
    assert page.find_elements(By.TAG_NAME, "b") == []
    if name != "coach":
        script = "return document.querySelector('video').readyState"
        WebDriverWait(page, 10).until(lambda _: page.execute_script(script) >= 1)
    field(page, "textarea").send_keys(" Again.")
    assert field(page, "[role=status]").text == "Not saved yet."
    assert "next: 12</b> Again." in printed()


def test_a_note_given_with_the_clip_stands_in_the_page_and_on_paper(visit, printed):
    page = visit("coach-noted")
    text = field(page, "textarea").get_attribute("value")
    assert text.startswith("Two cushions next time.\n\nSlower on the way down.")
    assert page.execute_script("return document.scripts.length") == 1
    assert printed().count("Two cushions next time.") == 1


def test_a_page_without_a_note_prints_room_to_write_one(visit, printed):
    visit("coach")
    assert "Coach's note" in printed()
    assert "Not saved yet" not in printed()
