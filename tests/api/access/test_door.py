"""Signing in and out: the passphrase, the cookie, how often one may try, and what stays closed."""

from __future__ import annotations

import time
from collections.abc import Callable
from http.cookies import SimpleCookie

import pytest
from flask import Flask
from flask.testing import FlaskClient

from api.access import passphrase
from api.access.gate import OPEN
from api.access.listening import Listening
from api.app import create_app
from catalog.access import Access
from catalog.store import Store
from themekit.errors import InvalidValue

Csrf = Callable[[FlaskClient], str]


def cookie(answer) -> dict[str, str]:
    """The session's cookie of an answer, with its attributes."""
    (one,) = SimpleCookie(answer.headers["Set-Cookie"]).values()
    return {**{k: v for k, v in one.items() if v}, "name": one.key, "value": one.value}


def test_nothing_but_the_door_is_open(network: Flask) -> None:
    """Every other route asks nobody in: programs are told so, browsers are led to sign in."""
    client, tried = network.test_client(), 0
    for rule in network.url_map.iter_rules():
        if rule.endpoint in OPEN:
            continue
        address = str(rule)
        for old, new in (("<row:id>", "1"), ("<int:id>", "1"), ("<what>", "jars")):
            address = address.replace(old, new)
        if "<any(" in address:
            before, _, rest = address.partition("<any(")
            words, _, after = rest.partition(">")
            address = before + words.split(")")[0].split(",")[0].strip("'\" ") + after
        for method in (rule.methods or set()) - {"OPTIONS"}:
            answer = client.open(address, method=method)
            page = not address.startswith("/api/") and method in ("GET", "HEAD")
            assert answer.status_code == (303 if page else 401), f"{method} {address}"
            assert "nonpareils" not in answer.get_data(as_text=True)
            if page:
                assert answer.headers["Location"].startswith("/sign-in?next=")
            else:
                assert answer.headers["WWW-Authenticate"] == 'Bearer realm="themekit"'
            tried += 1
    assert tried > 150
    for address in ("/nowhere", "/api/v1/nowhere"):
        assert client.get(address).status_code in (303, 401)
    for address in ("/sign-in", "/static/page.css", "/api/v1/health/alive"):
        with client.get(address) as answer:
            assert answer.status_code == 200
            assert "demo" not in answer.get_data(as_text=True)


