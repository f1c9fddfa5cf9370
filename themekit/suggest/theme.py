"""A phrase to anchors and motifs, telling what was understood, from what and how surely.

Read in this order, all parts combined: colour words and hex codes; themes by name
and alias; things to see; then meaning, by word vectors, of what is left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.suggest.anchors import Source, combined_anchors
from themekit.suggest.lookup import Key, Lookup, Target
from themekit.suggest.shades import MODIFIERS, PLAIN, hex_lab, modified
from themekit.suggest.words import Token, key_of, mended
from themekit.values import Anchor, Lab, Motif, Theme, Thing

T = TypeVar("T")

#: Cosine at which meaning begins to count, and at which it counts in full. Measured against
#: the full sentence model (DEVELOPERS.md): from the floor on two of three first targets are
#: near there too, from 0.65, where a reading is more than a fallback, nine of ten.
MEANING_FLOOR, MEANING_FULL = 0.55, 0.85
#: How many targets meaning may lead to, and how far below the best cosine they may lie.
MEANING_MOST, MEANING_BAND = 3, 0.08
#: What meaning counts beside something that was named.
MEANING_BESIDE = 0.4
#: What a mended typo leaves of the sureness.
MENDED = 0.85
#: Below this sureness an answer is offered as a fallback only.
LITTLE = 0.35

#: Words that carry no picture of their own.
EMPTY = frozenset(
    "a an the of for to in on at by with and or but from as is are be it its this that these those my our "
    "your her his their we i you she he they me us them there here please want need would like love loves "
    "likes make made making some any all very really just so more most lot lots kind kit kits set sets "
    "box cookie biscuit icing frosting sprinkle topping theme themed style styled colour color coloured "
    "colored colourful colorful idea order thing something anything someone anyone inspired full each per "
    "about around vibe look feel feeling decorated decorate decorating diy day special big little small "
    "mini new nice pretty cute lovely fun happy good great best old year week month next last one two kid "
    "child person friend guest everyone aged age turning turn turns thanks thank hello hi hey dear up out "
    "into over tone tones shade hue palette not too also maybe party parties celebration event do does "
    "have has had having can could will should who what when where which how bit touch plus favourite "
    "favorite get give use only no without club circle stand lover society group time fan corner crazy "
    "mad".split()
)
#: Themes so general that they count little beside anything else.
GENERAL = frozenset(("birthday", "party", "celebration", "kids birthday", "birthday party"))


@dataclass(frozen=True, slots=True)
class Understood:
    """One part of the phrase and what it was taken for."""

    words: str
    taken_as: str
    name: str
    how: str
    sureness: float


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


@dataclass
class _Draft:
    """Collects while reading; `certainty` is above 0 for the words already read."""

    words: list[Token]
    lookup: Lookup
    mended: set[int] = field(default_factory=set)
    certainty: dict[int, float] = field(default_factory=dict)
    sources: list[Source] = field(default_factory=list)
    motifs: dict[str, float] = field(default_factory=dict)
    understood: list[Understood] = field(default_factory=list)

    def text(self, span: range) -> str:
        return " ".join(self.words[i].text for i in span)

    def take(self, span: range, taken_as: str, name: str, how: str, sureness: float = 1.0) -> float:
        """Note what the words of `span` were taken for; the sureness after mending."""
        if any(i in self.mended for i in span):
            sureness, how = sureness * MENDED, how + ", one letter mended"
        for i in span:
            self.certainty[i] = max(self.certainty.get(i, 0.0), sureness)
        self.understood.append(Understood(self.text(span), taken_as, name, how, round(sureness, 3)))
        return sureness

    def see(self, word: str, weight: float) -> None:
        self.motifs[word] = max(self.motifs.get(word, 0.0), round(weight, 3))

    def bring(self, theme: Theme, mass: float) -> None:
        """Add a theme's anchors and its motifs, the first of them weighing most."""
        colours = tuple((a.lab, a.weight) for a in theme.anchors)
        self.sources.append(Source(theme.name, colours, mass))
        for rank, word in enumerate(theme.motifs):
            self.see(word, min(1.0, mass) * (0.9 - 0.5 * rank / len(theme.motifs)))


