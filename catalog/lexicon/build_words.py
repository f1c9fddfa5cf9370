"""Choose the words that get a vector, and draw the phrases to learn the vectors from.

Source: the themes and things beside this file, and WordNet through build_wordnet.py.
"""

from __future__ import annotations

import csv
import random
import re
from collections import defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path

from catalog.lexicon.build_wordnet import FOOD, JOINING, PERSON, TIME, Dictionary

HERE = Path(__file__).parent
SEED = 20261125
# Lexicographer files (lexnames(5WN)) of nouns that one can see, eat, do or celebrate, and
# of adjectives: adjective, act, animal, artifact, attribute, body, event, food, group,
# location, object, person, phenomenon, plant, shape, substance, time.
_CONCRETE = {0, 1, 4, 5, 6, 7, 8, 11, FOOD, 14, 15, 17, PERSON, 19, 20, 25, 27, TIME}
# Of these familiar words are taken sooner: adjectives, animals, things made, plants.
_SOON = {0, 5, 6, 20}


def lexicon_phrases(folder: Path = HERE) -> list[str]:
    """Names, aliases and motifs of the themes and things in `folder`, in lower case, sorted."""
    found: set[str] = set()
    for file in (*sorted((folder / "themes").glob("*.csv")), folder / "things.csv"):
        with file.open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                for column in ("name", "aliases", "motifs"):
                    found.update(p.strip().lower() for p in (row.get(column) or "").split("|"))
    return sorted(found - {""})


def words_in(phrase: str) -> list[str]:
    """The plain words of a phrase."""
    return re.findall(r"[a-z]+", phrase.lower())


def own_words(known: Dictionary, own: Sequence[str]) -> set[str]:
    """The words of the lexicon's phrases, less the persons' names in longer ones ("st patrick's day")."""
    alone = {phrase for phrase in own if phrase.isalpha()}
    return {
        word
        for phrase in own
        for word in words_in(phrase)
        if len(word) > 2 and word not in JOINING and (word in alone or not known.is_persons(word))
    }


def chosen_words(known: Dictionary, own: set[str], vocabulary: Sequence[str]) -> list[str]:
    """The words that get a vector of their own, sorted.

    The lexicon's own; every meaningful word that the model reads in one piece, but for
    regular plurals; and of the others the familiar ones, by how often they are used: every
    food, holiday and time; animals, plants, things made and adjectives used once,
    other concrete words used six times; adjectives like "sparkly", made from another word.
    """
    whole = {word for word in vocabulary if word in known.meaningful and word.isascii()}
    files: dict[str, set[int]] = defaultdict(set)
    for synset in known.synsets:
        for word in synset.words:
            # Of capitalised names only holidays and times are taken: the other files hold
            # thousands of scientific and place names.
            if word.islower() or synset.lexname == TIME:
                files[word.lower()].add(synset.lexname)
    further: set[str] = set()
    for word in (known.plain | known.names) - set(vocabulary):
        kinds = files[word]
        made = kinds == {0} and word.endswith("y") and (word[:-1] in known.plain or word[:-2] in known.plain)
        least = 0 if kinds & {FOOD, TIME} or made else 1 if kinds & _SOON else 6
        if len(word) > 2 and kinds & _CONCRETE and known.used(word) >= least:
            further.add(word)
    plurals = {
        w
        for w in whole
        if w not in known.pos and w.endswith("s") and {w[:-1], w[:-2], w[:-3] + "y"} & (whole | further)
    }
    return sorted(own | further | whole - plurals)


def draw_phrases(known: Dictionary, own: Sequence[str], has: Callable[[str], bool], count: int) -> list[str]:
    """About `count` phrases to learn from, all of known words but for the joining ones, each once.

    The lexicon's own phrases; WordNet's compound nouns; pieces of its glosses, which are
    plain English; and random phrases that favour concrete nouns and the lexicon's words.
    """
    draw = random.Random(SEED)

    def fits(phrase: str) -> bool:
        words = words_in(phrase)
        content = [w for w in words if w not in JOINING]
        return 0 < len(content) <= 5 and len(words) <= 8 and all(map(has, content))

    concrete = [s for s in known.synsets if s.lexname in _CONCRETE]
    compounds = {w.replace("_", " ") for s in concrete for w in s.words if "_" in w and w.islower()}
    glosses: set[str] = set()
    for synset in concrete:
        for part in re.split(r"[;:,()\"]", synset.gloss):
            words = words_in(part)
            if len(words) >= 2:
                start = draw.randrange(max(1, len(words) - 5))
                glosses.add(" ".join(words[start : start + draw.choice((3, 4, 5, 6))]))
    found = dict.fromkeys(p for p in own if fits(p))
    for source, share in ((compounds, 0.18), (glosses, 0.27)):
        fitting = [p for p in sorted(source) if fits(p)]
        found.update(dict.fromkeys(draw.sample(fitting, min(len(fitting), int(share * count)))))
    nouns = sorted({w for s in concrete if s.pos == "noun" for w in s.words if has(w)})
    describing = sorted({w for s in known.synsets if s.pos == "adj" for w in s.words if w.islower() and has(w)})
    doing = sorted({w + "ing" for s in known.synsets if s.pos == "verb" for w in s.words if has(w + "ing")})
    mine = sorted({w for p in own for w in words_in(p) if has(w)})
    pools = (own, mine, nouns, describing, doing)
    shapes = (
        "{} {}", "{} {}", "{} and {}", "{} {} {}", "{} with {}", "{} {} party", "{} party", "{} birthday",
        "{} and {} birthday", "{} in the {}", "a {} for a {}", "{} of {}", "{}, {} and {}", "{} {} theme",
        "{} on {} {}",
    )  # fmt: skip
    while len(found) < count:
        shape = draw.choice(shapes)
        picked = [draw.choice(p) for p in draw.choices(pools, weights=(3, 4, 5, 2, 1), k=shape.count("{}"))]
        phrase = shape.format(*picked)
        if fits(phrase):
            found[phrase] = None
    return list(found)
