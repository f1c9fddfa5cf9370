"""Which jars of those that break no need are put to the search at all.

Left aside are toppings that show what is not wanted, nuts that nobody asked for, mixes that
speak of another feast or season, and what holds too little for the kits. Whatever is to be
used stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.suggest import weights as w
from themekit.suggest.asked import Asked
from themekit.suggest.draft import is_occasion
from themekit.suggest.left_out import UNASKED_NUTS
from themekit.suggest.lookup import Key
from themekit.suggest.needs import Allowed, grams_per_tablespoon
from themekit.suggest.request import ALLERGEN_WORDS
from themekit.suggest.ties import kin
from themekit.suggest.words import key_of, listed
from themekit.values import Anchor, Jar, Theme

#: With fewer jars that fit, those that do not may be taken too.
FEWEST_FITTING = 6
#: Pairs of colours that stand for a feast wherever a mix is made of them; common practice, no source.
_FEASTS = {"christmas": ("#b3202c", "#2a7f40"), "halloween": ("#e8731a", "#1f1d1f")}
#: A mix is made of such a pair when each has the first share and both the second; a theme when
#: both have the second too. Colours are of a kind from this kinship on.
_PART, _BOTH, _SAME_KIND = 0.2, 0.6, 0.8
_HOLIDAYS = "holidays"
#: With so many of a feast's motifs a thing, such as Santa, is of the feast.
_MANY_MOTIFS = 4
_NUTS = frozenset(("peanut", "tree nut"))


def without_motifs(left: Allowed, asked: Asked) -> Allowed:
    """Toppings that show, or are named for, a thing that is not wanted are left out too."""
    if not asked.avoid_motifs:
        return left
    kept = tuple(j for j in left.jars if not shows_unwanted(j, asked))
    return _less(left, kept, f"no {', '.join(asked.avoid_motifs)}")


def shows_unwanted(jar: Jar, asked: Asked) -> bool:
    """Whether a topping shows, or is named for, a thing that is not wanted."""
    unwanted = {asked.lookup.motif_key(word) for word in asked.avoid_motifs}
    return any(unwanted & asked.lookup.named_in(m) for m in jar.motifs) or any(
        _within(key, name) for key in unwanted for name in (key_of(jar.name), key_of(jar.kind))
    )


def without_nuts(left: Allowed, asked: Asked) -> Allowed:
    """Toppings that are or contain nuts are left out, unless asked for by name or to be used.

    A kit goes to a party, and its guests' allergies are seldom all known to the customer.
    """
    if names_nuts(asked):
        return left
    kept = tuple(j for j in left.jars if j.id in asked.needs.use_jars or not has_nuts(j))
    return _less(left, kept, UNASKED_NUTS)


def _less(left: Allowed, kept: tuple[Jar, ...], why: str) -> Allowed:
    """What is left with these jars alone, and how many went."""
    gone = len(left.jars) - len(kept)
    return replace(left, jars=kept, ruled_out={**left.ruled_out, why: gone}) if gone else left


def _within(key: Key, words: Key) -> bool:
    """Whether the words hold those of `key` one after the other."""
    return any(words[at : at + len(key)] == key for at in range(len(words) - len(key) + 1))


def names_nuts(asked: Asked) -> bool:
    """Whether the phrase names nuts themselves; "little peanut" is a name for a baby."""
    named = [u.words for u in asked.reading.understood if u.taken_as == "thing"]
    named += [u.name for u in asked.reading.understood if u.taken_as == "theme" and u.how != "by meaning"]
    return any(_NUTS & set(ALLERGEN_WORDS.get(stem, ())) for words in named for stem in key_of(words))


def has_nuts(jar: Jar) -> bool:
    """Whether a topping is of nuts, or its label names some among what it contains."""
    return "nut" in key_of(jar.kind) or not _NUTS.isdisjoint(jar.composition.allergens or ())


def of_another_feast(jars: Sequence[Jar], asked: Asked, themes: tuple[Theme, ...]) -> frozenset[int]:
    """Ids of mixes that speak of a feast or season which is not asked for.

    By its name: "autumn jimmies blend" for a theme of spring. By its colours: red, green and
    white but for what is red and green itself, or celebrated in the same month.
    """
    known = {theme.name: theme for theme in themes}
    read = [known[u.name] for u in asked.reading.understood if u.taken_as == "theme" and u.name in known]
    months = {month for theme in read for month in theme.months}
    things = {u.name for u in asked.reading.understood if u.taken_as == "thing"}

    seen = {motif.word for motif in asked.reading.motifs}

    def away(theme: Theme) -> bool:
        meant = not things.isdisjoint(theme.motifs) or len(seen.intersection(theme.motifs)) >= _MANY_MOTIFS
        return theme not in read and not meant and months.isdisjoint(theme.months)

    found = []
    for jar in jars:
        if len(jar.colours) < 2:
            continue
        named = _named_for(key_of(jar.name), asked)
        feast = _speaks_of(jar)
        other_feast = feast in known and away(known[feast]) and not any(_is_of(_FEASTS[feast], t) for t in read)
        other_season = bool(named) and all(
            t.months and away(t) and (months or t.group == _HOLIDAYS) for t in named
        )
        if other_feast or other_season:
            found.append(jar.id)
    return frozenset(found)


def _named_for(words: Key, asked: Asked) -> list[Theme]:
    """The themes that a jar's name names, such as autumn."""
    return [
        theme
        for key, theme in ((words[a:b], asked.lookup.themes.get(words[a:b])) for a, b in _spans(len(words)))
        if theme is not None and not is_occasion(theme) and key == key_of(theme.name)
    ]


