"""The table in a real browser: swaps and holds in place, two kits, a message to an order, two tabs."""

from __future__ import annotations

import re
from collections.abc import Callable
from urllib.parse import parse_qs, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

THEME = "owl party in teal and gold"


def fits(page: Page) -> None:
    """Nothing is wider than the screen."""
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1")


def lay_out(page: Page) -> None:
    page.goto(f"/?theme={THEME.replace(' ', '+')}")
    page.get_by_role("link", name="Lay this kit out").first.click()
    expect(page.get_by_role("heading", name=f"{THEME}, laid out")).to_be_visible()


def names(page: Page) -> list[str]:
    return page.locator(".parts strong").all_inner_texts()


def follow(page: Page, click: str) -> None:
    """Tap what swaps in place, and wait until it has."""
    old = page.url
    page.locator(click).first.click()
    page.wait_for_url(lambda url: url != old)
    expect(page.locator("main")).not_to_have_attribute("aria-busy", "true")


def kit_in(page: Page) -> dict[str, list[str]]:
    return parse_qs(urlsplit(page.url).query)


def test_swap_and_hold_in_place_without_a_jump(page: Page) -> None:
    lay_out(page)
    page.evaluate("window.same = true")
    before = names(page)
    page.locator("#sum-j1").click()
    place = page.locator("#sum-j1").evaluate("e => e.getBoundingClientRect().top")
    at = page.locator("#swap-j1-1").evaluate("e => e.getBoundingClientRect().top")
    assert at > place
    follow(page, "#swap-j1-1")
    assert page.evaluate("window.same"), "the page itself was not loaded again"
    changed = [a != b for a, b in zip(before, names(page), strict=True)]
    assert changed == [False] * 4 + [True] + [False] * (len(before) - 5), "the second jar alone"
    assert page.evaluate("document.activeElement.id") in ("swap-j1-1", "sum-j1"), "the focus stays at the place"
    seen = page.evaluate("document.activeElement.getBoundingClientRect().top")
    assert abs(seen - at) < 2 or 0 <= seen <= page.viewport_size["height"]  # type: ignore[index]
    expect(page.locator("body > p.quiet")).to_contain_text("On the table:", use_inner_text=True)
    follow(page, "#hold-t0")
    expect(page.locator("#hold-t0")).to_have_attribute("aria-current", "true")
    # In the picture itself: the first cup.
    follow(page, "#kit-j0")
    assert kit_in(page)["hold"] == ["j0", "t0"]
    held = (kit_in(page)["t"][0], kit_in(page)["j"][0])
    seen_kits = [(tuple(kit_in(page)["t"]), tuple(kit_in(page)["j"]))]
    for _ in range(3):
        follow(page, "#anew")
        now = kit_in(page)
        assert (now["t"][0], now["j"][0]) == held
        seen_kits.append((tuple(now["t"]), tuple(now["j"])))
    assert len(set(seen_kits)) == 4, "nothing that was seen comes back"
    fits(page)
    page.go_back()
    page.wait_for_function(
        "t => new URLSearchParams(location.search).getAll('t').join() === t", arg=",".join(seen_kits[2][0])
    )
    page.reload()
    assert tuple(kit_in(page)["t"]) == seen_kits[2][0]
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_any_jar_is_found_and_taken_by_the_keyboard_alone(page: Page) -> None:
    page.goto("/kit?theme=owl+party&kits=4&avoid=soy")
    page.evaluate("window.same = true")
    page.locator("#sum-j1").press("Enter")
    page.locator("#all-j1").press("Enter")
    expect(page.locator("#choose-j1")).to_be_focused()
    found = page.locator(".choose .all li:visible")
    expect(page.locator("main")).not_to_have_attribute("aria-busy", "true")
    page.keyboard.press("Tab")
    expect(page.get_by_label("Look for")).to_be_focused()
    page.keyboard.type("sanding green")
    expect(page.locator("[data-found]")).to_have_text(re.compile(r"\d found"))
    expect(found.first).to_contain_text("green")
    expect(found.first).to_contain_text("sanding sugar")
    page.get_by_label("Look for").fill("chocolate")
    expect(page.locator(".refused li:visible").first).to_contain_text("contains soy")
    fits(page)
    report = Axe().run(page)
    assert report.violations_count == 0, report.generate_report()
    page.get_by_label("Look for").fill("emerald green sanding sugar")
    page.get_by_role("button", name="emerald green sanding sugar").press("Enter")
    expect(page.locator("#part-j1 strong").first).to_have_text("emerald green sanding sugar")
    expect(page.locator("#sum-j1")).to_be_focused()
    assert page.evaluate("window.same"), "the page itself was not loaded again"
    page.locator("#all-t2").evaluate("e => e.closest('details').open = true")
    page.locator("#all-t2").click()
    page.get_by_label("Or a colour of your own").fill("navy")
    page.get_by_role("button", name="Take it").click()
    expect(page.locator("#part-t2 strong").first).to_contain_text("blue")


