"""Distil which words are opposites, whenever names of the themes or things change.

Source: WordNet 3.0 (Princeton University), read from data.adj and data.noun as wndb(5WN)
describes them; only the machine's own copy (Debian's wordnet-base) is needed:

    python -m catalog.lexicon.build_opposites [--wordnet FOLDER]

Word vectors lie near for opposites, since both stand in the same sentences: "melancholy"
leads to "cheerful". WordNet gives antonyms between the head adjectives of its clusters
("sad" and "glad"); a word is opposed to another when its cluster's head is an antonym of
the other's head, or of one that this head's "also see" names. Kept are only words whose
opposite is a name of one word among the themes and things.
"""

from __future__ import annotations

import argparse
import json
import re
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

from catalog.lexicon.build_vectors import names_hash
from catalog.lexicon.build_words import HERE, lexicon_phrases

_ANTONYM, _SIMILAR, _ALSO = "!", "&", "^"


@dataclass(frozen=True)
class Cluster:
    """One synset: its words in lower case, and what its pointers lead to, by symbol."""

    words: tuple[str, ...]
    leads: dict[str, tuple[str, ...]]


def read_synsets(file: Path) -> dict[str, Cluster]:
    """Every synset of a data file of one part of speech by its offset; pointers within it only."""
    found = {}
    for line in file.read_text("latin-1").splitlines():
        if line.startswith("  "):
            continue
        fields = line.split(" | ", 1)[0].split(" ")
        stop = 4 + 2 * int(fields[3], 16)
        words = tuple(re.sub(r"\(.*\)$", "", w).lower() for w in fields[4:stop:2])
        leads: dict[str, list[str]] = defaultdict(list)
        for at in range(stop + 1, stop + 1 + 4 * int(fields[stop]), 4):
            symbol, offset, pos = fields[at : at + 3]
            if pos in ("a", "s") if file.suffix == ".adj" else pos == "n":
                leads[symbol].append(offset)
        found[fields[0]] = Cluster(words, {s: tuple(o) for s, o in leads.items()})
    return found


def opposites(synsets: dict[str, Cluster]) -> dict[str, set[str]]:
    """For every plain word of `synsets` the words that it is opposed to."""
    found: dict[str, set[str]] = defaultdict(set)

    def led(offset: str, symbol: str) -> tuple[str, ...]:
        return synsets[offset].leads.get(symbol, ())

    for offset, cluster in synsets.items():
        heads = {offset, *led(offset, _SIMILAR)}
        against = {other for head in heads for other in led(head, _ANTONYM)}
        against |= {near for other in against for near in led(other, _ALSO)}
        against |= {like for other in against for like in led(other, _SIMILAR)}
        for word in cluster.words:
            if word.isalpha():
                found[word].update(w for other in against for w in synsets[other].words if w != word)
    return found


def build(wordnet: Path) -> dict[str, object]:
    """What opposites.json holds."""
    single = {name for name in lexicon_phrases() if name.isalpha()}
    kept: dict[str, set[str]] = defaultdict(set)
    for pos in ("adj", "noun"):
        for word, others in opposites(read_synsets(wordnet / f"data.{pos}")).items():
            if others & single:
                kept[word] |= others & single
    return {
        "made_from": names_hash(lexicon_phrases()),
        "opposites": {word: sorted(kept[word]) for word in sorted(kept)},
    }


def main() -> None:
    """Write the opposites beside this file."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--wordnet", type=Path, default=Path("/usr/share/wordnet"))
    made = build(arguments.parse_args().wordnet)
    (HERE / "opposites.json").write_text(json.dumps(made, indent=0, ensure_ascii=True) + "\n", "utf-8")


if __name__ == "__main__":
    main()
