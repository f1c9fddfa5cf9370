"""What is seen with a thing, guesses and occasions: what fits is used, and told as what it is.

Which thing is seen with which, and which words are opposites in sense, is own judgement
and knowledge of English, no outside source, where none is named.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from catalog.lexicon import lexicon
from catalog.lexicon.build_opposites import build
from catalog.lexicon.build_vectors import names_hash
from catalog.lexicon.build_words import HERE, lexicon_phrases
from themekit.colour.space import hex_to_lab
from themekit.suggest.by_meaning import nearest_targets
from themekit.suggest.cutters import CutterSearch
from themekit.suggest.ideas import Suggester
from themekit.suggest.lookup import lookup_for
from themekit.suggest.reasons import cutter_reasons
from themekit.suggest.theme import Reading, read_theme
from themekit.suggest.words import key_of, tokens
from themekit.values import Cutter, Motif, Shelf

Ask = Callable[..., Suggester]
PALETTE = hex_to_lab(["#ffffff", "#888888", "#222222"])
LOOKUP = lookup_for(lexicon())
WORDNET = Path("/usr/share/wordnet")


def read(text: str) -> Reading:
    return read_theme(text, tokens(text), LOOKUP)


def kinds(reading: Reading) -> dict[str, str]:
    return {m.word: m.kind for m in reading.motifs}


def cut(several: str) -> list[Cutter]:
    return [Cutter(i, name, (name,), (), 80, 80) for i, name in enumerate(several.split("|"))]


@pytest.mark.parametrize(
    ("text", "names", "first"),
    [
        ("vampire birthday", "circle|balloon|bat|gift", "bat"),
        ("driving lessons", "circle|car|star", "car"),
        ("a beekeeper turning 60", "circle|balloon|bee", "bee"),
        ("chess", "circle|heart|castle", "castle"),
        ("saint george", "circle|castle|heart", "castle"),
        ("birthday of a railwayman", "circle|balloon|train", "train"),
        ("a violinist's thirtieth birthday", "circle|balloon|guitar", "guitar"),
    ],
)
def test_what_fits_goes_before_plain_shapes_and_what_every_birthday_has(text: str, names: str, first: str) -> None:
    chosen = CutterSearch(cut(names), read(text).motifs, LOOKUP).choose(8, PALETTE)
    assert chosen[0].cutter.name == first
    assert "circle" not in {c.cutter.name for c in chosen[:1]}


def test_a_neighbour_is_told_as_near_and_an_occasion_as_one() -> None:
    reading = read("vampire birthday")
    assert (kinds(reading)["vampire"], kinds(reading)["bat"], kinds(reading)["balloon"]) == (
        "theme", "near", "occasion",
    ) or kinds(reading)["bat"] == "theme"  # fmt: skip
    chosen = CutterSearch(cut("balloon|owl"), [Motif("balloon", 0.8, "occasion", "birthday")], LOOKUP)
    assert cutter_reasons(chosen.choose(8, PALETTE)[:1]) == ["For the birthday: balloon."]
    near = CutterSearch(cut("bat"), [Motif("bat", 0.4, "near", "vampire")], LOOKUP).choose(1, PALETTE)
    assert cutter_reasons(near) == ["Near the theme, for want of the thing itself: bat for vampire."]
    guess = CutterSearch(cut("cat"), [Motif("cat", 0.4, "guess", "feline")], LOOKUP).choose(1, PALETTE)
    assert cutter_reasons(guess) == ["A guess at what “feline” means: cat."]


def test_a_birthday_alone_is_the_theme() -> None:
    assert {m.kind for m in read("birthday").motifs if m.word in ("cake", "balloon", "gift")} == {"theme"}
    assert {m.kind for m in read("birthday in blue").motifs if m.word == "balloon"} == {"theme"}


def test_the_better_kind_goes_first_whatever_its_weight() -> None:
    motifs = [Motif("owl", 0.4), Motif("cat", 0.9, "guess", "x"), Motif("bat", 1.0, "near", "y")]
    chosen = CutterSearch(cut("bat|cat|owl"), motifs, LOOKUP).choose(8, PALETTE)
    assert [c.cutter.name for c in chosen] == ["owl", "cat"]
    assert [c.how for c in chosen] == ["theme", "guess"]


def test_a_plain_shape_late_in_a_theme_goes_behind_what_is_near() -> None:
    motifs = [Motif("panda"), Motif("heart", 0.5), Motif("bear", 0.5, "near", "panda")]
    chosen = CutterSearch(cut("heart|bear"), motifs, LOOKUP).choose(8, PALETTE)
    assert [c.cutter.name for c in chosen] == ["bear", "heart"]
    first = CutterSearch(cut("heart|bear"), [Motif("heart", 0.9), *motifs[2:]], LOOKUP).choose(8, PALETTE)
    assert first[0].cutter.name == "heart"


def test_the_table_of_neighbours_names_things_once_and_things_to_see() -> None:
    with (HERE / "seen_with.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    names = [name for row in rows for name in row["things"].split("|")]
    assert set(names) <= {thing.name for thing in lexicon().things}
    assert len(names) == len(set(names)) > 500
    for row in rows:
        words = row["seen_with"].split("|")
        assert len(words) == len(set(words)) >= 1
        assert all(key_of(word) in LOOKUP.things for word in words), row


@pytest.mark.parametrize("text", ["something with lights, blue and silver", "string lights blue and silver"])
def test_a_colour_is_not_read_across_a_comma_nor_from_a_plural(text: str) -> None:
    names = [u.name for u in read(text).understood if u.taken_as == "colour"]
    assert "blue" in names
    assert "light blue" not in names
    assert "light blue" in [u.name for u in read("light blue and silver").understood]


def test_names_stop_at_punctuation_and_hyphens_join() -> None:
    assert "rose pink" not in [u.name for u in read("roses, pink peonies").understood]
    assert "candy corn" not in [u.name for u in read("candy; corn").understood]
    assert read("St. Patrick's day").understood[0].name == "saint patrick's day"
    assert read("eid al-adha").understood[0].name == "eid al-adha"


@pytest.mark.parametrize(
    ("word", "against"), [("dismal", "cheerful"), ("gloomy", "cheerful"), ("tame", "wild"), ("wild", "calm")]
)
def test_opposites_are_kept_apart(word: str, against: str) -> None:
    """Antonyms of WordNet 3.0, over its clusters of adjectives."""
    told = lexicon().opposites
    assert against in told.get(word, ()) or word in told.get(against, ())


@pytest.mark.parametrize(
    ("word", "opposite"),
    [
        ("cowardly", "brave"), ("daylight", "night"), ("loud", "quiet"), ("luckless", "lucky"), ("noisy", "quiet"),
        ("sunup", "sunset"), ("tacky", "elegant"), ("unlucky", "lucky"),
    ],
)  # fmt: skip
def test_meaning_does_not_lead_to_the_opposite(word: str, opposite: str) -> None:
    """Without WordNet's antonyms the vectors lead to what each word is not."""
    free = lookup_for(replace(lexicon(), opposites={}))
    assert opposite in {t.meant.name for t, _ in nearest_targets(free, tokens(word))}
    assert opposite not in {t.meant.name for t, _ in nearest_targets(LOOKUP, tokens(word))}


