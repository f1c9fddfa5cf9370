"""Which words get a vector, on a WordNet of a dozen synsets written for the purpose."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.lexicon.build_wordnet import Dictionary, read_wordnet
from catalog.lexicon.build_words import chosen_words, draw_phrases, lexicon_phrases, own_words

#: Lexicographer file, part of speech, words, whether a single thing, gloss.
SYNSETS = [
    (5, "noun", "robin", False, "a small bird of woods"),
    (17, "noun", "wood", False, "the trees of a bird or a robin"),
    (18, "noun", "batman", False, "an orderly of an officer"),
    (18, "noun", "Ford Jane_Ford", True, "a maker of carts"),
    (17, "noun", "ford", False, "a shallow crossing"),
    (6, "noun", "Zoomo", False, "a trademarked cart"),
    (18, "noun", "Viking", False, "one of a people of the north"),
    (18, "noun", "Odin", True, "a god of the Viking and of Oslo"),
    (15, "noun", "Oslo", True, "a town of the north"),
    (15, "noun", "Lund", True, "a town further south"),
    (28, "noun", "Yule", True, "a feast in winter"),
    (13, "noun", "brioche", False, "bread with butter"),
    (0, "adj", "sparkly", False, "throwing light"),
    (31, "verb", "chirp", False, "to sing as a robin"),
    (10, "noun", "twitter", False, "what birds do"),
]
#: Words that the model is said to read in one piece.
WHOLE = [
    "robin",
    "robins",
    "wood",
    "batman",
    "ford",
    "viking",
    "oslo",
    "lund",
    "chirp",
    "chirping",
    "##ing",
    "twitter",
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder in the form of WordNet's database files (wndb(5WN))."""
    for pos in ("noun", "verb", "adj", "adv"):
        lines = ["  1 a line of the licence"]
        for lexname, of, words, single, gloss in SYNSETS:
            if of == pos:
                listed = words.split()
                pointer = "001 @i 00000001 n 0000" if single else "000"
                entries = " ".join(f"{word} 0" for word in listed)
                lines.append(f"00000002 {lexname:02} {pos[0]} {len(listed):02x} {entries} {pointer} | {gloss}  ")
        (tmp_path / f"data.{pos}").write_text("\n".join(lines) + "\n", "latin-1")
        (tmp_path / f"{pos}.exc").write_text("chirpt chirp\n" if pos == "verb" else "", "latin-1")
    (tmp_path / "cntlist.rev").write_text("chirp%2:31:00:: 1 7\nwood%1:17:00:: 1 2\n", "latin-1")
    return tmp_path


@pytest.fixture
def known(folder: Path) -> Dictionary:
    return Dictionary(folder, set(WHOLE).__contains__)


def test_synsets_are_read_with_how_often_they_were_met(folder: Path) -> None:
    found = {synset.words: synset for synset in read_wordnet(folder)}
    assert len(found) == len(SYNSETS)
    assert found["chirp",].met == (7,)
    assert found["Ford", "Jane_Ford"].single
    assert found["Zoomo",].of_a_maker
    assert found["robin",].gloss == "a small bird of woods"


def test_use_is_counted_in_tagged_text_and_the_glosses_of_others(known: Dictionary) -> None:
    assert known.used("robin") == 2
    assert known.used("wood") == 2 + 1
    assert known.used("chirp") == 7
    assert known.used("batman") == 0


@pytest.mark.parametrize(
    "word", ["robin", "robins", "wood", "chirping", "chirpt", "viking", "oslo", "yule", "brioche"]
)
def test_plain_words_and_names_of_places_peoples_and_times_may_carry_meaning(known: Dictionary, word: str) -> None:
    assert word in known.meaningful


@pytest.mark.parametrize(
    ("word", "why"),
    [
        ("ford", "more often a person's name than used"),
        ("fords", "an inflection of that"),
        ("jane", "only a person's name"),
        ("odin", "one person"),
        ("zoomo", "a maker's mark"),
        ("batman", "known to the model, not used by the dictionary"),
        ("twitter", "known to the model, not used by the dictionary"),
        ("lund", "a place that is not spoken of"),
    ],
)
def test_names_of_persons_and_makers_may_not(known: Dictionary, word: str, why: str) -> None:
    assert word not in known.meaningful, why


def test_chosen_words_are_own_whole_and_familiar_ones_without_regular_plurals(known: Dictionary) -> None:
    own = own_words(known, ["gonk", "jane ford cart", "odin"])
    assert own == {"gonk", "cart", "odin"}
    assert chosen_words(known, own, WHOLE) == [
        "brioche", "cart", "chirp", "chirping", "gonk", "odin", "oslo", "robin", "viking", "wood", "yule",
    ]  # fmt: skip


def test_drawn_phrases_hold_known_words_once_and_alike_each_time(known: Dictionary) -> None:
    words = {
        "robin",
        "wood",
        "bird",
        "small",
        "trees",
        "north",
        "bread",
        "butter",
        "winter",
        "feast",
        "chirping",
        "sparkly",
    }
    drawn = [draw_phrases(known, ["robin wood", "qzx"], words.__contains__, 300) for _ in range(2)]
    assert drawn[0] == drawn[1]
    assert len(drawn[0]) == len(set(drawn[0])) == 300
    assert drawn[0][0] == "robin wood"
    assert not any("qzx" in phrase or "batman" in phrase for phrase in drawn[0])


def test_the_lexicons_phrases_are_its_names_aliases_and_motifs(tmp_path: Path) -> None:
    (tmp_path / "themes").mkdir()
    (tmp_path / "themes" / "a.csv").write_text("name,aliases,motifs\nOwl,night bird| owlet,moon|owl\n", "utf-8")
    (tmp_path / "things.csv").write_text("name,aliases\nmoon,\n", "utf-8")
    assert lexicon_phrases(tmp_path) == ["moon", "night bird", "owl", "owlet"]
