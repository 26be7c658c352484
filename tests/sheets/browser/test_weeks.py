"""The weeks of a client, and a packet that stops, on a small phone: all of it fits and can be read."""

from datetime import timedelta

import pytest

from formcheck.records.clients import add_client
from formcheck.records.store import open_store
from formcheck.sheets.pages.packet import packet_page_of
from formcheck.sheets.pages.weeks import weeks_page
from formcheck.sheets.render.packet import packet_html
from formcheck.sheets.render.weeks import weeks_html
from tests.records.weeks import START, day_of, filmed, prescribed, said, ticked

pytestmark = pytest.mark.browser
PAGES = ("client", "coach", "packet")
UNTIL = day_of(3, 6)


@pytest.fixture(scope="module")
def pages(tmp_path_factory, words):
    folder = tmp_path_factory.mktemp("weeks")
    with open_store(folder / "records.sqlite", create=True) as store:
        add_client(store, "heron")
        prescribed(store, folder)
        ticked(store, day_of(1, 0))
        for k, value in enumerate((70.0, 71.0, 72.0, 88.0, 90.0, 91.0)):
            filmed(store, START + timedelta(days=1 + 2 * k), value=value)
        said(store, day_of(2, 0), red_flags={"numb-or-weak": True}, words="My hand tingles.")
        made = {
            reader: weeks_html(weeks_page(store, "heron", UNTIL, words, reader), words, reader)
            for reader in ("client", "coach")
        }
        made["packet"] = packet_html(packet_page_of(store, "heron", words, UNTIL), words)
    for name, html in made.items():
        (folder / f"{name}.html").write_text(html, "utf-8")
    return folder


@pytest.fixture(params=PAGES)
def on_phone(request, browser, pages):
    metrics = {"width": 390, "height": 664, "deviceScaleFactor": 1, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.get((pages / f"{request.param}.html").as_uri())
    yield browser
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.mark.parametrize("size", ["100%", "200%"])
def test_nothing_is_wider_than_the_phone(on_phone, size):
    on_phone.execute_script(f"document.documentElement.style.fontSize = '{size}'")
    assert on_phone.execute_script("return document.documentElement.scrollWidth") <= 390


def test_no_table_is_cut_at_the_edge_of_the_phone(on_phone):
    cut = on_phone.execute_script(
        "return [...document.querySelectorAll('.wide-table')]"
        ".filter(e => e.scrollWidth > e.clientWidth).map(e => e.textContent.slice(0, 60))"
    )
    assert cut == []


def test_no_rule_of_accessibility_is_broken(on_phone, broken_rules):
    assert broken_rules(on_phone) == []
