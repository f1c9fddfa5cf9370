"""Every form that changes something carries the token of the browser's session, and is refused without it."""

from __future__ import annotations

from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from api.access.forms import Guarded

Csrf = Callable[[FlaskClient], str]
KIT = "theme=owl+party&kits=6&t=1d8a8a&t=d9a93b&t=7b4a2b&j=1&j=2&j=4&c=1:4&c=2:4"
PLACES = (
    "/", "/?theme=owl+party", "/shelf", "/shelf?what=gels", "/shelf/jars/new", "/shelf/jars/1", "/shelf/cutters/1",
    "/shelf/gels/1", "/shelf/boxes/1", "/shelf/supplies/1", "/shelf/themes/1", "/shelf/place", "/shelf/bring",
    "/shelf/jars/many", "/shelf/jars/lacking",
    "/idle", f"/kit?{KIT}", "/reply?text=owl+party,+six+kits", "/batches", "/batches/1", "/orders", "/orders/1",
    "/week", "/season", "/phone", "/taste",
)  # fmt: skip


class Forms(HTMLParser):
    """The forms of a page: each with its method and the values of its hidden csrf fields."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, list[str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "form":
            self.found.append(((given.get("method") or "get").lower(), []))
        if tag == "input" and given.get("name") == "csrf":
            self.found[-1][1].append(given.get("value") or "")


def forms(html: str) -> list[tuple[str, list[str]]]:
    parser = Forms()
    parser.feed(html)
    return parser.found


@pytest.fixture
def filled(browser: FlaskClient, csrf: Csrf) -> FlaskClient:
    """The browser's shelf with an order and a batch."""
    send = {"X-CSRF-Token": csrf(browser)}
    assert browser.post("/api/v1/orders", json={"customer": "the school"}, headers=send).status_code == 201
    body = {"theme": "owl party", "kits": 2, "tints": ["#1d8a8a", "#d9a93b", "#7b4a2b"], "jars": [1, 2, 4],
            "cutters": [{"id": 1, "cookies": 8}], "order": 1}  # fmt: skip
    assert browser.post("/api/v1/batches", json=body, headers=send).status_code == 201
    assert browser.post("/api/v1/batches/1/pack", headers=send).status_code == 200
    return browser


def test_every_form_on_every_place_carries_it(filled: FlaskClient, csrf: Csrf) -> None:
    token, counted = csrf(filled), 0
    for place in PLACES:
        answer = filled.get(place)
        assert answer.status_code == 200, place
        html = answer.get_data(as_text=True)
        assert f'<meta name="csrf" content="{token}">' in html
        for method, tokens in forms(html):
            assert tokens == ([token] if method == "post" else []), place
            counted += method == "post"
    assert counted > 40


def test_every_template_is_compiled_with_it(network: Flask, page_templates: list[Path]) -> None:
    """Counted in the source, so that a form written in a way that is overlooked is found here."""
    guarded = Guarded(network.jinja_env)
    posts = 0
    for path in page_templates:
        source = path.read_text("utf-8")
        made = guarded.preprocess(source, path.name)
        opened = source.lower().count("<form")
        reads = source.count('<form method="get"') + source.count('<form class="row" method="get"')
        assert made.count("{{ csrf() }}") == opened - reads, f'{path.name}: write <form method="post" …> or "get"'
        assert "csrf()" not in source, f"{path.name}: it is written in when compiled"
        posts += opened - reads
    assert posts >= 20


@pytest.mark.parametrize(
    "form",
    [
        '<form method="post">', "<form method=post>", '<FORM METHOD="POST" action="/x">', 
        "<form\n method='post'\n>",
        '<form action="{{ "/a" if a > b else "/c" }}" method="post">',
        '<form {% if a > 1 %}id="x"{% endif %} method="post">',
    ],
)  # fmt: skip
def test_forms_are_found_however_they_are_written(network: Flask, form: str) -> None:
    guarded = Guarded(network.jinja_env)
    assert guarded.preprocess(f"<p>{form}<input></form>", None) == f"<p>{form}{{{{ csrf() }}}}<input></form>"
    read = '<form method="get" data-method="postpone"><input name="method" value="post"></form>'
    assert guarded.preprocess(read, None) == read


@pytest.mark.parametrize("token", [None, "", "0" * 64, "ünïcode", "another"])
def test_without_it_nothing_changes(browser: FlaskClient, network: Flask, words, csrf: Csrf, token) -> None:
    """Neither by a form nor by a script, and not with the token of another session."""
    if token == "another":
        other = network.test_client()
        other.post("/sign-in", data={"passphrase": words["alfa"]})
        token = csrf(other)
        assert token != csrf(browser)
    form = {} if token is None else {"csrf": token}
    page = browser.post("/shelf/jars/1/count", data={"kind": "used", "amount": "5", **form})
    assert page.status_code == 403
    assert "nothing was changed" in page.get_data(as_text=True)
    headers = {} if token is None else {"X-CSRF-Token": token.encode("utf-8").decode("latin-1")}
    sent = browser.patch("/api/v1/jars/1", json={"lot": "x"}, headers=headers)
    assert sent.status_code == 403
    assert sent.get_json()["error"]["code"] == "from_elsewhere"
    assert browser.get("/api/v1/jars/1").get_json()["version"] == 1
    good = csrf(browser)
    assert (
        browser.post("/shelf/jars/1/count", data={"kind": "used", "amount": "5", "csrf": good}).status_code == 303
    )
    sent = browser.patch("/api/v1/jars/1", json={"lot": "x"}, headers={"X-CSRF-Token": good})
    assert sent.status_code == 200


def test_on_this_machine_alone_pages_have_none(client: FlaskClient) -> None:
    assert "csrf" not in client.get("/").get_data(as_text=True)
