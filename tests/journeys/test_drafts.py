"""What was typed comes back where it was typed, and nowhere else: a kit's form, the answer to a message."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

import pytest
from playwright.sync_api import Page, expect

WIDE = (1200, 900)
BACK = "What you had typed here before is back."
OWLS = "/kit?theme=owls&kits=4&t=1d8a8a&t=d9a93b&t=7b4a2b&j=1&j=2&j=4&c=1:4&c=2:4"
SPACE = "/kit?theme=space&kits=2&t=1d8a8a&t=d9a93b&t=7b4a2b&j=1&j=2&j=4&c=1:4&c=2:4"


@pytest.fixture
def page(open_page: Callable[..., Page]) -> Page:
    return open_page(WIDE)


def test_a_draft_of_one_kit_is_offered_there_alone(page: Page) -> None:
    page.goto(OWLS)
    page.get_by_label("Name", exact=True).fill("owls for the ferry")
    page.get_by_label("For the day").fill("2027-03-01")
    page.get_by_label("For the order").select_option("new")
    page.get_by_label("Name for a new order").fill("the ferry office")
    page.goto(SPACE)
    expect(page.get_by_role("heading", name="Save this kit, or make it")).to_be_visible()
    expect(page.get_by_text(BACK)).to_have_count(0)
    expect(page.get_by_label("Name", exact=True)).to_have_value("")
    expect(page.get_by_label("For the order")).to_have_value("")
    page.goto(OWLS)
    expect(page.get_by_text(BACK)).to_be_visible()
    expect(page.get_by_label("Name for a new order")).to_have_value("the ferry office")
    # Refused, it is told still, as what was brought back stands there still.
    page.get_by_label("For the day").fill("")
    page.get_by_role("button", name="Promise it now").click()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_text(BACK)).to_be_visible()
    expect(page.get_by_label("Name for a new order")).to_have_value("the ferry office")
    page.get_by_role("button", name="Start afresh").click()
    expect(page.get_by_label("Name for a new order")).to_have_value("")
    expect(page.get_by_text(BACK)).to_have_count(0)


def test_what_was_typed_goes_along_when_a_part_is_swapped(page: Page) -> None:
    page.goto(OWLS)
    page.get_by_label("Name", exact=True).fill("owls at dusk")
    page.locator("#fewer-c0").click()
    expect(page).not_to_have_url(page.url.split("/kit")[0] + OWLS)
    expect(page.get_by_label("Name", exact=True)).to_have_value("owls at dusk")
    page.reload()
    expect(page.get_by_text(BACK)).to_be_visible()
    expect(page.get_by_label("Name", exact=True)).to_have_value("owls at dusk")


def test_reload_and_back_keep_what_was_typed_to_an_answer(page: Page) -> None:
    page.goto("/reply?text=" + quote("Twelve owl kits for 1 March please"))
    page.get_by_label("Customer", exact=True).fill("the ferry office")
    page.get_by_label("Note").fill("rings twice")
    page.get_by_role("radio", name="Kit 2").check()
    page.reload()
    expect(page.get_by_text(BACK)).to_be_visible()
    expect(page.get_by_label("Customer", exact=True)).to_have_value("the ferry office")
    expect(page.get_by_label("Note")).to_have_value("rings twice")
    expect(page.get_by_role("radio", name="Kit 2")).to_be_checked()
    page.get_by_role("link", name="Lay it out and change it").first.click()
    expect(page.get_by_label("Name for a new order")).to_have_value("the ferry office")
    page.go_back()
    expect(page.get_by_label("Note")).to_have_value("rings twice")
    expect(page.get_by_role("radio", name="Kit 2")).to_be_checked()
    # Another message is another customer's.
    page.goto("/reply?text=" + quote("Six pirate kits"))
    expect(page.get_by_label("Customer", exact=True)).to_have_value("")
    expect(page.get_by_text(BACK)).to_have_count(0)
