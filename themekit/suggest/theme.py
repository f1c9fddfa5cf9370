"""A phrase to anchors and motifs, telling what was understood, from what and how surely.

Read in this order, all parts combined: colour words and hex codes; themes by name
and alias; things to see; then meaning, by word vectors, of what is left.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.suggest.anchors import Source, combined_anchors
from themekit.suggest.by_meaning import MONTHS, read_by_meaning
from themekit.suggest.draft import EMPTY, Draft, Understood, has_content, is_occasion
from themekit.suggest.lookup import Key, Lookup
from themekit.suggest.neighbours import add_neighbours
from themekit.suggest.numbers import NUMBER_WORDS
from themekit.suggest.people import amid_sentences
from themekit.suggest.shades import MODIFIERS, PLAIN, hex_lab, modified
from themekit.suggest.words import Token, key_of, mended, singular, tokens
from themekit.values import Anchor, Lab, Motif, Theme, Thing

__all__ = ["EMPTY", "Reading", "Understood", "read_theme", "without_colours"]

T = TypeVar("T")

#: How people's names are told from other words.
BY_CAPITAL = "by its capital"

#: Below this sureness an answer is offered as a fallback only.
LITTLE = 0.35
#: What an occasion's colours count beside what is surely read, and beside a guess.
OCCASION, OCCASION_BESIDE_GUESS = 0.15, 0.5
#: The most motifs of a reading.
MOST_MOTIFS = 28
#: Punctuation that parts what belongs together; a hyphen, "&", "+" and "/" join.
_PARTS = frozenset(",;!?\n")
#: Words that only join what is listed.
_LINKS = ("and", "with", "or", "to")
#: A full stop after one of these only shortens.
_SHORTENED = frozenset("st mt dr mr mrs ms".split())
#: Endings of a word made from a shorter one, which is then no typo of a third.
_ENDINGS = ("er", "or", "ist", "ing", "ed", "ful", "less")
#: What makes a person, a doer or a keeper of a thing, at the end of one word.
_DOERS = tuple(
    "man men woman women person people keeper maker master smith worker watcher lover spotter herd monger wright "
    "seller driver minder walker grower collector breeder rider player hunter catcher farmer ist".split()
)
_SHORTEST_PART = 3


@dataclass(frozen=True, slots=True)
class Reading:
    """What a phrase means to the tool; anchors' weights add up to 1, or there are none."""

    text: str
    anchors: tuple[Anchor, ...] = ()
    motifs: tuple[Motif, ...] = ()
    understood: tuple[Understood, ...] = ()
    unknown: tuple[str, ...] = ()
    sureness: float = 0.0
    fallback: bool = False


def read_theme(text: str, words: Sequence[Token], lookup: Lookup) -> Reading:
    """Read the tokens `words` (of `text`, less what was read as needs) as a theme."""
    draft = Draft([t for t in words if t.is_word], lookup, _breaks(words), capitals=amid_sentences(text))
    _take_parts(draft)
    _mend_typos(draft)
    colours = _matches(draft, lookup.colours, _as_written)
    named = [span for span, _ in colours]
    listed = _listed_colours(draft, colours)
    things = [m for m in _matches(draft, lookup.things) if not _inside(m[0], named)]
    themes = [
        (span, theme)
        for span, theme in _matches(draft, lookup.themes, _no_number)
        if not _inside(span, named)
        and span not in listed
        and not _only_part_of_a_thing(draft, span, theme, things)
    ]
    things = [m for m in things if not _inside(m[0], [span for span, _ in themes])]
    if themes or any(has_content(draft.words[i]) for span, _ in things for i in span):
        # "An evening", "cookies": such a word is a thing to see only where it stands alone.
        things = [m for m in things if any(has_content(draft.words[i]) for i in m[0])]
    _read_colours(draft, colours, [span for span, _ in (*themes, *things)])
    occasions = _read_themes(draft, themes)
    _read_things(draft, things)
    left = read_by_meaning(draft)
    unknown = [word for word in left if word not in draft.capitals]
    people = [word for word in left if word in draft.capitals]
    draft.understood += [Understood(word, "name", "a name", BY_CAPITAL, 0.5) for word in dict.fromkeys(people)]
    _bring_occasions(draft, occasions)
    add_neighbours(
        draft,
        [thing.name for _, thing in things],
        [theme.motifs[0] for _, theme in themes if theme.motifs and not is_occasion(theme)],
    )
    content = [
        i
        for i, t in enumerate(draft.words)
        if i in draft.certainty or (has_content(t) and t.fold not in MONTHS and t.text not in people)
    ]
    settings = [theme.name for _, theme in themes if theme.group == "life"]
    anchors = combined_anchors(draft.sources, settings)
    sureness = sum(draft.certainty.get(i, 0.0) for i in content) / len(content) if anchors else 0.0
    return Reading(
        text=text,
        anchors=anchors,
        motifs=draft.wanted()[:MOST_MOTIFS],
        understood=tuple(draft.understood),
        unknown=tuple(unknown),
        sureness=round(sureness, 3),
        fallback=bool(anchors) and sureness < LITTLE,
    )


