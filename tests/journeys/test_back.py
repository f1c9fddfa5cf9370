"""Back and reload after a form was refused, with and without script: nothing is sent twice, nothing typed is lost.

A browser that has to send a form again to show a page stops, or sends it; so the address is looked at too.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

WIDE = (1200, 900)


@pytest.fixture(params=[True, False], ids=["script", "plain"])
def either(request: pytest.FixtureRequest, open_page: Callable[..., Page]) -> Page:
    """A page with script, and one without."""
    return open_page(WIDE, java_script_enabled=request.param)


def test_a_refused_order_after_reload_back_and_forward(either: Page) -> None:
    page = either
    page.goto("/orders")
    page.get_by_label("Customer").fill("the tide-pool club")
    page.get_by_label("Price agreed").fill("eighty")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page).to_have_url(re.compile(r"/orders\?answer="))
    refused = page.url
    page.reload()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_label("Customer")).to_have_value("the tide-pool club")
    expect(page.get_by_label("Price agreed")).to_have_value("eighty")
    # Going on and coming back shows it once more.
    page.get_by_role("link", name="Week").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The weeks' work")
    page.go_back()
    expect(page).to_have_url(refused)
    expect(page.get_by_label("Price agreed")).to_have_value("eighty")
    # Back from it is the form, and forward is the answer again.
    page.go_back()
    expect(page).to_have_url(re.compile(r"/orders$"))
    expect(page.get_by_role("heading", name="A new order")).to_be_visible()
    page.go_forward()
    expect(page.get_by_label("Price agreed")).to_have_value("eighty")
    # Mended and kept, it is one order; back from that leads to the form as it was sent.
    page.get_by_label("Price agreed").fill("80")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Order of the tide-pool club")
    page.go_back()
    expect(page).to_have_url(refused)
    page.goto("/orders")
    expect(page.get_by_role("cell", name="the tide-pool club")).to_have_count(1)
    expect(page.get_by_label("Customer")).to_have_value("")
    # So that the next journey finds none.
    page.get_by_role("row", name=re.compile("tide-pool")).get_by_role("link").first.click()
    page.get_by_text("Take it off the list").click()
    page.get_by_role("button", name="Take it off and erase").click()


def test_with_script_the_form_gone_back_to_has_what_was_typed(open_page: Callable[..., Page]) -> None:
    page = open_page(WIDE)
    page.goto("/orders")
    page.get_by_label("Customer").fill("the sundial society")
    page.get_by_label("Time").fill("15:30")
    page.get_by_label("Price agreed").fill("ninety")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.go_back()
    expect(page.get_by_label("Customer")).to_have_value("the sundial society")
    expect(page.get_by_label("Time")).to_have_value("15:30")
    expect(page.get_by_label("Price agreed")).to_have_value("ninety")


def test_a_refused_jar_and_a_refused_season_can_be_loaded_anew(either: Page) -> None:
    page = either
    page.goto("/shelf/jars/1")
    page.get_by_label("On hand, g", exact=True).fill("plenty")
    page.get_by_role("button", name="Save this jar").click()
    expect(page).to_have_url(re.compile(r"/shelf/jars/1\?answer="))
    page.reload()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_label("On hand, g", exact=True)).to_have_value("plenty")
    page.goto("/season")
    page.get_by_label("Theme").first.fill("snowman")
    page.get_by_role("button", name="Plan these together").click()
    expect(page).to_have_url(re.compile(r"/season\?answer="))
    page.reload()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_label("Theme").first).to_have_value("snowman")


def test_units_changed_on_a_refused_form_lose_nothing(either: Page) -> None:
    page = either
    page.goto("/orders")
    page.get_by_label("Note").fill("ring twice")
    page.get_by_label("Price agreed").fill("seventy")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.get_by_role("button", name="Show ounces and inches").click()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_label("Note")).to_have_value("ring twice")