def test_the_opposites_are_made_from_the_names_there_are_now() -> None:
    told = json.loads((HERE / "opposites.json").read_text("utf-8"))
    rebuild = "names of themes or things changed: python -m catalog.lexicon.build_opposites"
    assert told["made_from"] == names_hash(lexicon_phrases()), rebuild


@pytest.mark.skipif(not WORDNET.exists(), reason="WordNet's database files are not on this machine")
def test_the_opposites_are_what_the_build_makes() -> None:
    assert json.loads((HERE / "opposites.json").read_text("utf-8")) == build(WORDNET)


@pytest.mark.parametrize(
    ("text", "not_theme"), [("lorry convoy trip", "skiing"), ("life", "cupcake"), ("lifelong", "lifeboat")]
)
def test_a_shared_word_is_not_the_whole_likeness(text: str, not_theme: str) -> None:
    assert not_theme not in {u.name for u in read(text).understood}


def test_a_weak_guess_brings_little_colour_beside_what_is_named() -> None:
    """However many of them: the named theme keeps at least four fifths."""
    guesses = 0
    for word in ("tournaments", "conductors", "holidays", "lunch", "open", "glacial", "blower"):
        reading = read(f"owls and {word}")
        guesses += any(u.how == "by meaning" for u in reading.understood)
        owls = sum(a.weight for a in reading.anchors if a.source == "owl")
        assert owls >= 0.8, word
    assert guesses >= 3


def test_jars_of_another_shape_are_not_taken_for_colour_alone(suggester: Ask, demo: Shelf) -> None:
    shaped = {j.id: set(j.motifs) for j in demo.jars if j.motifs}
    for text in ("holi", "nowruz", "gardening club", "orange and black"):
        asking = suggester(text)
        fitting = asking._motifs()
        for idea in asking.ideas(5).ideas:
            for jar in idea.trio.trio.jars:
                plain = {"circle", "dot", "heart", "star", "flower", "square", "bead"}
                assert not shaped.get(jar.id) or shaped[jar.id] & (plain | set(fitting)), (text, jar.name)


def test_a_jar_that_is_to_be_used_stays_whatever_its_shape(suggester: Ask, demo: Shelf) -> None:
    from themekit.values import Needs

    dinosaurs = next(j.id for j in demo.jars if "dinosaur" in j.motifs)
    asking = suggester("holi", needs=Needs(use_jars=(dinosaurs,)))
    assert all(dinosaurs in {j.id for j in idea.trio.trio.jars} for idea in asking.ideas(2).ideas)
