"""Phrases are read as themes: colours, names, things to see and meaning, and it is told from what."""

from __future__ import annotations

import pytest

from catalog.lexicon import lexicon
from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.suggest.lookup import lookup_for
from themekit.suggest.theme import Reading, read_theme, without_colours
from themekit.suggest.words import tokens
from themekit.values import Anchor, Theme


def read(text: str, own: tuple[Theme, ...] = ()) -> Reading:
    return read_theme(text, tokens(text), lookup_for(lexicon(), own))


def names(reading: Reading, taken_as: str) -> list[str]:
    return [u.name for u in reading.understood if u.taken_as == taken_as]


def nearest(reading: Reading, colour: str) -> float:
    return min(float(delta_e_2000(a.lab, hex_to_lab(colour))) for a in reading.anchors)


@pytest.mark.parametrize(
    ("text", "taken_as", "name"),
    [
        ("owls", "theme", "owl"),
        ("a fox party", "theme", "fox"),
        ("woodland creatures party", "theme", "woodland animals"),
        ("teapots and saucers", "thing", "teapot"),
        ("in teal and gold", "colour", "teal"),
        ("#1d2a55 and cream", "colour", "#1d2a55"),
        ("something with a snowman", "thing", "snowman"),
    ],
)
def test_what_is_named_is_understood(text: str, taken_as: str, name: str) -> None:
    reading = read(text)
    assert name in names(reading, taken_as)
    assert reading.sureness == 1.0
    assert not reading.unknown


def test_weights_of_anchors_add_up_to_one_and_fall() -> None:
    for text in ("owl party in teal and gold", "rainbow fish", "autumn leaves", "#ff0000"):
        weights = [a.weight for a in read(text).anchors]
        assert sum(weights) == pytest.approx(1)
        assert weights == sorted(weights, reverse=True)
        assert len(weights) <= 8


def test_colours_said_outright_lead() -> None:
    reading = read("owls in teal and gold")
    assert {a.source for a in reading.anchors[:2]} == {"gold", "teal"}
    assert sum(a.weight for a in reading.anchors if a.source in ("teal", "gold")) == pytest.approx(0.7)


def test_a_typo_of_one_letter_is_mended_and_said() -> None:
    mended = read("butterfli")
    assert next(u.name for u in mended.understood) in ("butterflies", "butterfly")
    assert "one letter mended" in mended.understood[0].how
    assert mended.sureness == pytest.approx(0.85)


def test_a_word_that_exists_is_not_mended() -> None:
    assert not any("mended" in u.how for u in read("custard").understood)


@pytest.mark.parametrize(
    ("text", "not_theme"),
    [
        ("forest green and gold", "forest"),
        ("robin egg blue", "robin"),
        ("a teddy bear", "bear"),
        ("candy corn", "candy shop"),
    ],
)
def test_a_name_inside_a_longer_one_does_not_count(text: str, not_theme: str) -> None:
    assert not_theme not in names(read(text), "theme")


def test_shade_words_change_a_colour() -> None:
    plain, pale, dark = (read(text).anchors[0].lab for text in ("teal", "pastel teal", "deep teal"))
    assert pale[0] > plain[0] > dark[0]


def test_meaning_reaches_what_no_table_names() -> None:
    """Words that no table has lead, less surely, to what people know them for (own knowledge, no source)."""
    for text, near in (("glacial", "#cfe6f0"), ("geological", "#8a8378")):
        reading = read(text)
        assert reading.anchors, text
        assert reading.understood[0].how == "by meaning", text
        assert nearest(reading, near) < 25, text
        assert reading.sureness < 1


@pytest.mark.parametrize("text", ["qzx vrrk", "xxxx", "", "???", "🎂🎂", "的的的", "12345"])
def test_nonsense_is_not_understood(text: str) -> None:
    reading = read(text)
    assert reading.anchors == ()
    assert reading.sureness == 0


def test_what_is_left_is_listed() -> None:
    reading = read("owl qzxv")
    assert reading.unknown == ("qzxv",)
    assert reading.sureness == 0.5


def test_own_themes_go_before_built_in_ones() -> None:
    lab = tuple(hex_to_lab("#123456").tolist())
    own = Theme("owl", anchors=(Anchor(lab, 1.0, "owl"),), motifs=("owl",), own=True)
    assert nearest(read("owl", (own,)), "#123456") < 0.01
    assert nearest(read("owl"), "#123456") > 5


def test_avoided_colours_leave_the_anchors() -> None:
    reading = read("red and green and gold")
    lab = tuple(hex_to_lab("#e50000").tolist())
    left = without_colours(reading, [lab], 15)
    assert nearest(reading, "#e50000") < 15 <= nearest(left, "#e50000")
    assert sum(a.weight for a in left.anchors) == pytest.approx(1)


def test_the_same_phrase_is_read_alike() -> None:
    text = "Pirate ship birthday in teal & gold, for twelve"
    assert read(text) == read(text)


@pytest.mark.parametrize(
    ("text", "name"), [("shipwright", "ship"), ("drumkeeper", "drum"), ("harpist", "harp"), ("owlman", "owl")]
)
def test_of_an_unknown_doer_the_thing_in_the_word_is_read_and_said(text: str, name: str) -> None:
    """English forms such words from the thing and an ending; own knowledge, no source."""
    understood = read(text).understood[0]
    assert (understood.name, understood.sureness) == (name, 0.7)
    assert understood.how.endswith("a part of the word")


@pytest.mark.parametrize("text", ["growers", "ringers"])
def test_a_word_made_from_a_known_one_is_no_typo_of_another(text: str) -> None:
    assert not any("mended" in u.how for u in read(text).understood)


def test_a_month_is_when_and_not_what_unless_it_is_all_that_is_said() -> None:
    assert [u.name for u in read("christmas in july").understood] == ["christmas"]
    assert "july" not in read("owls in july").unknown


def test_an_evening_is_only_a_picture_alone() -> None:
    assert "dusk" not in [u.name for u in read("an owl evening").understood]
    assert "dusk" in [u.name for u in read("evening").understood]