def without_colours(reading: Reading, avoided: Sequence[Lab], nearer_than: float) -> Reading:
    """The reading less the anchors that lie within `nearer_than` ΔE00 of an avoided colour."""
    if not avoided or not reading.anchors:
        return reading
    labs = np.array([a.lab for a in reading.anchors])
    near = delta_e_2000(labs[:, None, :], np.array(avoided)[None, :, :]).min(axis=1) < nearer_than
    kept = [a for a, out in zip(reading.anchors, near, strict=True) if not out]
    total = sum(a.weight for a in kept)
    return replace(reading, anchors=tuple(replace(a, weight=a.weight / total) for a in kept))


def _listed_colours(draft: Draft, colours: Sequence[tuple[range, tuple[str, Lab]]]) -> list[range]:
    """Plain colour words in a row of colours: "navy, rust and cream" asks for no sailors."""
    rows: list[list[tuple[range, str]]] = []
    for span, (name, _) in colours:
        end = rows[-1][-1][0].stop if rows else -1
        between = draft.words[end : span.start] if rows else []
        if rows and all(t.fold in _LINKS for t in between):
            rows[-1].append((span, name))
        else:
            rows.append([(span, name)])
    return [span for row in rows if len(row) > 1 for span, name in row if name in PLAIN]


def _inside(span: range, others: Sequence[range]) -> bool:
    """Whether a longer span holds all of this one: "forest" in "forest green"."""
    return any(set(span) < set(other) for other in others)


def _only_part_of_a_thing(draft: Draft, span: range, theme: Theme, things: Sequence[tuple[range, Thing]]) -> bool:
    """Whether a theme's words only help to name a thing.

    A pirate ship still asks for pirates, whose motifs hold ships; a teddy bear does not
    ask for bears, nor candy corn for a candy shop.
    """
    motifs = {draft.lookup.motif_key(word) for word in theme.motifs}
    for other, thing in things:
        if set(span) < set(other):
            head = draft.lookup.motif_key(draft.words[other.stop - 1].stem)
            leads = span.start == other.start
            if not (leads and (head in motifs or key_of(thing.name) in motifs)):
                return True
    return False


def _breaks(words: Sequence[Token]) -> frozenset[int]:
    """Places among the words before which punctuation parts them."""
    found: set[int] = set()
    count = 0
    before = ""
    for token in words:
        if token.is_word:
            count += 1
            before = token.fold
        elif token.fold in _PARTS or (token.fold == "." and before not in _SHORTENED):
            found.add(count)
    return frozenset(found)


def _take_parts(draft: Draft) -> None:
    """Of a word that no table knows, take the thing in it: the bee of a beekeeper."""
    for i, token in enumerate(draft.words):
        if token.stem in draft.lookup.known_words or not has_content(token):
            continue
        word = token.fold if token.fold.endswith(_DOERS) else token.stem
        for doer in _DOERS:
            part = singular(word.removesuffix(doer))
            known = (part,) in draft.lookup.things or (part,) in draft.lookup.themes
            if word.endswith(doer) and len(part) >= _SHORTEST_PART and known:
                draft.words[i] = Token(token.text, part, part)
                draft.parted.add(i)
                break


def _bases(word: str) -> list[str]:
    """What a word may be made from: "grow" for "grower", "bake" for "baking"."""
    short = [word.removesuffix(ending) for ending in _ENDINGS if word.endswith(ending)]
    return [base + e for base in short if len(base) >= _SHORTEST_PART for e in ("", "e")]


def _as_written(words: Sequence[Token], colour: tuple[str, Lab]) -> bool:
    """Whether a colour's words but the last stand as its name has them: "lights blue" is no light blue."""
    folds = [t.fold for t in tokens(colour[0]) if t.is_word]
    return [t.fold for t in words[:-1]] == folds[:-1]


def _no_number(words: Sequence[Token], theme: Theme) -> bool:
    """Whether a theme is named by more than a number: "fifty" is not "fifties"."""
    return any(t.fold not in NUMBER_WORDS for t in words)


def _mend_typos(draft: Draft) -> None:
    """Replace words that no table and no vector knows by one that is a letter away."""
    meaning = draft.lookup.lexicon.meaning
    for i, token in enumerate(draft.words):
        if token.stem in draft.lookup.known_words or not has_content(token) or token.fold in MODIFIERS:
            continue
        if token.fold in draft.capitals:
            continue
        if meaning is not None and (meaning.knows(token.fold) or meaning.knows(token.stem)):
            continue
        if meaning is not None and any(meaning.knows(base) for base in _bases(token.stem)):
            continue
        better = mended(token.stem, draft.lookup.single_words)
        if better and not any(map(draft.lookup.lexicon.is_word, (token.fold, token.stem, *_bases(token.stem)))):
            draft.words[i] = Token(token.text, better, better)
            draft.mended.add(i)