def test_her_own_colours_are_laid_down(page: Page) -> None:
    lay_out(page)
    page.locator("#own0").fill("hot pink")
    old = page.url
    page.get_by_role("button", name="Lay these down").click()
    page.wait_for_url(lambda url: url != old)
    expect(page.locator("#part-t0")).to_contain_text("pink")
    page.locator("#own1").fill("bluish-ish")
    page.get_by_role("button", name="Lay these down").click()
    expect(page.get_by_role("alert")).to_contain_text("bluish-ish")
    assert "bluish-ish" in [page.locator(f"#own{n}").input_value() for n in range(3)]


def test_two_kits_by_taps_alone(page: Page) -> None:
    page.goto(f"/?theme={THEME.replace(' ', '+')}")
    page.get_by_role("link", name="Lay another beside it").first.click()
    expect(page.get_by_role("heading", name="Which kit to lay beside this one?")).to_be_visible()
    fits(page)
    page.get_by_role("link", name="Lay this one beside it").first.click()
    expect(page.get_by_role("heading", name="What sets them apart")).to_be_visible()
    told = page.locator("main")
    expect(told).to_contain_text("a kit")
    expect(told).to_contain_text("only in the first", ignore_case=True)
    fits(page)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    address = page.url
    page.goto(address)
    page.get_by_role("link", name="Take the second").click()
    expect(page.get_by_role("heading", name=f"{THEME}, laid out")).to_be_visible()


def test_a_customers_message_to_an_order(page: Page) -> None:
    page.goto("/reply")
    # One message makes one order, and both widths share a shelf.
    hello = "Hello!" if page.viewport_size == {"width": 360, "height": 740} else "Hello there!"
    page.get_by_label("Their words").fill(
        f"{hello} Could you make 2 owl kits for 5 December? No soy, no pink, the youngest is 5."
    )
    page.get_by_role("button", name="Read and answer it").click()
    fields = page.locator("#corrections")
    expect(fields.get_by_label("Day")).to_have_value("2026-12-05")
    expect(fields.get_by_label("soy")).to_be_checked()
    expect(fields.get_by_label("Colours not wanted")).to_have_value("pink")
    fields.get_by_label("Youngest child, years").fill("4")
    fields.get_by_label("Theme").fill("owls and moons")
    page.get_by_role("button", name="Answer it so").click()
    letter = page.get_by_label("Change it as you like, then copy it")
    expect(letter).to_have_value(re.compile("“owl” and “moon and stars”"))
    fits(page)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    letter.fill("My own letter.")
    fields.get_by_label("Kits", exact=True).fill("3")
    page.get_by_role("button", name="Answer it so").click()
    expect(page.get_by_text("The letter stands as you sent it here.")).to_be_visible()
    expect(letter).to_have_value("My own letter.")
    page.get_by_text("As it is worked out now").click()
    expect(page.locator("p.letter")).to_contain_text("3 kits")
    page.get_by_role("radio", name="Kit 1").check()
    page.get_by_label("Customer", exact=True).fill("the owl house")
    page.get_by_role("button", name="Save it and hold the stock").click()
    expect(page.get_by_role("heading", name="Order of the owl house")).to_be_visible()
    expect(page.get_by_label("The letter that answered them")).to_have_value("My own letter.")
    place = page.url
    page.go_back()
    page.get_by_role("radio", name="Kit 1").check()
    page.get_by_role("button", name="Save it and hold the stock").click()
    expect(page.get_by_role("heading", name="Already kept")).to_be_visible()
    expect(page).to_have_url(re.compile(re.escape(place)))
    expect(page.locator("main")).to_contain_text("(promised)", use_inner_text=True)
    expect(page.get_by_label("Their words")).to_have_value(re.compile(re.escape("Could you make 2 owl kits")))


