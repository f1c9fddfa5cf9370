"""A jar's colours in a form: swatches, taps and photos, kept exactly where nothing was changed."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from flask.testing import FlaskClient
from PIL import Image
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import encode_multipart

from api.pages.colours import cell_of, palette, rows_of, signature, unchanged
from catalog.cells import Numbers, read_cell
from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.errors import InvalidValue

_BLUE, _GOLD = (29, 90, 180), (225, 170, 30)


def _form(*rows: tuple[str, str], used: str = "") -> MultiDict[str, str]:
    pairs = [("c", hex_) for hex_, _ in rows] + [("s", share) for _, share in rows]
    return MultiDict(pairs + [("use", i) for i in (used or "0123456789"[: len(rows)])])


@pytest.mark.parametrize(
    ("rows", "used", "cell"),
    [
        ((("#ff0000", ""),), "", "#ff0000"),
        ((("#ff0000", ""), ("#00ff00", "")), "", "#ff0000 0.5|#00ff00 0.5"),
        ((("#ff0000", "60"), ("#00ff00", "")), "", "#ff0000 0.6|#00ff00 0.4"),
        ((("#ff0000", "30 %"), ("#00ff00", "30"), ("#0000ff", "9")), "01", "#ff0000 0.5|#00ff00 0.5"),
        ((("#ff0000", "12,5"), ("#00ff00", "37.5")), "", "#ff0000 0.25|#00ff00 0.75"),
    ],
)
def test_shares_in_percent_add_up(rows: tuple[tuple[str, str], ...], used: str, cell: str) -> None:
    assert cell_of(_form(*rows, used=used)) == cell


@pytest.mark.parametrize("wrong", ["much", "-3", "0", "101", "nan", "inf"])
def test_a_share_that_is_none_is_refused(wrong: str) -> None:
    with pytest.raises(InvalidValue) as refused:
        cell_of(_form(("#ff0000", wrong), ("#00ff00", "20")))
    assert refused.value.problems[0].got == wrong


def test_taps_are_even_and_thirds_add_up_to_one() -> None:
    hexes = [hex_ for hex_, _ in palette()[:3]]
    cell = cell_of(MultiDict([("tap", hex_) for hex_ in hexes]))
    colours = read_cell("jars", "colours", cell, Numbers(three_after_comma=True, three_after_point=True))
    assert [c["hex"] for c in colours] == hexes
    assert sum(c["share"] for c in colours) == pytest.approx(1, abs=1e-9)


def test_swatches_that_stand_as_shown_leave_the_cell_exact_and_a_correction_does_not() -> None:
    rows = rows_of("61.25 -30.5 12.75 0.333333|#ffffff 0.666667", spare=0)
    shown = [(row.hex, row.share) for row in rows]
    form = _form(*shown)
    form["were"] = signature(rows)
    assert unchanged(form)
    form.setlist("o", [row.exact for row in rows])
    assert cell_of(form).startswith("61.25 -30.5 12.75 "), "the Lab behind a swatch is kept"
    changed = _form(("#123456", rows[0].share), shown[1])
    changed["were"] = signature(rows)
    assert not unchanged(changed)


def _photo() -> io.BytesIO:
    """Two colours, seven to three, strewn on white from a seed."""
    rng = np.random.default_rng(5)
    pixels = np.full((600, 600, 3), 250, np.uint8)
    rows, columns = np.mgrid[0:600, 0:600]
    for i in range(420):
        y, x = rng.integers(60, 540, 2)
        pixels[(rows - y) ** 2 + (columns - x) ** 2 < 196] = _BLUE if i % 10 < 7 else _GOLD
    made = io.BytesIO()
    Image.fromarray(pixels).save(made, "PNG")
    made.seek(0)
    return made


@pytest.mark.parametrize("address", ["/shelf/jars/many", "/shelf/jars/new", "/shelf/jars/1"])
def test_a_photo_is_read_into_swatches_and_nothing_is_kept(client: FlaskClient, address: str) -> None:
    before = client.get("/api/v1/jars?page_size=200").get_json()
    form = {"name": "strewn", "kind": "quins", "read": "1", "photo": (_photo(), "x.png")}
    text = client.post(address, data=form).get_data(as_text=True)
    hexes = re.findall(r'name="c" value="(#[0-9a-f]{6})"', text)
    assert min(float(delta_e_2000(hex_to_lab(h), hex_to_lab("#1d5ab4"))) for h in hexes) < 8
    assert min(float(delta_e_2000(hex_to_lab(h), hex_to_lab("#e1aa1e"))) for h in hexes) < 8
    assert 'value="strewn"' in text
    assert "Nothing of the picture is kept." in text
    assert client.get("/api/v1/jars?page_size=200").get_json() == before


def test_a_photo_may_be_larger_than_other_forms_and_no_larger_than_its_limit(client: FlaskClient) -> None:
    noise = np.random.default_rng(1).integers(0, 255, (900, 900, 3), np.uint8)
    large = io.BytesIO()
    Image.fromarray(noise).save(large, "PNG")
    assert large.tell() > 1_500_000
    large.seek(0)
    boundary, body = encode_multipart({"name": "n", "kind": "quins", "photo": FileStorage(large, "n.png")})
    assert len(body) > 1_500_000
    kind = f"multipart/form-data; boundary={boundary}"
    made = client.post("/shelf/jars/many", data=body, content_type=kind)
    assert made.status_code in (200, 422), "read, or found to show no sprinkles"
    kind = "multipart/form-data; boundary=x"
    huge = client.post("/shelf/jars/many", data=b"x" * 16_000_000, content_type=kind)
    assert huge.status_code == 413


@pytest.mark.parametrize(("data", "told"), [(b"no picture", "no photo that can be read"), (b"", "no photo")])
def test_what_is_no_photo_is_told_and_what_was_typed_stays(client: FlaskClient, data: bytes, told: str) -> None:
    form = {
        "name": "typed before",
        "kind": "quins",
        "read": "1",
        "photo": (io.BytesIO(data), "x.png" if data else ""),
    }
    made = client.post("/shelf/jars/new", data=form)
    text = made.get_data(as_text=True)
    assert made.status_code == 422
    assert told in text
    assert 'value="typed before"' in text


def test_a_jar_without_a_colour_or_a_name_is_not_kept_and_taps_stay(client: FlaskClient) -> None:
    made = client.post("/shelf/jars/many", data={"name": "pale", "kind": "quins", "next": "1"})
    assert made.status_code == 422
    assert "Tap a colour" in made.get_data(as_text=True)
    hex_ = palette()[3][0]
    made = client.post("/shelf/jars/many", data={"name": "", "kind": "quins", "tap": hex_, "next": "1"})
    text = made.get_data(as_text=True)
    assert made.status_code == 422
    assert re.search(f'name="tap" value="{hex_}"[^>]* checked', text)


MANY = {"name": "a new jar", "kind": "jimmies", "tap": ["#c8253b"]}


@pytest.mark.parametrize(
    ("amount", "on_hand", "full"),
    [
        ({}, None, None),
        ({"level": "", "grams": "85"}, 85, None),
        ({"level": "weighed", "grams": "85,5"}, 85.5, None),
        ({"level": "half", "grams": "200"}, 100, 200),
        ({"level": "full", "grams": "200"}, 200, 200),
        ({"level": "three quarters", "grams": "200"}, 150, 200),
    ],
)
def test_how_much_is_in_a_jar_comes_with_it(
    client: FlaskClient, amount: dict[str, str], on_hand: float | None, full: float | None
) -> None:
    assert client.post("/shelf/jars/many", data={**MANY, **amount}).status_code == 303
    jar = next(j for j in client.get("/api/v1/jars?page_size=200").get_json()["items"] if j["name"] == "a new jar")
    assert (jar["on_hand_g"], jar["full_g"]) == (on_hand, full)


@pytest.mark.parametrize(
    ("amount", "told"),
    [
        ({"level": "half", "grams": ""}, "how much is in a full one, in grams"),
        ({"level": "half", "grams": "much"}, "much"),
        ({"level": "brimming", "grams": "3"}, "brimming"),
    ],
)
def test_an_amount_that_is_none_is_told_and_no_jar_is_kept(
    client: FlaskClient, amount: dict[str, str], told: str
) -> None:
    answer = client.post("/shelf/jars/many", data={**MANY, **amount}, follow_redirects=True)
    page = answer.get_data(as_text=True)
    assert told in page
    assert 'value="a new jar"' in page
    assert f'value="{amount["grams"]}"' in page
    assert "thingname" not in client.get("/shelf?q=a+new+jar").get_data(as_text=True)
