"""Look-up tables over the lexicon and the baker's own themes, by the stems of words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from themekit.suggest.words import key_of
from themekit.values import Lab, Lexicon, Theme, Thing

Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Target:
    """A phrase that meaning may lead to, with the theme or thing it stands for."""

    phrase: str
    meant: Theme | Thing


@dataclass(frozen=True)
class Lookup:
    """Themes, things and colour words by key; the first entered keeps a key."""

    lexicon: Lexicon
    themes: Mapping[Key, Theme]
    things: Mapping[Key, Thing]
    colours: Mapping[Key, tuple[str, Lab]]

    @cached_property
    def longest(self) -> int:
        """The most words that any key has."""
        return max((len(k) for table in (self.themes, self.things, self.colours) for k in table), default=0)

    @cached_property
    def single_words(self) -> tuple[str, ...]:
        """Every one-word key, themes first: what a typo may have meant."""
        seen = dict.fromkeys(k[0] for t in (self.themes, self.things, self.colours) for k in t if len(k) == 1)
        return tuple(seen)

    @cached_property
    def known_words(self) -> frozenset[str]:
        """Every word that stands in any key."""
        return frozenset(part for t in (self.themes, self.things, self.colours) for k in t for part in k)

    @cached_property
    def themes_of_motif(self) -> Mapping[Key, tuple[tuple[Theme, int], ...]]:
        """For each motif the themes that carry it, with its place in their lists."""
        found: dict[Key, list[tuple[Theme, int]]] = {}
        for theme in dict.fromkeys(self.themes.values()):
            for rank, word in enumerate(theme.motifs):
                found.setdefault(self.motif_key(word), []).append((theme, rank))
        return {k: tuple(sorted(v, key=lambda pair: pair[1])) for k, v in found.items()}

    def motif_key(self, word: str) -> Key:
        """One key for a motif and its synonyms: the name of the thing where it is one."""
        key = key_of(word)
        thing = self.things.get(key)
        return key_of(thing.name) if thing else key

    def shown_by(self, word: str) -> tuple[Key, ...]:
        """The keys of what a thing to see shows: itself, and what it is a kind of, nearest first.

        An "open book" is a book, for in an English compound the last noun says what it is.
        A compound that is a thing of its own stands for itself alone: a graduation cap is
        no cap for a baseball team, nor a hot dog a dog. Read one way only: a book is not
        an open book.
        """
        key = key_of(word)
        if key in self.things:
            return (self.motif_key(word),)
        return (key, *(self.motif_key(" ".join(key[at:])) for at in range(1, len(key))))

    def named_in(self, word: str) -> frozenset[Key]:
        """Every key that a thing to see may be avoided by: itself and all that it ends in."""
        key = key_of(word)
        return frozenset((self.motif_key(word), *(self.motif_key(" ".join(key[at:])) for at in range(len(key)))))

    @cached_property
    def motif_vectors(self) -> tuple[tuple[str, ...], NDArray[np.float32]]:
        """Every motif of the themes once, and their unit vectors, shape (n, d)."""
        words = tuple(dict.fromkeys(m for theme in dict.fromkeys(self.themes.values()) for m in theme.motifs))
        meaning = self.lexicon.meaning
        return words, meaning.embed_many(words) if meaning else np.zeros((len(words), 0), np.float32)

    @cached_property
    def targets(self) -> tuple[tuple[Target, ...], NDArray[np.float32]]:
        """What meaning may lead to, and the unit vectors of it, shape (n, d)."""
        meaning = self.lexicon.meaning
        if meaning is None:
            return (), np.zeros((0, 0), np.float32)
        meant: list[Theme | Thing] = [*dict.fromkeys(self.themes.values()), *dict.fromkeys(self.things.values())]
        targets = tuple(Target(phrase, value) for value in meant for phrase in (value.name, *value.aliases))
        place, vectors = _built_in_vectors(_ById(self.lexicon))
        known = [place.get(target.phrase, -1) for target in targets]
        found = vectors[known]
        own = [at for at, row in enumerate(known) if row < 0]
        if own:
            found[own] = meaning.embed_many([targets[at].phrase for at in own])
        return targets, found


def _keyed(pairs: Iterable[tuple[str, Theme | Thing]]) -> dict[Key, Theme | Thing]:
    table: dict[Key, Theme | Thing] = {}
    for words, value in pairs:
        key = key_of(words)
        if key:
            table.setdefault(key, value)
    return table


def _build(lexicon: Lexicon, own: tuple[Theme, ...]) -> Lookup:
    all_themes = (*own, *lexicon.themes)
    names: list[tuple[str, Theme]] = [(t.name, t) for t in all_themes]
    names += [(a, t) for t in all_themes for a in t.aliases]
    things: list[tuple[str, Thing]] = [(t.name, t) for t in lexicon.things]
    things += [(a, t) for t in lexicon.things for a in t.aliases]
    colours = {key_of(name): (name, lab) for name, lab in lexicon.colour_words.items()}
    return Lookup(lexicon, _keyed(names), _keyed(things), colours)  # type: ignore[arg-type]


class _ById:
    """A cache key of the lexicon by identity: it is large and never changes."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ById) and other.lexicon is self.lexicon

    def __hash__(self) -> int:
        return id(self.lexicon)


@lru_cache(maxsize=2)
def _built_in_vectors(held: _ById) -> tuple[Mapping[str, int], NDArray[np.float32]]:
    """The unit vectors of all built-in phrases, and the row of each: the same for every shelf."""
    meaning = held.lexicon.meaning
    built_in: tuple[Theme | Thing, ...] = (*held.lexicon.themes, *held.lexicon.things)
    assert meaning is not None, "asked only where there is meaning"
    phrases = tuple(dict.fromkeys(phrase for one in built_in for phrase in (one.name, *one.aliases)))
    return {phrase: row for row, phrase in enumerate(phrases)}, meaning.embed_many(phrases)


# Some megabytes each: shelves without themes of their own share one.
@lru_cache(maxsize=16)
def _cached(held: _ById, own: tuple[Theme, ...]) -> Lookup:
    return _build(held.lexicon, own)


def lookup_for(lexicon: Lexicon, own: tuple[Theme, ...] = ()) -> Lookup:
    """The look-up tables of a lexicon and a shelf's own themes; own themes win."""
    return _cached(_ById(lexicon), own)
