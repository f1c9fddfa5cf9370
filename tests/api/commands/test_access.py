"""Passphrases and tokens by the command line, and serving in the network."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
from http.client import HTTPConnection
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest

from catalog.access import Access

WORDS = "teal owls at breakfast"


def test_a_passphrase_is_asked_for_twice_or_taken_from_the_environment(themekit, store, monkeypatch) -> None:
    access, shelf = Access(store), store.shelf_named().id
    answers = iter([WORDS, WORDS])
    monkeypatch.setattr("click.termui.hidden_prompt_func", lambda _: next(answers))
    done = themekit("passphrase")
    assert done.code == 0
    first = access.passphrase_hash(shelf)
    assert first is not None
    assert first.startswith("scrypt:32768:8:1$")
    assert WORDS not in first + done.out + done.err
    session = access.begin_session(shelf, first)
    monkeypatch.setenv("THEMEKIT_PASSPHRASE", "another of four words")
    assert json.loads(themekit("passphrase", "--json").out) == {"shelf": "demo", "passphrase": True}
    assert access.passphrase_hash(shelf) != first
    assert access.shelf_of_session(session) is None
    monkeypatch.setenv("THEMEKIT_PASSPHRASE", "short")
    done = themekit("passphrase")
    assert done.code == 2
    assert "12 to 200 characters" in done.err
    assert themekit("passphrase", "--remove").code == 0
    assert access.passphrase_hash(shelf) is None


def test_a_token_is_shown_once_listed_and_revoked(themekit, store) -> None:
    token = themekit("token", "new", "till").out.split()[-1]
    assert Access(store).shelf_of_token(token) == store.shelf_named().id
    listed = themekit("token", "list")
    assert "till: made 20" in listed.out
    assert token not in listed.out
    assert themekit("token", "new", "till").code == 2
    assert themekit("token", "revoke", "nobody").code == 2
    assert themekit("token", "revoke", "till").code == 0
    assert Access(store).shelf_of_token(token) is None
    assert "revoked 20" in themekit("token", "list").out
    made = json.loads(themekit("token", "new", "till", "--json").out)
    assert (made["shelf"], made["name"]) == ("demo", "till")
    assert "token" not in json.loads(themekit("token", "list", "--json").out)["items"][1]


@pytest.fixture
def served(store):
    """A service for the network, really listening, and its base address."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith("THEMEKIT_")}
    environment |= {"THEMEKIT_DATABASE": store.url.render_as_string(), "THEMEKIT_PASSPHRASE": WORDS}
    # Even the log that holds what people send must hold no secret.
    command = [sys.executable, "-m", "api.commands.main", "serve", "--host", "0.0.0.0", "--port", "0", "--json"]
    command += ["--log", "personal"]
    program = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        yield program, json.loads(program.stdout.readline())["url"]
    finally:
        program.send_signal(signal.SIGTERM)
        program.wait(20)
        program.stdout.close()
        program.stderr.close()


def test_in_the_network_everyone_signs_in_and_no_secret_is_logged(served, store) -> None:
    program, url = served
    assert urlopen(f"{url}/api/v1/health/alive").status == 200
    with pytest.raises(HTTPError, match="401"):
        urlopen(f"{url}/api/v1/jars")
    token = Access(store).new_token(store.shelf_named().id, "till")
    headers = {"Authorization": f"Bearer {token}"}
    assert json.load(urlopen(Request(f"{url}/api/v1/jars", headers=headers)))["total"] == 75
    place = url.removeprefix("http://")
    browser = HTTPConnection(place)
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    browser.request("POST", "/sign-in", "passphrase=" + WORDS.replace(" ", "+"), form)
    answer = browser.getresponse()
    answer.read()
    assert answer.status == 303
    cookie = answer.headers["Set-Cookie"].split(";")[0]
    browser.request("GET", "/phone", headers={"Cookie": cookie})
    page = browser.getresponse().read().decode()
    csrf = re.findall(r'name="csrf" value="(\w+)"', page)[0]
    browser.request("POST", "/phone", f"csrf={csrf}", form | {"Cookie": cookie})
    shown = browser.getresponse()
    key = re.findall(r"/enter\?key=([\w-]+)", shown.read().decode())
    browser.request("GET", f"/enter?key={key[0] if key else 'none'}")
    browser.getresponse().read()
    browser.close()
    program.send_signal(signal.SIGTERM)
    logged = program.stderr.read().decode()
    assert '"/sign-in"' in logged
    for secret in (token, cookie.partition("=")[2], csrf, WORDS, *key):
        assert secret not in logged


def test_on_this_machine_alone_a_proxy_in_front_is_noticed(store) -> None:
    """Under the real server, which has to let the proxy's headers through to the gate."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith("THEMEKIT_")}
    environment["THEMEKIT_DATABASE"] = store.url.render_as_string()
    command = [sys.executable, "-m", "api.commands.main", "serve", "--port", "0", "--json", "--log", "errors"]
    program = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE)
    try:
        url = json.loads(program.stdout.readline())["url"]
        assert urlopen(f"{url}/api/v1/shelf").status == 200
        port = url.rpartition(":")[2]
        for headers in (
            {"X-Forwarded-For": "192.0.2.7"},
            {"Host": f"rebound.example:{port}"},
            {"Host": "127.0.0.1:1"},
        ):
            with pytest.raises(HTTPError, match="421"):
                urlopen(Request(f"{url}/api/v1/shelf", headers=headers))
    finally:
        program.send_signal(signal.SIGTERM)
        program.wait(20)
        program.stdout.close()
