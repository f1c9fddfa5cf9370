"""Refused forms in a browser: the first wrong field has the focus, links lead to the others, axe finds nothing."""

from __future__ import annotations

import re
from collections.abc import Callable

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect


def fine(page: Page) -> None:
    """Nothing is wider than the screen, and axe-core finds nothing."""
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_an_order_is_mended_field_by_field(page: Page) -> None:
    page.goto("/orders")
    page.get_by_label("Customer").fill("the orchard library")
    page.get_by_label("Price agreed").fill("eighty")
    page.get_by_label("Paid ahead").fill("some")
    page.get_by_role("button", name="Save").click()
    total, deposit = page.get_by_label("Price agreed"), page.get_by_label("Paid ahead")
    expect(total).to_be_focused()
    expect(total).to_have_accessible_description(re.compile("eighty – wanted: an amount from 0 to 1,000,000"))
    expect(deposit).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Customer")).not_to_have_attribute("aria-invalid", "true")
    fine(page)
    page.get_by_role("alert").get_by_role("link", name="Paid ahead").click()
    expect(deposit).to_be_focused()


def test_a_jar_a_count_and_a_season_tell_it_beside_their_fields(page: Page) -> None:
    page.goto("/shelf/jars/1")
    page.get_by_role("textbox", name="Amount").fill("a lot")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("textbox", name="Amount")).to_be_focused()
    expect(page.get_by_role("textbox", name="Amount")).to_have_value("a lot")
    fine(page)
    page.get_by_label("Grain, mm").fill("long")
    page.get_by_role("button", name="Save this jar", exact=True).click()
    expect(page.get_by_label("Grain, mm")).to_be_focused()
    fine(page)
    page.goto("/season")
    page.get_by_label("Theme").first.fill("snowman")
    page.get_by_role("button", name="Plan these together").click()
    expect(page.get_by_label("Kits", exact=True).first).to_be_focused()
    fine(page)


def test_without_script_it_is_the_same(open_page: Callable[..., Page]) -> None:
    page = open_page((360, 740), java_script_enabled=False)
    page.goto("/shelf/jars/new")
    page.get_by_label("Name", exact=True).fill("new pearls")
    page.get_by_label("Kind").fill("no such kind")
    page.get_by_role("button", name="Save this jar", exact=True).click()
    expect(page.get_by_label("Kind")).to_be_focused()
    expect(page.get_by_label("Kind")).to_have_attribute("aria-describedby", "f-kind-amiss")
