"""Text that tries to be markup, that is too long, or that no font has."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import Any

import pytest
from flask.testing import FlaskClient
from PIL import Image
from pypdf import PdfReader

from api.prints.glyphs import has_glyph
from api.prints.job import Job
from api.prints.printing import DOCUMENTS, pdf
from themekit.errors import InvalidValue

Sketch = Callable[..., dict[str, Any]]
Reads = Callable[[bytes], Any]

MARKUP = (
    "#panic(1)", "#let x = 2", "$a^2$", "@label", "*bold* _thin_", "`raw`", "= Heading", "] [ } {", "<label>",
    "\\u{41} //", "- item + item", "~ -- --- ...", "#image(\"/etc/passwd\")", "https://example.org", "'q' \"q\"",
)  # fmt: skip


@pytest.mark.parametrize("words", MARKUP)
def test_markup_is_printed_as_it_stands(job: Callable[..., Job], read: Reads, words: str) -> None:
    """Names of kit, shelf and jars, and the directions, come out sign by sign in every print."""
    made = job()
    toppings = tuple(replace(t, jar=replace(t.jar, name=words)) for t in made.work.order.kit.toppings)
    made = job(name=words, shelf=words, toppings=toppings, directions=f"{words}\n{words}")
    wanted = "".join(words.split())
    for document, times in (("card", 4 * 5), ("label", 3), ("sheet", 2), ("shopping", 2)):
        data, not_printed = pdf(document, made)
        found = read(data)
        assert found.packed.count(wanted) >= times, document
        assert not_printed == ""
        assert len(found.pages) <= 2


def test_names_that_come_by_address_are_printed_as_they_stand(
    client: FlaskClient, sketch: Sketch, read: Reads
) -> None:
    """The whole way, from POST to the PDF."""
    row = sketch(name="#strong[x] $y$ *z*", settings={"label": {"directions": "#[1] {kit}\n@2"}})
    for document in DOCUMENTS:
        response = client.get(f"/api/v1/batches/{row['id']}/{document}.pdf")
        assert response.status_code == 200
        assert "#strong[x]$y$*z*" in read(response.data).packed


def test_signs_without_a_glyph_are_shown_as_such_and_told(
    client: FlaskClient, sketch: Sketch, read: Reads
) -> None:
    """An owl's emoji is a replacement character on paper, and its code point is in the answer's head."""
    row = sketch(name="Owls 🦉 日")
    response = client.get(f"/api/v1/batches/{row['id']}/card.pdf")
    assert response.headers["Not-Printed"] == "U+1F989 U+65E5"
    assert "Owls\ufffd\ufffd" in read(response.data).packed
    assert "Not-Printed" not in client.get(f"/api/v1/batches/{sketch()['id']}/card.pdf").headers


def test_right_to_left_and_other_alphabets_are_printed(job: Callable[..., Job], read: Reads) -> None:
    """Hebrew, Arabic, Greek, Cyrillic and accents have glyphs; every letter is in the file."""
    words = "שלום مرحبا Ελλάδα Привет Łódź ½ × − ≥"
    data, not_printed = pdf("card", job(name=words))
    assert not_printed == ""
    # A PDF holds presentation forms of Arabic; Hebrew and the others are kept as they are.
    found = read(data).packed
    assert all(sign in found for sign in "שלום Ελλάδα Привет Łódź ½ × − ≥" if sign != " ")


@pytest.mark.parametrize(("sign", "printed"), [("A", True), ("é", True), ("ש", True), ("م", True), ("≥", True),
                                                ("🦉", False), ("日", False), ("\ue000", False)])  # fmt: skip
def test_what_the_fonts_have(sign: str, printed: bool) -> None:
    """Letters of the scripts named in the licence file's fonts, not those of others."""
    assert has_glyph(sign) is printed


def test_signs_that_are_not_seen_are_left_out(job: Callable[..., Job], read: Reads) -> None:
    """Overrides of direction cannot turn a label's words round; joiners leave nothing."""
    data, not_printed = pdf("card", job(name="safe\u202eevas\u200d\u2066 owl\ufe0f"))
    assert not_printed == ""
    assert "safeevas owl" in read(data).text


