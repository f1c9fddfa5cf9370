"""Whole uses of the page in a real browser, Debian's Chromium, over a real server.

Every journey also holds that no request leaves the page's own origin and that the console
stays silent. Accessibility is judged by axe-core (WCAG rules), which the package
axe-playwright-python carries.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

PLACES = ("/", "/?theme=owl+party", "/shelf", "/shelf/jars/1", "/shelf/jars/new", "/shelf/bring",
          "/shelf/jars/many", "/shelf/place", "/idle", "/reply", "/batches", "/orders", "/week", "/season",
          "/taste")  # fmt: skip


def fits(page: Page) -> None:
    """Nothing is wider than the screen."""
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1")


def test_first_visit_to_first_idea(page: Page) -> None:
    page.goto("/")
    page.get_by_label("A theme, a season, or a customer's own words").fill("owl party in teal and gold")
    page.get_by_role("button", name="Show kits").click()
    expect(page.locator("article.idea")).to_have_count(3)
    expect(page.locator("article.idea svg[role=img]").first).to_be_visible()
    fits(page)
    page.get_by_role("link", name="Lay this kit out").first.click()
    page.get_by_text("Another jar here").first.click()
    before = page.locator(".parts strong").all_inner_texts()
    old = page.url
    page.locator("details[open] a.button").first.click()
    page.wait_for_url(lambda url: url != old)
    expect(page.locator("main")).not_to_have_attribute("aria-busy", "true")
    after = page.locator(".parts strong").all_inner_texts()
    assert sum(a != b for a, b in zip(before, after, strict=True)) == 1, "one jar was swapped, nothing else"
    fits(page)
    page.go_back()
    page.wait_for_function(
        "names => [...document.querySelectorAll('.parts strong')].map(e => e.innerText).join() === names",
        arg=",".join(before),
    )


def test_a_customers_message_to_a_reply(page: Page) -> None:
    page.goto("/reply")
    page.get_by_label("Their words").fill("Could you make 6 owl kits for 5 December? No milk, the youngest is 3.")
    page.get_by_role("button", name="Read and answer it").click()
    reply = page.get_by_label("Change it as you like, then copy it")
    expect(reply).to_have_value(re.compile("contains milk"))
    expect(reply).to_have_value(re.compile("home kitchen"))
    page.locator("#corrections").get_by_label("Kits", exact=True).fill("9")
    page.get_by_role("button", name="Answer it so").click()
    expect(reply).to_have_value(re.compile("9 kits"))
    fits(page)


def test_an_idle_jar_to_a_batch_that_uses_it(page: Page) -> None:
    page.goto("/idle")
    name = page.locator("article.idlejar:has(a.button) h2").first.inner_text()
    page.locator("article.idlejar a.button").first.click()
    expect(page.locator("article.idea").first).to_be_visible()
    page.get_by_role("link", name="Lay this kit out").first.click()
    expect(page.locator(".parts").nth(1)).to_contain_text(name, use_inner_text=True)
    page.get_by_label("Kits").fill("1")
    page.get_by_role("button", name="Save it for later").click()
    # Without a day it is asked once whether that is meant.
    page.get_by_role("button", name="Promise it").click()
    expect(page.get_by_role("alert")).to_contain_text("no day yet", use_inner_text=True)
    page.get_by_label("no day yet").check()
    page.get_by_role("button", name="Promise it").click()
    expect(page.locator(".chip", has_text="promised").first).to_be_visible()
    fits(page)


def test_a_season_to_a_promised_plan(page: Page) -> None:
    page.goto("/season")
    page.get_by_label("Theme").first.fill("snowman")
    page.get_by_label("Day", exact=True).first.fill("2027-01-15")
    page.get_by_label("Kits", exact=True).first.fill("2")
    page.get_by_label("Theme").nth(1).fill("winter wonderland")
    page.get_by_label("Kits for New Year's Eve").fill("3")
    page.get_by_role("button", name="Plan these together").click()
    # The second line has no number of kits yet; what was typed is still there.
    expect(page.get_by_role("alert")).to_contain_text("winter wonderland, kits", use_inner_text=True)
    expect(page.get_by_label("Theme").first).to_have_value("snowman")
    expect(page.get_by_label("Kits for New Year's Eve")).to_have_value("3")
    fits(page)
    page.get_by_label("Kits", exact=True).nth(1).fill("2")
    page.get_by_role("button", name="Plan these together").click()
    # The wait tells how far it is, and gives way to the plan by itself.
    expect(page).to_have_url(re.compile("/season/plan/"))
    page.locator("article.idea svg[role=img]").first.wait_for()
    expect(page.locator("article.idea")).to_have_count(3)
    fits(page)
    page.reload()
    expect(page.locator("article.idea")).to_have_count(3)
    # One kit for another, before anything is promised.
    page.get_by_text("Another kit for this line").first.click()
    page.get_by_role("button", name="stock suffices beside the others").first.click()
    expect(page.get_by_text("The kits are those that you kept and swapped.")).to_be_visible()
    expect(page.locator("article.idea")).to_have_count(3)
    fits(page)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    page.get_by_role("button", name="Promise all of it, or nothing").click()
    page.wait_for_url("**/week")
    expect(page.locator("main")).to_contain_text("2027", use_inner_text=True)
    fits(page)


def test_what_she_likes_is_learned_and_can_be_forgotten(page: Page) -> None:
    page.goto("/?theme=robots")
    idea = page.locator("article.idea").first
    idea.get_by_role("button", name="I like this one").click()
    expect(idea.get_by_text("You liked this one.")).to_be_visible()
    other = page.locator("article.idea").nth(1)
    other.get_by_role("button", name="Pass it over").click()
    expect(other.get_by_text("You passed this one over.")).to_be_visible()
    expect(idea.get_by_text("You liked this one.")).to_be_visible()
    fits(page)
    page.reload()
    page.get_by_role("link", name="Lay this kit out").first.click()
    expect(page.get_by_text("You liked this one.")).to_be_visible()
    page.get_by_role("link", name="What is learned from that").click()
    expect(page.locator("main")).to_contain_text(
        "Learned from 2 choices: 1 kept and 1 passed over.", use_inner_text=True
    )
    fits(page)
    page.get_by_text("Begin anew").click()
    page.get_by_role("button", name="Forget what was learned").click()
    expect(page.locator("main")).to_contain_text("Nothing was said of any idea yet", use_inner_text=True)


def test_an_order_is_written_down_and_found_by_its_day(page: Page) -> None:
    page.goto("/orders")
    page.get_by_label("Customer").fill("the lighthouse school")
    page.get_by_label("Pick-up day").fill("2027-02-01")
    page.get_by_label("Price agreed").fill("80")
    page.get_by_label("Paid ahead").fill("30")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("main")).to_contain_text("Still to pay: 50.00", use_inner_text=True)
    page.get_by_role("link", name="All orders").click()
    expect(page.get_by_text("the lighthouse school").first).to_be_visible()


def test_an_import_with_mistakes_to_a_mended_shelf(
    page: Page, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """A list with titles of her own, ounces, a doubtful day and a slip: looked at, settled, mended, brought in."""
    own, other = f"mended {request.node.callspec.id}", f"other {request.node.callspec.id}"
    sheet = tmp_path / "my sprinkles.csv"
    rows = (
        "My list, spring\n"
        "Sprinkle,Type,Colour,Amt left (oz),Best by,Shelf\n"
        f"{own},nonpareils,bluish,8,03/04/2027,top\n"
        f"{other},jimmies,teal,half a jar,31 May 2027,top\n"
    )
    page.goto("/shelf")
    sheet.write_text(rows, "utf-8")
    page.get_by_label("Your list as .xlsx, .csv or .zip").set_input_files(sheet)
    page.get_by_role("button", name="Look at it first").click()
    mend = page.get_by_role("alert")
    expect(mend).to_contain_text("row 3, Colour")
    expect(mend).to_contain_text("row 4, Amt left (oz)")
    expect(page.locator("fieldset").first).to_contain_text("Sat 3 April 2027 (day first)", use_inner_text=True)
    expect(page.locator("section", has_text="Also").last).to_contain_text("Shelf", use_inner_text=True)
    expect(page.get_by_role("button", name="Bring this in")).to_have_count(0)
    fits(page)
    assert Axe().run(page).violations_count == 0
    page.get_by_label("day first").check()
    page.get_by_label("“Shelf” stands for").select_option("Lot")
    page.get_by_role("button", name="Look again with these choices").click()
    expect(page.get_by_role("alert")).not_to_contain_text("03/04/2027", use_inner_text=True)
    sheet.write_text(rows.replace("bluish", "navy").replace("half a jar", "3 tbsp"), "utf-8")
    page.get_by_label("Mended it?").set_input_files(sheet)
    page.get_by_role("button", name="Look again", exact=True).click()
    expect(page.locator("table")).to_contain_text("2027-04-03")
    expect(page.get_by_label("“Shelf” stands for").locator("option:checked")).to_have_text("Lot")
    fits(page)
    page.get_by_role("button", name="Bring this in").click()
    expect(page.get_by_role("status").first).to_contain_text("jars: 2 new", use_inner_text=True)
    page.goto(f"/shelf?q={own}")
    page.get_by_text(own, exact=True).first.click()
    expect(page.get_by_label("On hand, g", exact=True)).to_have_value("226.796")
    expect(page.get_by_label("Lot", exact=True)).to_have_value("top")


def test_every_place_can_be_reached_by_keyboard_alone(page: Page) -> None:
    page.goto("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()


@pytest.mark.parametrize("place", PLACES)
def test_axe_finds_nothing_and_nothing_overflows(page: Page, place: str) -> None:
    page.goto(place)
    fits(page)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_a_jar_on_the_phone_shows_its_form_before_much_scrolling(open_page: Callable[..., Page]) -> None:
    page = open_page((360, 740))
    page.goto("/shelf/jars/1")
    keep = page.get_by_role("button", name="Save this jar")
    expect(keep).to_be_visible()
    place = keep.bounding_box()
    assert place is not None
    assert place["y"] + place["height"] <= 2_000
    page.get_by_text("Which: milk, soy").click()
    expect(page.get_by_label("soy").last).to_be_checked()
    page.get_by_text("Shape and feel").click()
    expect(page.get_by_label("Grain, mm")).to_be_visible()
    fits(page)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