def _spans(count: int) -> Iterable[tuple[int, int]]:
    return ((a, b) for a in range(count) for b in range(a + 1, count + 1))


def _speaks_of(jar: Jar) -> str:
    """The feast that a mix's two strong colours stand for, "" for none."""
    labs, share = np.array([c.lab for c in jar.colours]), np.array([c.share for c in jar.colours])
    for feast, pair in _FEASTS.items():
        parts = [float(share[kin(labs, hex_to_lab([colour])) >= _SAME_KIND].sum()) for colour in pair]
        if min(parts) >= _PART and sum(parts) >= _BOTH:
            return feast
    return ""


def _is_of(pair: Sequence[str], theme: Theme) -> bool:
    """Whether a theme is mostly of these two colours, as Italy is red and green."""
    labs, weights = np.array([a.lab for a in theme.anchors]), np.array([a.weight for a in theme.anchors])
    parts = [float(weights[kin(labs, hex_to_lab([colour])) >= _SAME_KIND].sum()) for colour in pair]
    return min(parts) > 0 and sum(parts) >= _BOTH * weights.sum()


def too_little(jars: Sequence[Jar], kits: int, use: Iterable[int] = ()) -> tuple[Jar, ...]:
    """The jars known to hold less than a tablespoon for each kit, less those that are to be used."""
    out = []
    for jar in jars:
        spoon = grams_per_tablespoon(jar)
        if jar.on_hand_g is not None and spoon is not None and jar.on_hand_g + 1e-9 < spoon * kits:
            out.append(jar)
    stay = set(use)
    return tuple(jar for jar in out if jar.id not in stay)


def too_little_told(short: Sequence[Jar], kits: int) -> str:
    """A sentence on jars that were left aside for want of stock."""
    names = [jar.name for jar in short[:3]]
    if len(short) > 3:
        names = [*names, f"{len(short) - 3} more"]
    return f"Left aside, with too little for {kits} kit{'s' * (kits != 1)}: {listed(names)}."


def obvious(jars: Sequence[Jar], leading: Sequence[Anchor]) -> list[tuple[Jar, frozenset[int]]]:
    """For each colour that the theme leads with the plain jar that has it, and those as near to it.

    A plain jar is of one colour and shows no shape of its own; metals are not looked for.
    """
    plain = [j for j in jars if len(j.colours) == 1 and not j.motifs and j.texture.finish != "metallic"]
    if not plain or not leading:
        return []
    labs = np.array([j.colours[0].lab for j in plain])
    found = []
    for anchor in leading:
        distance = delta_e_2000(labs, np.array(anchor.lab), w.TIE_K_L)
        at = int(np.argmin(distance))
        if distance[at] <= w.TIED_WITHIN:
            near = frozenset(
                j.id for j, d in zip(plain, distance.tolist(), strict=True) if d <= distance[at] + w.AS_NEAR
            )
            found.append((plain[at], near))
    return found