def _matches(
    draft: Draft, table: Mapping[Key, T], fits: Callable[[Sequence[Token], T], bool] = lambda words, value: True
) -> list[tuple[range, T]]:
    """Longest fitting matches from left to right of a table's keys, none across a comma or the like."""
    words, longest = draft.words, draft.lookup.longest
    found: list[tuple[range, T]] = []
    start = 0
    while start < len(words):
        most = next((n for n in range(1, longest) if start + n in draft.breaks), longest)
        for length in range(min(most, len(words) - start), 0, -1):
            taken = words[start : start + length]
            value = table.get(tuple(t.stem for t in taken))
            if value is not None and fits(taken, value):
                found.append((range(start, start + length), value))
                break
        else:
            length = 1
        start += length
    return found


def _read_colours(draft: Draft, found: Sequence[tuple[range, tuple[str, Lab]]], others: Sequence[range]) -> None:
    """Hex codes and colour words; a word that is also a thing is a colour where the context says so."""
    words = draft.words
    spans: list[tuple[range, str, Lab, bool]] = []
    for i, token in enumerate(words):
        if token.fold.startswith("#"):
            spans.append((range(i, i + 1), token.fold, hex_lab(token.fold), True))
    for span, (name, lab) in found:
        if _inside(span, others):
            continue
        certain = not any(set(span) == set(o) for o in others) or name in PLAIN
        spans.append((span, name, lab, certain))
    spans.sort(key=lambda s: s[0].start)
    sure = {i for span, _, _, certain in spans if certain for i in span}
    for span, name, lab, certain in spans:
        said = certain or _beside_colour(words, span, sure)
        before = words[span.start - 1].fold if span.start and span.start not in draft.breaks else ""
        if before in MODIFIERS and span.start - 1 not in sure:
            lab, name = modified(lab, before), f"{before} {name}"
            span = range(span.start - 1, span.stop)
            said = True
        sureness = draft.take(span, "colour", name, "hex code" if name.startswith("#") else "by name")
        draft.sources.append(Source(name, ((lab, 1.0),), sureness if said else 0.6 * sureness, named=said))


def _beside_colour(words: Sequence[Token], span: range, sure: set[int]) -> bool:
    """Whether "in", a listed colour or "tones" beside the words makes them a colour."""
    before, after = span.start - 1, span.stop
    if before >= 0 and words[before].fold in ("in", "colour", "color"):
        return True
    if after < len(words) and words[after].stem in ("tone", "shade", "colour", "color", "palette", "hue"):
        return True
    while before >= 0 and words[before].fold in _LINKS:
        before -= 1
    while after < len(words) and words[after].fold in _LINKS:
        after += 1
    return before in sure or after in sure


def _read_themes(draft: Draft, found: Sequence[tuple[range, Theme]]) -> list[tuple[Theme, float]]:
    """Themes bring colours and motifs; occasions are given back with their sureness, to be brought last."""
    occasions: list[tuple[Theme, float]] = []
    for span, theme in found:
        how = "by name" if tuple(draft.words[i].stem for i in span) == key_of(theme.name) else "by another name"
        sureness = draft.take(span, "theme", theme.name, how)
        if is_occasion(theme):
            occasions.append((theme, sureness))
        else:
            draft.colour(theme, sureness)
            draft.see_motifs(theme, sureness)
    return occasions


def _read_things(draft: Draft, found: Sequence[tuple[range, Thing]]) -> None:
    """Things to see bring their own colours, and lightly those of themes they stand in."""
    for span, thing in found:
        as_theme = any(u.taken_as == "theme" and u.words == draft.text(span) for u in draft.understood)
        as_colour = any(s.named and s.label == draft.text(span) for s in draft.sources)
        if as_colour:
            continue
        sureness = draft.take(span, "thing", thing.name, "by name")
        draft.see(thing.name, sureness)
        draft.sources.append(Source(thing.name, thing.colours, sureness * (0.25 if as_theme else 0.8)))
        if not as_theme:
            for theme, rank in draft.lookup.themes_of_motif.get(key_of(thing.name), ())[:1]:
                draft.colour(theme, sureness * 0.35 / (1 + rank))


def _bring_occasions(draft: Draft, occasions: Sequence[tuple[Theme, float]]) -> None:
    """What is celebrated counts in full alone, and little beside what it is celebrated with."""
    pictures = [m for m in draft.motifs.values() if m.kind in ("theme", "guess")]
    sure = any(m.kind == "theme" or m.weight >= LITTLE for m in pictures)
    share = (OCCASION if sure else OCCASION_BESIDE_GUESS) if pictures else 1.0
    for theme, sureness in occasions:
        draft.colour(theme, sureness * share)
        draft.see_motifs(theme, sureness, *(("occasion", theme.name) if pictures else ()))
