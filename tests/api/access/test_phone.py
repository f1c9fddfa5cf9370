"""Opening the page on a phone: a picture to scan, a link that is good once, and no address asked for outside."""

from __future__ import annotations

import re
import socket
from collections import namedtuple
from collections.abc import Callable
from typing import Any

import psutil
import pytest
import segno
from flask import Flask
from flask.testing import FlaskClient

from api.access.listening import Listening
from api.access.phone import addresses
from api.app import create_app

Csrf = Callable[[FlaskClient], str]
Card = namedtuple("Card", "family address")
Stats = namedtuple("Stats", "isup")


@pytest.fixture
def cards(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine in a home network, with a tunnel, a card that is down and a public address."""
    found = {
        "lo": ["127.0.0.1"], "tun0": ["10.8.0.2"], "eth0": ["192.168.1.20"], "down": ["192.168.9.9"],
        "wan": ["8.8.8.8"], "auto": ["169.254.7.7"],
    }  # fmt: skip
    monkeypatch.setattr(
        psutil, "net_if_addrs", lambda: {n: [Card(socket.AF_INET, a) for a in found[n]] for n in found}
    )
    monkeypatch.setattr(psutil, "net_if_stats", lambda: {name: Stats(name != "down") for name in found})


def test_the_addresses_are_those_of_the_home_network(cards: None) -> None:
    everywhere = Listening("0.0.0.0", 8017)
    assert addresses(everywhere, "127.0.0.1:8017") == ["192.168.1.20:8017", "10.8.0.2:8017"]
    assert addresses(everywhere, "localhost:8017") == addresses(everywhere, "[::1]:8017")
    assert addresses(everywhere, "192.168.1.20:8017") == ["192.168.1.20:8017"]
    assert addresses(Listening("192.168.1.20", 8017), "127.0.0.1:8017") == ["192.168.1.20:8017"]
    assert addresses(Listening(proxied=True), "bakery.example") == ["bakery.example"]
    assert addresses(Listening(proxied=True), "localhost:8017") == []


def test_a_scan_and_a_tap_open_it_on_one_phone(
    browser: FlaskClient, network: Flask, csrf: Csrf, cards: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A preview of the link looks at it first and does not use it up."""
    drawn: list[str] = []
    made = segno.make_qr

    def draw(link: str, **more: Any) -> Any:
        drawn.append(link)
        return made(link, **more)

    monkeypatch.setattr(segno, "make_qr", draw)
    page = browser.post("/phone", data={"csrf": csrf(browser), "address": "10.8.0.2:8017"}).get_data(as_text=True)
    (link,) = drawn
    assert link.startswith("http://10.8.0.2:8017/enter?key=")
    assert 'class="qr"' in page
    assert not re.search(r"\sstyle=|<style", page), "a strict policy would not draw it"
    assert link in page
    address = link.removeprefix("http://10.8.0.2:8017")
    phone, preview, late = (network.test_client() for _ in range(3))
    for looking in (preview, preview, phone):
        asked = looking.get(address)
        assert asked.status_code == 200
        assert "demo" not in asked.get_data(as_text=True)
        assert asked.headers["Referrer-Policy"] == "strict-origin"
        assert "Set-Cookie" not in asked.headers
    key = re.findall(r'name="key" value="([\w-]+)"', phone.get(address).get_data(as_text=True))[0]
    entered = phone.post("/enter", data={"key": key})
    assert (entered.status_code, entered.headers["Location"]) == (303, "/")
    assert "HttpOnly" in entered.headers["Set-Cookie"]
    assert phone.get("/shelf").status_code == 200
    assert late.post("/enter", data={"key": key}).status_code == 410
    assert late.get(address).status_code == 410
    assert late.get("/shelf").status_code == 303


def test_a_link_is_only_made_by_a_tap_of_someone_signed_in(browser: FlaskClient, network: Flask) -> None:
    assert "enter?key" not in browser.get("/phone").get_data(as_text=True)
    assert browser.post("/phone").status_code == 403
    assert network.test_client().post("/phone").status_code == 401


def test_an_address_that_is_not_its_own_gets_no_link(browser: FlaskClient, csrf: Csrf, cards: None) -> None:
    page = browser.post("/phone", data={"csrf": csrf(browser), "address": "evil.example"}).get_data(as_text=True)
    assert "evil.example" not in page
    assert "http://192.168.1.20:8017/enter?key=" in page


def test_guessing_keys_is_counted(network: Flask) -> None:
    client = network.test_client()
    for _ in range(5):
        assert client.post("/enter", data={"key": "guess"}).status_code == 410
    assert client.post("/enter", data={"key": "guess"}).status_code == 429


def test_on_this_machine_alone_it_tells_how(client: FlaskClient) -> None:
    page = client.get("/phone").get_data(as_text=True)
    assert "themekit passphrase" in page
    assert "serve --host 0.0.0.0" in page
    assert "enter?key" not in client.post("/phone").get_data(as_text=True)


def test_without_a_network_it_says_so(
    browser: FlaskClient, csrf: Csrf, store: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(psutil, "net_if_addrs", lambda: {})
    assert "in no network" in browser.get("/phone").get_data(as_text=True)
    assert create_app(store).test_client().get("/phone").status_code == 200
