"""A real browser, Debian's Chromium, over a real server with a demo shelf of its own."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, expect, sync_playwright

WIDE, PHONE = (1200, 900), (360, 740)
# A busy machine may take long over a page; what never comes still fails.
expect.set_options(timeout=20_000)


@pytest.fixture(scope="module")
def serve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., str]]:
    """Start a server of its own over a fresh demo shelf, with further options and variables; gives its address."""
    servers: list[subprocess.Popen[bytes]] = []

    def serve_(*options: str, **variables: str) -> str:
        url = f"sqlite:///{tmp_path_factory.mktemp('page') / 'page.db'}"
        kept = {k: v for k, v in os.environ.items() if not k.startswith("THEMEKIT_")}
        command = [sys.executable, "-m", "api.commands.main", "serve", "--shelf", "demo", "--port", "0", "--json"]
        environment = kept | {"THEMEKIT_DATABASE": url} | variables
        server = subprocess.Popen([*command, *options], env=environment, stdout=subprocess.PIPE)
        servers.append(server)
        assert server.stdout is not None
        return str(json.loads(server.stdout.readline())["url"])

    yield serve_
    for server in servers:
        server.send_signal(signal.SIGTERM)
        server.wait(60)
        assert server.stdout is not None
        server.stdout.close()


@pytest.fixture(scope="module")
def address(serve: Callable[..., str]) -> str:
    """The address of a server over a fresh demo shelf, for its own machine alone."""
    return serve()


@pytest.fixture(scope="module")
def flags() -> list[str]:
    """What Chromium is started with beside the usual; a file of journeys may say otherwise."""
    return []


@pytest.fixture(scope="module")
def browser(flags: list[str]) -> Iterator[Browser]:
    """Debian's Chromium."""
    found = shutil.which("chromium")
    if found is None:
        pytest.fail("Chromium is not installed. Install Debian's package chromium.")
    usual = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=found, args=[*usual, *flags])
        yield opened
        opened.close()


@pytest.fixture
def open_page(browser: Browser, address: str) -> Iterator[Callable[..., Page]]:
    """Open a page of a width and height that must call nobody else and say nothing on the console.

    `may_fail` is for a page whose connection is cut on purpose; more goes to the browser's context.
    """
    contexts: list[BrowserContext] = []
    said: list[str] = []
    left: list[str] = []
    # What is refused or overtaken is answered with 422 or 409, which browsers log as a failed load.
    meant = ("status of 422", "status of 409")

    def heard(message: ConsoleMessage) -> None:
        if message.type == "error" and not any(words in message.text for words in meant):
            said.append(message.text)

    def open_(size: tuple[int, int], may_fail: bool = False, **more: Any) -> Page:
        width, height = size
        context = browser.new_context(viewport={"width": width, "height": height}, base_url=address, **more)
        contexts.append(context)
        page = context.new_page()
        if not may_fail:
            page.on("console", heard)
        page.on("pageerror", lambda error: said.append(str(error)))
        own = (address, "data:", "blob:")
        page.on("request", lambda r: None if r.url.startswith(own) else left.append(r.url))
        return page

    yield open_
    for context in contexts:
        context.close()
    assert said == []
    assert left == []


@pytest.fixture(params=[WIDE, PHONE], ids=["wide", "phone"])
def page(request: pytest.FixtureRequest, open_page: Callable[..., Page]) -> Page:
    """A page, wide and on a phone, that must call nobody else and say nothing on the console."""
    return open_page(request.param)
