"""A real Chromium for the pages. These tests need Debian's chromium and chromium-driver on the path
and ``npm ci`` run in this folder; without them they fail and say so.
"""

import base64
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from selenium import webdriver

from formcheck.sheets.pages.sheet import unusable_page
from formcheck.sheets.render.html import ClipLink, client_html, coach_html, unusable_html
from formcheck.sheets.video.annotate import annotate
from formcheck.sheets.video.overlay_plan import plan_overlay

NOTE = (
    "Two cushions next time.",
    "",
    "Slower on the way down. </textarea><script>alert(1)</script>",
)
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
AXE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"


@pytest.fixture(scope="session")
def broken_rules():
    """The rules of accessibility that a page breaks, each with where."""
    assert AXE.is_file(), f"run 'npm ci' in {Path(__file__).parent.name} first"
    axe = AXE.read_text("utf-8")

    def broken_rules(page, rules=RULES):
        page.execute_script(axe)
        return page.execute_async_script(
            "const done = arguments[1];"
            "axe.run({runOnly: arguments[0]}).then((r) => done(r.violations.map("
            "(v) => v.id + ': ' + v.nodes.map((n) => n.target + ' ' + n.html).join(' '))));",
            rules,
        )

    return broken_rules


@pytest.fixture(scope="session")
def browser(tmp_path_factory):
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    assert chromium, "install chromium (Debian: apt-get install chromium chromium-driver)"
    assert driver, "install chromedriver (Debian: apt-get install chromium chromium-driver)"
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in (
        "--headless=new",
        "--no-sandbox",
        "--disable-dev-shm-usage",
        "--force-prefers-reduced-motion",
        "--autoplay-policy=no-user-gesture-required",
    ):
        options.add_argument(argument)
    downloads = tmp_path_factory.mktemp("downloads")
    options.add_experimental_option("prefs", {"download.default_directory": str(downloads)})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    chrome = webdriver.Chrome(options, webdriver.ChromeService(driver))
    chrome.downloads = downloads
    yield chrome
    chrome.quit()


@pytest.fixture(scope="session")
def folder(sheet, result, exercise, table, track, frames, words, tmp_path_factory):
    """Every page there is, as it would lie on somebody's disk."""
    folder = tmp_path_factory.mktemp("pages")
    plan = plan_overlay(result, table, exercise, track, words)
    width, height, _ = annotate(frames, plan, folder / "annotated.mp4")
    beside = ClipLink(width, height, 24.0, src="annotated.mp4")
    inside = ClipLink(
        width,
        height,
        24.0,
        data=base64.b64encode((folder / "annotated.mp4").read_bytes()).decode("ascii"),
    )
    pages = {
        "sheet": "".join(client_html(sheet, words)),
        "coach": "".join(coach_html(sheet, words)),
        "sheet-clip": "".join(client_html(sheet, words, beside)),
        "coach-clip": "".join(coach_html(sheet, words, beside)),
        "sheet-single": "".join(client_html(sheet, words, inside)),
        "coach-single": "".join(coach_html(sheet, words, inside)),
        "coach-noted": "".join(coach_html(replace(sheet, note=NOTE), words)),
        "unusable": unusable_html(unusable_page(result, exercise, words), sheet.heading, words),
    }
    for name, html in pages.items():
        (folder / f"{name}.html").write_text(html, encoding="utf-8")
    return folder


@pytest.fixture
def visit(browser, folder):
    """Open a page at a size and in a colour scheme; at the end it must have logged nothing."""

    def opened(name, *, width=390, height=844, scheme="light"):
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        browser.execute_cdp_cmd(
            "Emulation.setEmulatedMedia",
            {"features": [{"name": "prefers-color-scheme", "value": scheme}]},
        )
        browser.get((folder / f"{name}.html").as_uri())
        return browser

    yield opened
    assert [entry["message"] for entry in browser.get_log("browser")] == []