def test_a_batch_kept_again_after_coming_back_is_the_same(page: Page) -> None:
    page.goto("/kit?theme=owl+party")
    page.get_by_role("button", name="Save it for later").click()
    expect(page.get_by_role("heading", name="owl party: ")).to_be_visible()
    place = page.url
    page.go_back()
    page.get_by_role("button", name="Save it for later").click()
    expect(page.get_by_role("heading", name="owl party: ")).to_be_visible()
    expect(page).to_have_url(place)


def test_two_tabs_do_not_overwrite_each_other(page: Page) -> None:
    page.goto("/orders")
    page.get_by_label("Customer").fill("the two tabs")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Order of the two tabs")).to_be_visible()
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_label("Note").fill("from the other tab")
    other.get_by_role("button", name="Save").click()
    expect(other.get_by_label("Note")).to_have_value("from the other tab")
    page.get_by_label("Note").fill("from this tab")
    page.get_by_label("Price agreed").fill("40")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_contain_text("changed in the meantime")
    expect(page.locator("main")).to_contain_text("from the other tab")
    expect(page.locator("main")).to_contain_text("from this tab")
    fits(page)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    page.get_by_label("Keep mine: from this tab").check()
    page.get_by_role("button", name="Keep what is chosen").click()
    expect(page.get_by_label("Note")).to_have_value("from this tab")
    expect(page.get_by_label("Price agreed")).to_have_value("40.00")


@pytest.mark.parametrize("width", [1200])
def test_the_table_works_without_script(browser: Browser, address: str, width: int) -> None:
    context = browser.new_context(
        java_script_enabled=False, base_url=address, viewport={"width": width, "height": 900}
    )
    page = context.new_page()
    lay_out(page)
    before = names(page)
    page.locator("#sum-c0").click()
    page.locator("#swap-c0-1").click()
    expect(page.locator(".parts strong")).not_to_have_text(before)
    page.locator("#sum-c0").click()
    page.locator("#all-c0").click()
    page.get_by_label("Look for").fill("rocket")
    page.get_by_role("button", name="Look", exact=True).click()
    page.get_by_role("button", name="rocket").click()
    expect(page.locator("#part-c0 strong").first).to_contain_text("rocket")
    page.locator("#hold-t1").click()
    page.locator("#anew").click()
    expect(page).to_have_url(re.compile("s="))
    page.locator("#own2").fill("navy")
    page.get_by_role("button", name="Lay these down").click()
    expect(page.locator("h1")).to_contain_text("laid out", use_inner_text=True)
    context.close()


def test_an_edited_letter_is_kept_without_script_too(open_page: Callable[..., Page]) -> None:
    page = open_page((360, 740), java_script_enabled=False)
    page.goto("/reply")
    page.get_by_label("Their words").fill(
        "Good day,\ncould you make 3 moon kits for 5 December?\nThe sundial society"
    )
    page.get_by_role("button", name="Read and answer it").click()
    letter = page.get_by_label("Change it as you like, then copy it")
    letter.fill("Dear all,\nwith pleasure.")
    page.locator("#corrections").get_by_label("Kits", exact=True).fill("4")
    page.get_by_role("button", name="Answer it so").click()
    expect(page).to_have_url(re.compile(r"/reply\?answer="))
    expect(letter).to_have_value("Dear all,\nwith pleasure.")
    page.reload()
    expect(letter).to_have_value("Dear all,\nwith pleasure.")
    expect(page.locator("#corrections").get_by_label("Kits", exact=True)).to_have_value("4")
    page.get_by_role("radio", name="Kit 1").check()
    page.get_by_label("Customer", exact=True).fill("the sundial society")
    page.get_by_role("button", name="Save the order with this kit").click()
    expect(page.get_by_role("heading", name="Order of the sundial society")).to_be_visible()
    expect(page.get_by_label("The letter that answered them")).to_have_value("Dear all,\nwith pleasure.")
    expect(page.get_by_label("Their words")).to_have_value(re.compile("3 moon kits"))
