"""The page as other eyes see it, against colour-science's data."""

from __future__ import annotations

import re
import warnings

import numpy as np
from flask.testing import FlaskClient

from api.pages.eyes import VISIONS, of_answer

_THEME = "/?theme=pirates"


def _fills(markup: str) -> list[str]:
    return re.findall(r'fill="(#[0-9a-f]{6})"', markup)


def test_every_painted_colour_is_shown_as_colour_science_says_it_is_seen(client: FlaskClient) -> None:
    from colour import cctf_decoding, cctf_encoding
    from colour.algebra import vecmul
    from colour.blindness import CVD_MATRICES_MACHADO2010
    from colour.notation import HEX_to_RGB

    usual = _fills(client.get(_THEME).get_data(as_text=True))
    client.post("/eyes", data={"eyes": "deutan-5", "back": "/"})
    other = _fills(client.get(_THEME).get_data(as_text=True))
    assert len(usual) == len(other) > 50
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        linear = cctf_decoding(HEX_to_RGB(usual), function="sRGB")
        seen = vecmul(CVD_MATRICES_MACHADO2010["Deuteranomaly"][0.5], linear)
        expected = cctf_encoding(np.clip(seen, 0, 1), function="sRGB")
        assert np.abs(HEX_to_RGB(other) - expected).max() <= 0.5 / 255 + 1e-6


def test_the_choice_is_remembered_stated_and_left_again(client: FlaskClient) -> None:
    made = client.post("/eyes", data={"eyes": "protan-10", "back": _THEME})
    assert made.headers["Location"] == _THEME
    text = client.get("/shelf").get_data(as_text=True)
    assert "red-blind (protan, severity 1.0) eyes" in text
    assert client.get("/shelf/jars/1/cup.svg").headers["Vary"] == "Cookie"
    client.post("/eyes", data={"eyes": "", "back": "/"})
    assert "shown about as" not in client.get("/shelf").get_data(as_text=True)


def test_a_cup_is_painted_so_too_and_an_unknown_choice_changes_nothing(client: FlaskClient) -> None:
    usual = client.get("/shelf/jars/4/cup.svg").data
    client.post("/eyes", data={"eyes": "tritan-10", "back": "/"})
    assert client.get("/shelf/jars/4/cup.svg").data != usual
    client.post("/eyes", data={"eyes": "x<y", "back": "//elsewhere"})
    assert client.get("/shelf/jars/4/cup.svg").data == usual


def test_a_pair_that_other_eyes_confuse_is_told_with_how_far_it_seems_apart() -> None:
    tints = [
        {"name": name, "hex": hex_}
        for name, hex_ in (("moss", "#7d7a2e"), ("brick", "#a8662e"), ("navy", "#1d2a55"))
    ]
    from flask import Flask

    with Flask("x").test_request_context():
        now, others = of_answer(tints, [])
    assert now == []
    told = " ".join(others)
    assert "moss and brick can hardly be told apart by colour (ΔE00" in told
    assert "navy" not in told
    with Flask("x").test_request_context(headers={"Cookie": "eyes=deutan-10"}):
        now, others = of_answer(tints, [])
    assert len(now) == 1
    assert not any("deutan" in line for line in others)
    assert set(VISIONS) >= {"deutan-10"}
