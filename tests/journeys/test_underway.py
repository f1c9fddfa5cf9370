"""A photo and a large list on their way: how far they are is shown, they can be stopped, both work unscripted."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Page, Route, expect

ROWS = 400


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A list of many jars."""
    path = tmp_path / "all my jars.csv"
    rows = (f"jar of the long list {n},nonpareils,teal,8\n" for n in range(ROWS))
    path.write_text("Sprinkle,Type,Colour,Amt left (oz)\n" + "".join(rows), "utf-8")
    return path


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """A picture of red grains on white paper."""
    path = tmp_path / "grains.png"
    picture = Image.new("RGB", (600, 600), "#fafafa")
    picture.paste("#c8253b", (60, 60, 540, 540))
    picture.save(path)
    return path


def posts(route: Route) -> bool:
    """Whether it is the form that is sent."""
    return route.request.method == "POST"


def choose(page: Page, sheet: Path) -> None:
    page.goto("/shelf/bring")
    page.get_by_label("Your list").set_input_files(sheet)
    page.get_by_role("button", name="Look at it first").click()


def test_a_large_list_shows_that_it_is_read_and_then_what_it_would_do(page: Page, sheet: Path) -> None:
    # The answer is held back until the page was looked at.
    held: list[Route] = []
    page.route("**/shelf/bring", lambda route: held.append(route) if posts(route) else route.continue_())
    choose(page, sheet)
    expect(page.get_by_role("progressbar", name="How far it is")).to_be_visible()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    expect(page.get_by_role("button", name="Look at it first")).to_be_disabled()
    assert Axe().run(page).violations_count == 0
    held[0].continue_()
    expect(page).to_have_url(re.compile(r"/shelf/bring\?answer="))
    expect(page.locator("main")).to_contain_text(f"{ROWS} new", use_inner_text=True)
    page.reload()
    expect(page.locator("main")).to_contain_text(f"{ROWS} new", use_inner_text=True)


def test_the_rows_that_are_read_are_told_while_they_are(open_page: Callable[..., Page], tmp_path: Path) -> None:
    page = open_page((1200, 900))
    sheet = tmp_path / "a very long list.csv"
    rows = (f"jar of the very long list {n},nonpareils,teal,8\n" for n in range(6 * ROWS))
    sheet.write_text("Sprinkle,Type,Colour,Amt left (oz)\n" + "".join(rows), "utf-8")
    choose(page, sheet)
    expect(page.get_by_role("status").first).to_have_text(re.compile(r"Reading: \d+ % of the rows"))
    # What is stopped while it is read shows nothing.
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("progressbar")).to_have_count(0)
    expect(page).to_have_url(re.compile("/shelf/bring$"))


def test_a_list_that_was_stopped_leaves_all_as_it_was(page: Page, sheet: Path) -> None:
    stopped: list[str] = []
    page.on("request", lambda r: stopped.append(r.url) if r.url.endswith("/stop") else None)
    page.route("**/shelf/bring", lambda route: None if posts(route) else route.continue_())
    choose(page, sheet)
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("progressbar")).to_have_count(0)
    expect(page.get_by_role("button", name="Look at it first")).to_be_focused()
    expect(page).to_have_url(re.compile("/shelf/bring$"))
    # The file is still chosen and can be sent once more.
    assert page.get_by_label("Your list").evaluate("field => field.files.length") == 1
    assert len(stopped) == 1


def test_a_connection_that_breaks_says_so_and_keeps_the_form(open_page: Callable[..., Page], sheet: Path) -> None:
    page = open_page((1200, 900), may_fail=True)
    page.route("**/shelf/bring", lambda route: route.abort() if posts(route) else route.continue_())
    choose(page, sheet)
    expect(page.get_by_role("alert")).to_contain_text("themekit does not answer")
    assert page.get_by_label("Your list").evaluate("field => field.files.length") == 1


def test_a_photo_is_read_as_it_is_taken_and_can_be_loaded_anew(page: Page, photo: Path) -> None:
    page.goto("/shelf/jars/many")
    page.get_by_label("Name").fill("red pearls")
    page.get_by_text("Pick your own, or take a picture").click()
    page.get_by_label("Or take a picture of the sprinkles").set_input_files(photo)
    expect(page.get_by_text("Read from your photo.")).to_be_visible()
    expect(page.get_by_label("Name")).to_have_value("red pearls")
    page.reload()
    expect(page.get_by_text("Read from your photo.")).to_be_visible()
    expect(page.get_by_label("Name")).to_have_value("red pearls")


def test_without_script_both_work_as_any_form(open_page: Callable[..., Page], sheet: Path, photo: Path) -> None:
    page = open_page((360, 740), java_script_enabled=False)
    choose(page, sheet)
    expect(page.locator("main")).to_contain_text(f"{ROWS} new")
    page.reload()
    expect(page.locator("main")).to_contain_text(f"{ROWS} new")
    page.goto("/shelf/jars/many")
    page.get_by_text("Pick your own, or take a picture").click()
    page.get_by_label("Or take a picture of the sprinkles").set_input_files(photo)
    page.get_by_role("button", name="Read the colours from it").click()
    expect(page.get_by_text("Read from your photo.")).to_be_visible()
