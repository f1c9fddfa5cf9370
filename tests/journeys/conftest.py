"""A real browser, Debian's Chromium, over a real server with a demo shelf of its own."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

WIDE, PHONE = (1200, 900), (360, 740)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A server of its own over a fresh demo shelf."""
    url = f"sqlite:///{tmp_path_factory.mktemp('page') / 'page.db'}"
    kept = {k: v for k, v in os.environ.items() if not k.startswith("THEMEKIT_")}
    command = [sys.executable, "-m", "api.commands.main", "serve", "--shelf", "demo", "--port", "0", "--json"]
    server = subprocess.Popen(command, env=kept | {"THEMEKIT_DATABASE": url}, stdout=subprocess.PIPE)
    assert server.stdout is not None
    yield json.loads(server.stdout.readline())["url"]
    server.send_signal(signal.SIGTERM)
    server.wait(20)
    server.stdout.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium."""
    found = shutil.which("chromium")
    if found is None:
        pytest.fail("Chromium is not installed. Install Debian's package chromium.")
    flags = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=found, args=flags)
        yield opened
        opened.close()


@pytest.fixture(params=[WIDE, PHONE], ids=["wide", "phone"])
def page(request: pytest.FixtureRequest, browser: Browser, address: str) -> Iterator[Page]:
    """A page that must call nobody else and say nothing on the console."""
    width, height = request.param
    context = browser.new_context(viewport={"width": width, "height": height}, base_url=address)
    opened = context.new_page()
    said: list[str] = []
    left: list[str] = []
    # What is refused or overtaken is answered with 422 or 409, which browsers log as a failed load.
    meant = ("status of 422", "status of 409")
    opened.on(
        "console",
        lambda m: said.append(m.text) if m.type == "error" and not any(x in m.text for x in meant) else None,
    )
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on(
        "request", lambda r: left.append(r.url) if not r.url.startswith((address, "data:", "blob:")) else None
    )
    yield opened
    context.close()
    assert said == []
    assert left == []