def read_theme(text: str, words: Sequence[Token], lookup: Lookup) -> Reading:
    """Read the tokens `words` (of `text`, less what was read as needs) as a theme."""
    draft = _Draft([t for t in words if t.is_word], lookup)
    _mend_typos(draft)
    colours = _matches(draft.words, lookup.colours, lookup.longest)
    named = [span for span, _ in colours]
    things = [m for m in _matches(draft.words, lookup.things, lookup.longest) if not _inside(m[0], named)]
    themes = [
        (span, theme)
        for span, theme in _matches(draft.words, lookup.themes, lookup.longest)
        if not _inside(span, named) and not _only_part_of_a_thing(draft, span, theme, things)
    ]
    things = [m for m in things if not _inside(m[0], [span for span, _ in themes])]
    _read_colours(draft, colours, [span for span, _ in (*themes, *things)])
    _read_themes(draft, themes)
    _read_things(draft, things)
    unknown = _read_by_meaning(draft)
    content = [i for i, t in enumerate(draft.words) if i in draft.certainty or _has_content(t)]
    anchors = combined_anchors(draft.sources)
    sureness = sum(draft.certainty.get(i, 0.0) for i in content) / len(content) if anchors else 0.0
    return Reading(
        text=text,
        anchors=anchors,
        motifs=tuple(Motif(w, m) for w, m in sorted(draft.motifs.items(), key=lambda m: (-m[1], m[0])))[:16],
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


def _inside(span: range, others: Sequence[range]) -> bool:
    """Whether a longer span holds all of this one: "forest" in "forest green"."""
    return any(set(span) < set(other) for other in others)


def _only_part_of_a_thing(draft: _Draft, span: range, theme: Theme, things: Sequence[tuple[range, Thing]]) -> bool:
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


def _has_content(token: Token) -> bool:
    return not (token.stem in EMPTY or token.fold in EMPTY or token.fold[0].isdigit())


def _mend_typos(draft: _Draft) -> None:
    """Replace words that no table and no vector knows by one that is a letter away."""
    meaning = draft.lookup.lexicon.meaning
    for i, token in enumerate(draft.words):
        if token.stem in draft.lookup.known_words or not _has_content(token) or token.fold in MODIFIERS:
            continue
        if meaning is not None and (meaning.knows(token.fold) or meaning.knows(token.stem)):
            continue
        better = mended(token.stem, draft.lookup.single_words)
        if better:
            draft.words[i] = Token(token.text, better, better)
            draft.mended.add(i)


def _matches(words: Sequence[Token], table: Mapping[Key, T], longest: int) -> list[tuple[range, T]]:
    """Longest matches from left to right of a table's keys in the words."""
    found: list[tuple[range, T]] = []
    start = 0
    while start < len(words):
        for length in range(min(longest, len(words) - start), 0, -1):
            value = table.get(tuple(t.stem for t in words[start : start + length]))
            if value is not None:
                found.append((range(start, start + length), value))
                break
        else:
            length = 1
        start += length
    return found


def _read_colours(draft: _Draft, found: Sequence[tuple[range, tuple[str, Lab]]], others: Sequence[range]) -> None:
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
        before = words[span.start - 1].fold if span.start else ""
        if before in MODIFIERS and span.start - 1 not in sure:
            lab, name = modified(lab, before), f"{before} {name}"
            span = range(span.start - 1, span.stop)
            said = True
        sureness = draft.take(span, "colour", name, "hex code" if name.startswith("#") else "by name")
        draft.sources.append(Source(name, ((lab, 1.0),), sureness if said else 0.6 * sureness, named=said))


def _beside_colour(words: Sequence[Token], span: range, sure: set[int]) -> bool:
    """Whether "in", a listed colour or "tones" beside the words makes them a colour."""
    link = ("and", "with", "or", "to")
    before, after = span.start - 1, span.stop
    if before >= 0 and words[before].fold in ("in", "colour", "color"):
        return True
    if after < len(words) and words[after].stem in ("tone", "shade", "colour", "color", "palette", "hue"):
        return True
    while before >= 0 and words[before].fold in link:
        before -= 1
    while after < len(words) and words[after].fold in link:
        after += 1
    return before in sure or after in sure


def _read_themes(draft: _Draft, found: Sequence[tuple[range, Theme]]) -> None:
    only_general = all(theme.name in GENERAL for _, theme in found)
    for span, theme in found:
        how = "by name" if tuple(draft.words[i].stem for i in span) == key_of(theme.name) else "by another name"
        general = theme.name in GENERAL
        sureness = draft.take(span, "theme", theme.name, how)
        alone = only_general and len(draft.certainty) == len(span)
        draft.bring(theme, sureness * (0.15 if general and not alone else 1.0))


def _read_things(draft: _Draft, found: Sequence[tuple[range, Thing]]) -> None:
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
                draft.bring(theme, sureness * 0.35 / (1 + rank))


def _read_by_meaning(draft: _Draft) -> list[str]:
    """Read what is left by word vectors, run by run and then word by word; return the unknown."""
    unknown: list[str] = []
    for run in _runs(draft):
        if not _by_meaning(draft, run):
            unknown += [
                draft.words[i].text for i in run if len(run) == 1 or not _by_meaning(draft, range(i, i + 1))
            ]
    return unknown


def _runs(draft: _Draft) -> list[range]:
    """Unread words with content, neighbours together."""
    left = [i for i, t in enumerate(draft.words) if i not in draft.certainty and _has_content(t)]
    runs: list[range] = []
    for i in left:
        if runs and runs[-1].stop == i:
            runs[-1] = range(runs[-1].start, i + 1)
        else:
            runs.append(range(i, i + 1))
    return runs


def _by_meaning(draft: _Draft, span: range) -> bool:
    """Whether word vectors lead from the words of `span` to something known."""
    best = _nearest(draft, " ".join(draft.words[i].fold for i in span))
    # Beside what was named outright, a word known by its meaning only colours the picture.
    beside = MEANING_BESIDE if any(u.how != "by meaning" for u in draft.understood) else 1.0
    for target, cosine in best:
        part = np.clip((cosine - MEANING_FLOOR) / (MEANING_FULL - MEANING_FLOOR), 0, 1)
        sureness = 0.2 + 0.6 * float(part)
        meant = target.meant
        if isinstance(meant, Theme):
            draft.take(span, "theme", meant.name, "by meaning", sureness)
            draft.bring(meant, sureness * beside)
        else:
            draft.take(span, "thing", meant.name, "by meaning", sureness)
            draft.sources.append(Source(meant.name, meant.colours, sureness * beside * 0.8))
            draft.see(meant.name, sureness * beside)
    return bool(best)


def _nearest(draft: _Draft, phrase: str) -> list[tuple[Target, float]]:
    """Up to three targets nearest in meaning, each named once, nearly as near as the best."""
    meaning = draft.lookup.lexicon.meaning
    if meaning is None:
        return []
    targets, matrix = draft.lookup.targets
    near = [(targets[i], c) for i, c in meaning.nearest(phrase, matrix, 40) if c >= MEANING_FLOOR]
    out: list[tuple[Target, float]] = []
    for target, cosine in near:
        fresh = all(target.meant.name != other.meant.name for other, _ in out)
        if fresh and cosine >= near[0][1] - MEANING_BAND and len(out) < MEANING_MOST:
            out.append((target, cosine))
    return out
