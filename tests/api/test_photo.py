"""Photos over HTTP: formats, how they were held, what is refused, and that nothing personal is read."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient
from PIL import Image

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab

RED, BLUE = "#b3202c", "#2f5fb3"


def picture(mode: str = "RGB") -> Image.Image:
    """Flat red and blue squares on white paper, three to one."""
    image = Image.new("RGB", (480, 360), "#f2f2f2")
    for number in range(12):
        x, y = 30 + (number % 4) * 110, 30 + (number // 4) * 110
        image.paste(RED if number % 4 < 3 else BLUE, (x, y, x + 70, y + 70))
    return image.quantize(16) if mode == "P" else image.convert(mode)


def packed(image: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def sent(client: FlaskClient, data: bytes, **more: str) -> Any:
    form = {"photo": (io.BytesIO(data), "jar.jpg"), **more}
    return client.post("/api/v1/jars/photo", data=form, content_type="multipart/form-data")


@pytest.mark.parametrize(
    ("kind", "mode"),
    [("JPEG", "RGB"), ("JPEG", "CMYK"), ("PNG", "RGB"), ("PNG", "P"), ("PNG", "RGBA"), ("WEBP", "RGB")],
)
def test_usual_formats_give_the_colours(client: FlaskClient, kind: str, mode: str) -> None:
    answer = sent(client, packed(picture(mode), kind, **({"quality": 95} if kind == "JPEG" else {})))
    assert answer.status_code == 200, answer.get_json()
    colours = answer.get_json()["colours"]
    labs = np.array([c["lab"] for c in colours])
    for wanted in (RED, BLUE):
        assert delta_e_2000(hex_to_lab(wanted), labs).min() < 6
    assert sum(c["share"] for c in colours) == pytest.approx(1, abs=0.001)
    red = sum(c["share"] for c, lab in zip(colours, labs, strict=True) if lab[1] > 20)
    assert red == pytest.approx(0.75, abs=0.08)


def test_a_phone_photo_in_heic_is_read(client: FlaskClient) -> None:
    import pillow_heif

    pillow_heif.register_heif_opener()
    assert sent(client, packed(picture(), "HEIF", quality=90)).status_code == 200


def test_a_photo_held_sideways_is_turned_and_where_it_was_taken_is_not_read(client: FlaskClient) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    answer = sent(client, packed(picture(), exif=exif), white="0,0,20,20")
    assert answer.status_code == 200
    # Upright it is 360 wide; a rectangle beyond that is refused.
    assert sent(client, packed(picture(), exif=exif), white="380,0,40,40").status_code == 422
    assert "gps" not in answer.get_data(as_text=True).lower()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not a picture",
        b"\xff\xd8\xff\xe0 half a photo",
        packed(picture(), "GIF"),
        packed(picture(), "PNG")[:300],
    ],
)
def test_what_is_no_photo_is_refused_in_the_one_shape(client: FlaskClient, data: bytes) -> None:
    answer = sent(client, data)
    assert answer.status_code == 422
    assert answer.get_json()["error"]["problems"][0]["field"] == "photo"


def test_a_picture_of_far_too_many_pixels_is_refused_unopened(client: FlaskClient) -> None:
    bomb = packed(Image.new("1", (30_000, 30_000)), "PNG")
    assert len(bomb) < 1_000_000
    answer = sent(client, bomb)
    assert answer.status_code == 422
    assert "pixels" in answer.get_json()["error"]["problems"][0]["allowed"]


def test_no_photo_and_a_bad_rectangle_are_told(client: FlaskClient) -> None:
    answer = client.post("/api/v1/jars/photo", data={}, content_type="multipart/form-data")
    assert answer.status_code == 422
    assert sent(client, packed(picture()), white="here").get_json()["error"]["problems"][0]["field"] == "white"
    kind = "multipart/form-data; boundary=x"
    too_large = client.post("/api/v1/jars/photo", data=b"x" * 16_000_000, content_type=kind)
    assert too_large.status_code == 413


def test_a_body_that_is_no_form_is_refused_as_such(client: FlaskClient) -> None:
    for kind, data in (("image/jpeg", packed(picture())), ("application/json", b"{}"), (None, b"")):
        answer = client.post("/api/v1/jars/photo", data=data, content_type=kind)
        assert answer.status_code == 415
        error = answer.get_json()["error"]
        assert error["code"] == "not_multipart"
        assert "multipart/form-data" in error["problems"][0]["allowed"]
    documented = client.get("/api/v1/openapi.json").get_json()["paths"]["/api/v1/jars/photo"]["post"]["responses"]
    assert "415" in documented
