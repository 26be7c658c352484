"""Every kind of page, as a batch writes it from made clips: what is seen first, and that it holds."""

import json

import pytest
from selenium.webdriver.common.keys import Keys

from tests.gallery.cases import CASES
from tests.gallery.make import make_gallery

pytestmark = [pytest.mark.browser, pytest.mark.slow]

MADE = [case.name for case in CASES if case.name != "long-set"]
CUES = {
    "work-on_sag": "sag",
    "work-on_lean": "lean",
    "work-on_hike": "hike",
    "work-on_height": "height",
    "work-on_plus": "plus",
    "hold_short": "hold",
    "hold_lift-off": "hold",
    "programme": "hold",
}
"""Which check the first cue of a case is about."""
PHONE = 390, 664
"""What a phone shows beside its browser's bars."""
KINDS = ("clean", "work-on_sag", "limit_passed", "not-usable", "compound", "hold_short")
"""One case of each kind of page: between them they have every part that a page can have."""


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("gallery")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FORMCHECK_CACHE_DIR", str(folder / "cache"))
        make_gallery(folder, MADE, ["--no-pdf"])
    return folder / "pages"


@pytest.fixture
def look(browser, pages):
    def opened(path, width=PHONE[0], height=PHONE[1], scheme="light"):
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        browser.execute_cdp_cmd(
            "Emulation.setEmulatedMedia",
            {"features": [{"name": "prefers-color-scheme", "value": scheme}]},
        )
        browser.get((pages / path).as_uri())
        return browser

    yield opened
    assert [entry["message"] for entry in browser.get_log("browser")] == []


def box(page, selector):
    """(top, bottom) in the window of the first element."""
    script = "const b = document.querySelector(arguments[0]).getBoundingClientRect();"
    return page.execute_script(script + "return [b.top, b.bottom]", selector)


def result_of(pages, name):
    return json.loads((pages / name / "result.json").read_text("utf-8"))


def written(pages):
    """Every page there is, by its path."""
    return sorted(str(path.relative_to(pages)) for path in pages.rglob("*.html"))


def of_each_kind(pages):
    return [path for path in written(pages) if "/" not in path or path.split("/")[0] in KINDS]


def test_every_case_is_what_its_name_says(pages):
    for name, check in CUES.items():
        (first, *_) = result_of(pages, name)["summary"]["cues"]
        assert first["check_id"] == check, name
    for name in ("clean", "unsure", "circles"):
        assert result_of(pages, name)["summary"]["cues"] == [], name
    states = {
        name: [limit["state"] for limit in result_of(pages, name)["limits"]]
        for name in ("limit_passed", "limit_perhaps")
    }
    assert states == {"limit_passed": ["passed"], "limit_perhaps": ["perhaps-passed"]}


@pytest.mark.parametrize("name", CUES)
def test_the_first_screen_of_a_phone_says_what_to_do_and_shows_it(name, look):
    page = look(f"{name}/sheet.html")
    _, end = box(page, ".next .say")
    top, bottom = box(page, ".next img")
    assert 0 <= top < bottom <= end <= PHONE[1]
    size = "return getComputedStyle(document.querySelector('.next .say')).fontSize"
    assert page.execute_script(size) == "24px"


@pytest.mark.parametrize("name", ["limit_passed", "limit_perhaps"])
def test_a_limit_of_safety_stands_before_all_else(name, look):
    page = look(f"{name}/sheet.html")
    _, end = box(page, ".cue.limit .own")
    assert end <= PHONE[1]
    assert end < box(page, "#next")[0]


@pytest.mark.parametrize("width", [320, 768, 1440, 1920])
def test_no_page_scrolls_sideways(width, look, pages):
    for path in written(pages):
        page = look(path, width=width)
        found = page.execute_script("return document.documentElement.scrollWidth")
        assert found <= width, path


def test_text_of_twice_the_size_stays_on_the_page(look, pages):
    for path in written(pages):
        page = look(path)
        page.execute_script("document.documentElement.style.fontSize = '200%'")
        assert page.execute_script("return document.documentElement.scrollWidth") <= PHONE[0], path


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_kind_of_page_breaks_a_rule_of_accessibility(scheme, look, pages, broken_rules):
    only = () if scheme == "light" else (["color-contrast"],)
    for path in of_each_kind(pages):
        page = look(path, scheme=scheme)
        page.execute_script("for (const d of document.querySelectorAll('details')) d.open = true")
        assert broken_rules(page, *only) == [], path


def test_the_tab_key_reaches_everything_that_can_be_used_and_shows_where_it_is(look, pages):
    usable = "a[href], button, summary, input, select, textarea, video[controls], [tabindex='0']"
    for path in of_each_kind(pages):
        page = look(path, width=1440, height=900)
        wanted = page.execute_script(
            "return [...document.querySelectorAll(arguments[0])].filter((one) =>"
            "one.checkVisibility({visibilityProperty: true}) && !one.disabled).length",
            usable,
        )
        reached = 0
        for _ in range(wanted + 3):
            page.switch_to.active_element.send_keys(Keys.TAB)
            shown = page.execute_script(
                "const one = document.activeElement; if (one === document.body || one.seen) return null;"
                "one.seen = true; const s = getComputedStyle(one);"
                "return [s.outlineStyle !== 'none' || s.boxShadow !== 'none', one.outerHTML.slice(0, 90)]"
            )
            if shown is not None:
                reached += 1
                assert shown[0], (path, shown[1])
        assert reached >= wanted, path
