"""Signing in and opening the page on a phone, in a real browser over a real server."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

WORDS = "teal owls at breakfast"
# A name that only this browser knows, as a machine's name in a home network.
NAME = "bakery.test"


@pytest.fixture(scope="module")
def address(serve: Callable[..., str]) -> str:
    """A demo shelf served in the network, by a name."""
    return serve("--host", "0.0.0.0", "--log", "errors", THEMEKIT_PASSPHRASE=WORDS).replace("127.0.0.1", NAME)


@pytest.fixture(scope="module")
def flags() -> list[str]:
    """The browser finds this machine by that name."""
    return [f"--host-resolver-rules=MAP {NAME} 127.0.0.1"]


def fine(page: Page) -> None:
    """Nothing is wider than the screen, and axe-core finds nothing."""
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_from_the_computer_to_the_phone(browser: Browser, address: str, tmp_path: Path) -> None:
    computer = browser.new_page(viewport={"width": 1100, "height": 800}, base_url=address)
    said: list[str] = []
    computer.on("console", lambda m: said.append(m.text) if m.type == "error" and "403" not in m.text else None)
    computer.goto("/shelf?what=gels")
    fine(computer)
    expect(computer.locator("main")).to_contain_text("not encrypted", use_inner_text=True)
    computer.get_by_label("Passphrase").fill("not this one, surely")
    computer.get_by_role("button", name="Come in").click()
    expect(computer.get_by_role("alert")).to_contain_text("That was not it", use_inner_text=True)
    computer.get_by_label("Passphrase").fill(WORDS)
    computer.get_by_role("button", name="Come in").click()
    expect(computer).to_have_url(f"{address}/shelf?what=gels")  # where she wanted to go
    # A script of the page may change things, since it carries the page's token.
    change = (
        "fetch('/api/v1/gels/1', {method: 'PATCH', headers: {'Content-Type': 'application/json'}, body: '{}'})"
    )
    assert computer.evaluate(f"{change}.then(answer => answer.status)") == 200
    computer.get_by_role("button", name="Show ounces and inches").click()
    expect(computer.get_by_role("button", name="Show grams")).to_be_visible()
    computer.get_by_role("link", name="On your phone").click()
    computer.get_by_role("button", name="Show the picture to scan").click()
    expect(computer.locator("svg.qr")).to_be_visible()
    fine(computer)
    link = computer.locator("main code").text_content()
    assert link is not None
    assert link.startswith(f"{address}/enter?key=")
    context = browser.new_context(viewport={"width": 360, "height": 740})
    phone = context.new_page()
    phone.goto(link)
    fine(phone)
    phone.get_by_role("button", name="Yes, open it here").click()
    expect(phone.get_by_label("A theme, a season, or a customer's own words")).to_be_visible()
    fine(phone)
    phone.goto(link)
    expect(phone.locator("main")).to_contain_text("used up", use_inner_text=True)
    phone.goto(f"{address}/week")
    phone.get_by_role("button", name="Sign out on this device").click()
    expect(phone.get_by_label("Passphrase")).to_be_visible()
    phone.goto(f"{address}/week")
    expect(phone.get_by_label("Passphrase")).to_be_visible()
    fine(phone)
    computer.reload()
    assert "/sign-in" not in computer.url
    context.close()
    computer.close()
    assert said == []
