"""What a phrase names and so should be seen: each thing or theme, what shows it, and what goes with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from themekit.suggest.draft import is_occasion
from themekit.suggest.lookup import Key, Lookup
from themekit.suggest.numbers import number_at
from themekit.suggest.theme import Reading, Understood
from themekit.suggest.weights import PLAIN_MOTIFS
from themekit.suggest.words import key_of, tokens
from themekit.values import Theme

#: Groups of themes that have no look of their own to be missed: days in a life, moods, seasons.
LOOSE = frozenset(("life", "moods", "seasons"))
#: The first part of a theme's motifs shows a theme that is no thing itself; the rest goes with it.
_FIRST_PART = 0.8
#: Things told without "a"; common ones only.
_UNCOUNTED = frozenset(
    "bread bubblegum chocolate coffee corn confetti fire fog frost glitter grass greenery hay honey ice ivy jam "
    "lace lava lavender lightning milk money moss music popcorn rain sand seaweed smoke snow sugar tea water "
    "wheat wine".split()
)
#: Scenes: the things of their theme show them.
_SCENES = frozenset("space sky garden forest jungle desert beach sea ocean seaside meadow farm zoo city".split())
#: Things of which there is one to be seen.
_ONLY = frozenset("sea ocean beach seaside sky sun moon forest desert jungle".split())


@dataclass(frozen=True, slots=True)
class Named:
    """One theme or thing of a phrase; keys of motifs that show it, and of those that go with it.

    firm  whether it is missed where no cutter shows it
    """

    name: str
    itself: frozenset[Key]
    further: frozenset[Key] = field(default_factory=frozenset)
    firm: bool = True
    thing: bool = True

    @property
    def told(self) -> str:
        """The name within a sentence: "a plumber", or “christmas” for what is no single thing."""
        if not self.thing:
            return f"“{self.name}”"
        last = self.name.split()[-1]
        if last in _ONLY:
            return f"the {self.name}"
        if last in _UNCOUNTED or (last.endswith("s") and not last.endswith(("ss", "us"))):
            return self.name
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


def named_in(reading: Reading, lookup: Lookup) -> tuple[Named, ...]:
    """What the phrase names by its own words, in its order; guesses, birthdays and mere colours are none.

    Words that stand within others' are passed over: a pirate ship is asked for, no pirate.
    """
    by_words: dict[Key, list[Understood]] = {}
    for one in reading.understood:
        if one.taken_as in ("theme", "thing") and not one.how.startswith("by meaning"):
            by_words.setdefault(key_of(one.words), []).append(one)
    told = key_of(reading.text)
    found: list[tuple[int, Named]] = []
    for words, several in by_words.items():
        if not any(_part_of(words, others) for others in by_words):
            made = _named(several, lookup)
            if made is not None:
                found.append((_place(words, told), made))
    unique: dict[frozenset[Key], Named] = {}
    for _, made in sorted(found, key=lambda pair: pair[0]):
        unique.setdefault(made.itself, made)
    return tuple(unique.values())


def _part_of(words: Key, others: Key) -> bool:
    return len(words) < len(others) and _place(words, others) < len(others)


def _place(words: Key, within: Key) -> int:
    at = (i for i in range(len(within)) if within[i : i + len(words)] == words)
    return next(at, len(within))


def _named(several: Sequence[Understood], lookup: Lookup) -> Named | None:
    things = [u.name for u in several if u.taken_as == "thing"]
    themes = [t for u in several if u.taken_as == "theme" and (t := lookup.themes.get(key_of(u.name)))]
    if any(is_occasion(theme) or theme.group == "colours" for theme in themes):
        return None
    itself = {lookup.motif_key(thing) for thing in things}
    motifs = [word for theme in themes for word in theme.motifs]
    for theme in themes:
        names = {lookup.motif_key(theme.name), key_of(theme.name)}
        itself |= {lookup.motif_key(word) for word in theme.motifs} & names
        # "Mermaid party" is another name of a theme; a mermaid is what it is about all the same.
        if key_of(theme.name) in lookup.things:
            itself.add(lookup.motif_key(theme.name))
    scenes = {key_of(scene) for scene in _SCENES}
    if themes and itself <= scenes:
        itself = set()
    thing = bool(itself)
    if not thing:
        itself = {lookup.motif_key(word) for theme in themes for word in _first(theme)}
    if not itself:
        return None
    told = [*(theme.name for theme in themes), *things]
    said = key_of(several[0].words)
    return Named(
        name=next((name for name in told if key_of(name) == said), told[-1]),
        itself=frozenset(itself),
        further=frozenset(lookup.motif_key(word) for word in motifs) - itself,
        firm=not any(theme.group in LOOSE for theme in themes) and bool(themes or itself - scenes),
        thing=thing,
    )


def _first(theme: Theme) -> list[str]:
    """The motifs that show a theme which is no thing itself; plain shapes only where they lead."""
    count = max(1, round(_FIRST_PART * len(theme.motifs)))
    return [word for at, word in enumerate(theme.motifs[:count]) if at == 0 or word not in PLAIN_MOTIFS]


def age_in(reading: Reading) -> int | None:
    """The age that is celebrated: "turning 5", "her 5th birthday", "turns six"; None where none is told."""
    words = tokens(reading.text)
    dates = [key_of(u.words) for u in reading.understood if u.taken_as == "date"]
    for at, token in enumerate(words):
        found = None
        if token.fold in ("turning", "turns", "turned"):
            found = number_at(words, at + 1)
        elif token.stem == "birthday":
            start = at - 1
            while start > 0 and words[start].fold == "-":
                start -= 1
            found = number_at(words, start, ordinals=True) if start >= 0 else None
            if found and any(words[start].stem in day for day in dates):
                found = None
        if found and 1 <= found[0] <= 120:
            return found[0]
    return None