@pytest.mark.parametrize("kit", [{"toppings": ()}, {"toppings": (), "cuts": ()}, {"cuts": ()}])
def test_a_kit_without_toppings_or_cookies_has_a_card(
    job: Callable[..., Job], read: Reads, kit: dict[str, Any]
) -> None:
    """What is not there is left out; the directions stay."""
    text = read(pdf("card", job(**kit))[0]).text
    assert text.count("Knead each icing bag") == 4
    assert ("In your cups" in text) is ("toppings" not in kit)


def test_long_names_shrink_or_wrap(job: Callable[..., Job], read: Reads) -> None:
    """120 letters without a blank stay on every page, to the last."""
    long = "W" * 119 + "Z"
    made = job(name=long, shelf=long)
    for document in DOCUMENTS:
        found = read(pdf(document, made)[0])
        assert long in found.packed
        assert len(found.pages) <= 2


def test_long_directions_get_smaller_type_or_are_refused(job: Callable[..., Job], read: Reads) -> None:
    """1,500 characters in one piece go on the card; 700 lines are refused, and what to do is told."""
    text = ("stir well " * 150).strip()
    assert read(pdf("card", job(directions=text))[0]).text.count("stir well") == 4 * 150
    with pytest.raises(InvalidValue, match="does not fit") as caught:
        pdf("card", job(directions="a\n" * 700))
    problem = caught.value.problems[0]
    assert problem.field == "settings.label.directions"
    assert problem.got == "1400 characters"
    assert "Shorten" in problem.hint


def test_ten_thousand_characters_are_refused_on_entry(
    client: FlaskClient, sketch: Sketch, refused: Callable[..., Any]
) -> None:
    """Longer directions than any card holds are not kept in the first place."""
    row = sketch()
    changed = client.patch(
        f"/api/v1/batches/{row['id']}",
        json={"settings": {"label": {"directions": "x" * 10_000}}},
        headers={"If-Match": str(row["version"])},
    )
    problems = refused(changed, 422, "invalid_value", "settings.label.directions")
    assert "at most 1500 characters" in problems[0]["allowed"]


def png(side: int = 40, noise: bool = False) -> str:
    """A PNG as a data URI; one of noise is about as large as its pixels, three bytes each."""
    kept = io.BytesIO()
    picture = Image.new("RGB", (side, side), "#d7263d")
    if noise:
        picture = Image.frombytes("RGB", (side, side), Random(1).randbytes(3 * side * side))
    picture.save(kept, "PNG")
    return "data:image/png;base64," + base64.b64encode(kept.getvalue()).decode()


def test_the_shelf_s_own_picture_is_on_the_card(job: Callable[..., Job]) -> None:
    """One picture more in the file, of 40 × 40 pixels."""

    def pictures(made: Job) -> list[tuple[int, int]]:
        page = PdfReader(io.BytesIO(pdf("card", made)[0])).pages[0]
        return [one.image.size for one in page.images if one.image is not None]

    assert (40, 40) in pictures(job(picture=png()))
    assert pictures(job()) == []


@pytest.mark.parametrize(
    "picture",
    ["x", "data:image/png;base64,", "data:image/png;base64,%%%", "https://example.org/x.png",
     "data:image/svg+xml;base64,PHN2Zy8+", png()[: len(png()) // 8 * 4], png(4001),
     png(300, noise=True),
     png() + '"/><script/>'],
)  # fmt: skip
def test_what_is_no_png_is_refused(job: Callable[..., Job], picture: str) -> None:
    """Other forms, cut files, huge ones, and text that would leave the attribute it is put into."""
    with pytest.raises(InvalidValue, match="picture cannot be printed") as caught:
        pdf("card", job(picture=picture))
    assert caught.value.problems[0].field == "settings.label.picture"
    assert len(str(caught.value.problems[0].got)) < 100