def test_the_right_passphrase_opens_the_shelf_on_that_browser(network: Flask, words: dict[str, str]) -> None:
    client, other = network.test_client(), network.test_client()
    wrong = client.post("/sign-in", data={"passphrase": "not this one, surely"})
    assert wrong.status_code == 403
    assert "Set-Cookie" not in wrong.headers
    answer = client.post("/sign-in", data={"passphrase": words["alfa"], "next": "/shelf?what=gels"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/shelf?what=gels")
    given = cookie(answer)
    assert (given["httponly"], given["samesite"], given["path"]) == (True, "Lax", "/")
    assert "secure" not in given, "over plain HTTP it could not be sent"
    assert len(given["value"]) >= 43
    assert client.get("/shelf").status_code == 200
    assert other.get("/shelf").status_code == 303
    again = network.test_client().post("/sign-in", data={"passphrase": words["alfa"]})
    assert cookie(again)["value"] != given["value"]
    assert client.get("/sign-in").headers["Location"] == "/"


def test_sign_in_leads_nowhere_else(network: Flask, words: dict[str, str]) -> None:
    for wanted in ("//elsewhere.example", "https://elsewhere.example", "/\\elsewhere", "x"):
        answer = network.test_client().post("/sign-in", data={"passphrase": words["alfa"], "next": wanted})
        assert answer.headers["Location"] == "/"


def test_letters_typed_another_way_are_the_same_passphrase(store: Store) -> None:
    """NFKC, as NIST SP 800-63B advises for memorised secrets."""
    hash = passphrase.hashed("caf\u00e9 au lait, \uff14 cups")
    assert passphrase.matches(hash, "cafe\u0301 au lait, 4 cups")
    assert not passphrase.matches(hash, "cafe au lait, 4 cups")


@pytest.mark.parametrize("text", ["", "short", "a" * 30, "abab" * 8, "x" * 11, "ab c" * 60])
def test_a_passphrase_has_to_be_one(text: str) -> None:
    with pytest.raises(InvalidValue) as raised:
        passphrase.hashed(text)
    assert text not in str(raised.value) or not text


def test_a_wrong_passphrase_takes_as_long_where_there_is_none() -> None:
    """So that the time tells nobody whether a shelf has one."""
    hash = passphrase.hashed("teal owls at breakfast")

    def least(kept: str | None) -> float:
        took = []
        for _ in range(3):
            began = time.process_time()
            assert not passphrase.matches(kept, "not this one, surely")
            took.append(time.process_time() - began)
        return min(took)

    assert 0.5 < least(None) / least(hash) < 2


def test_tries_are_counted_and_wrong_ones_shut_the_door_for_a_while(network: Flask, words: dict[str, str]) -> None:
    """Also against the right passphrase; another address is not kept out by it."""
    client, good = network.test_client(), {"passphrase": words["alfa"]}
    for _ in range(5):
        assert client.post("/sign-in", data={"passphrase": "wrong"}).status_code == 403
    answer = client.post("/sign-in", data=good)
    assert answer.status_code == 429
    assert 1 <= int(answer.headers["Retry-After"]) <= 61
    assert "tried too often" in answer.get_data(as_text=True)
    elsewhere = {"REMOTE_ADDR": "192.168.0.9"}
    assert network.test_client().post("/sign-in", data=good, environ_base=elsewhere).status_code == 303
    for n in range(5):
        near = {"REMOTE_ADDR": f"2001:db8:0:1::{n}"}
        assert client.post("/sign-in", data={"passphrase": "wrong"}, environ_base=near).status_code == 403
    assert (
        client.post("/sign-in", data=good, environ_base={"REMOTE_ADDR": "2001:db8:0:1::ffff"}).status_code == 429
    )


def test_right_tries_are_forgiven(network: Flask, words: dict[str, str]) -> None:
    for _ in range(8):
        assert network.test_client().post("/sign-in", data={"passphrase": words["alfa"]}).status_code == 303


def test_signing_out_ends_the_session_itself(browser: FlaskClient, csrf: Csrf) -> None:
    kept = browser.get_cookie("themekit_session")
    assert kept is not None
    answer = browser.post("/sign-out", data={"csrf": csrf(browser)})
    assert answer.headers["Location"] == "/sign-in"
    assert browser.get_cookie("themekit_session") is None
    browser.set_cookie("themekit_session", kept.value)
    assert browser.get("/shelf").status_code == 303


def test_another_passphrase_signs_everyone_out(browser: FlaskClient, store: Store) -> None:
    assert browser.get("/week").status_code == 200
    Access(store).set_passphrase(store.shelf_named().id, passphrase.hashed("another of four words"))
    assert browser.get("/week").status_code == 303
    answer = browser.post("/units", data={"units": "us"})
    assert answer.status_code == 401
    assert "Nothing was changed" in answer.get_data(as_text=True)


def test_plain_http_is_told_and_https_gets_a_secure_cookie(store: Store, words: dict[str, str]) -> None:
    """The proxy's word is taken only where the service was told that there is one."""
    Access(store).set_passphrase(store.shelf_named().id, passphrase.hashed(words["alfa"]))
    form, secure = {"passphrase": words["alfa"]}, {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.7"}
    at_home = create_app(store, listening=Listening("0.0.0.0")).test_client()
    lan = {"Host": "192.168.0.2:8017"}
    assert "not encrypted" in at_home.get("/sign-in", headers=lan | secure).get_data(as_text=True)
    assert "not encrypted" not in at_home.get("/sign-in").get_data(as_text=True)
    assert "secure" not in cookie(at_home.post("/sign-in", data=form, headers=lan | secure))
    behind = create_app(store, listening=Listening(proxied=True)).test_client()
    named = secure | {"X-Forwarded-Host": "bakery.example"}
    assert "not encrypted" not in behind.get("/sign-in", headers=named).get_data(as_text=True)
    answer = behind.post("/sign-in", data=form, headers=named | {"Origin": "https://bakery.example"})
    assert cookie(answer)["secure"] is True
    assert answer.headers["Strict-Transport-Security"] == "max-age=31536000"
    fresh = create_app(store, listening=Listening(proxied=True)).test_client()
    for _ in range(5):
        fresh.post("/sign-in", data={"passphrase": "wrong"}, headers=named)
    assert fresh.post("/sign-in", data=form, headers=named).status_code == 429
    other = named | {"X-Forwarded-For": "192.0.2.8"}
    assert fresh.post("/sign-in", data=form, headers=other).status_code == 303


def test_a_database_that_fails_opens_nothing(browser: FlaskClient, store: Store, monkeypatch) -> None:
    from catalog.errors import StoreUnusable

    def broken(*_: object) -> None:
        raise StoreUnusable("The database does not answer.")

    monkeypatch.setattr(Access, "shelf_of_session", broken)
    page = browser.get("/shelf")
    assert page.status_code == 503
    assert "nonpareils" not in page.get_data(as_text=True)
    assert browser.get("/api/v1/jars").status_code == 503
    assert browser.get("/api/v1/health/alive").status_code == 200
