"""The halves of a wish: each colour, theme and thing that it names, with the colours that show it.

"Owls and moons" has two halves, "burgundy and blush" has two, "hedgehog birthday" has two.
An idea that shows one of them only has dropped the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats, hex_to_lab, lab_to_lch
from themekit.suggest.asked import Asked
from themekit.suggest.draft import is_occasion
from themekit.suggest.weights import AVOIDED_WITHIN, GREY_C
from themekit.values import Lab, Theme, Thing

#: A palette cannot show more than it has tints.
MOST = 3
#: Colours of a half lighter than this are in passing; a guess below this sureness is none.
_LEAST_WEIGHT, _LEAST_SURE = 0.1, 0.6
#: A colour is a half's own when those of the others lie further off (CIEDE2000).
_OWN = 10.0
#: Life's events are a setting: their whites and creams show them as well. Of a birthday any
#: colour does, also one that the picture has.
_SETTING = "life"


@dataclass(frozen=True, slots=True)
class Half:
    """One part of a wish.

    labs     (k, 3) the colours of which any one shows it
    foreign  (m, 3) colours that show another half instead where they are nearer
    said     whether it is a colour said outright
    """

    name: str
    labs: Floats
    foreign: Floats
    said: bool

    def shown_by(self, labs: Floats) -> Floats:
        """CIEDE2000 (n,) from colours (n, 3) to the nearest of this half; infinite where another is nearer."""
        own = delta_e_2000(labs[:, None, :], self.labs[None, :, :]).min(axis=1)
        other = delta_e_2000(labs[:, None, :], self.foreign[None, :, :]).min(axis=1, initial=np.inf)
        return np.asarray(np.where(own <= other, own, np.inf))


def halves(asked: Asked) -> tuple[Half, ...]:
    """The parts of a wish, none where it has one only; said colours first, at most three."""
    anchors = asked.reading.anchors
    known: dict[str, Theme] = {theme.name: theme for theme in asked.lookup.themes.values()}
    things: dict[str, Thing] = {thing.name: thing for thing in asked.lookup.things.values()}
    said: dict[str, list[tuple[Lab, float]]] = {}
    pictures: dict[str, list[tuple[Lab, float]]] = {}
    settings: set[str] = set()
    occasions: set[str] = set()
    words: set[str] = set()
    for part in asked.reading.understood:
        if part.how == "by meaning" or part.sureness < _LEAST_SURE:
            continue
        if part.taken_as == "colour":
            said[part.name] = [(a.lab, 1.0) for a in anchors if a.source == part.name][:1]
            words.add(part.words)
    for part in asked.reading.understood:
        if part.how == "by meaning" or part.sureness < _LEAST_SURE or part.words in words:
            continue
        theme, thing = known.get(part.name), things.get(part.name)
        if part.taken_as == "theme" and theme is not None:
            pictures[theme.name] = [(a.lab, a.weight) for a in theme.anchors]
            if is_occasion(theme):
                occasions.add(theme.name)
            elif theme.group == _SETTING:
                settings.add(theme.name)
        elif part.taken_as == "thing" and thing is not None:
            pictures[thing.name] = list(thing.colours)
        words.add(part.words)
    avoided = hex_to_lab(list(asked.needs.avoid_colours)).reshape(-1, 3)
    pictures = {name: _kept(colours, avoided) for name, colours in pictures.items()}
    pictures = {name: colours for name, colours in pictures.items() if colours}
    found = [Half(name, _labs(colours), _labs([]), True) for name, colours in said.items() if colours]
    for name, colours in pictures.items():
        others = [o for n, o in [*pictures.items(), *said.items()] if n != name and o]
        own = colours if name in settings else _own(colours, [] if name in occasions else others)
        shared = name in settings or name in occasions
        # What it has in common with another half by its heaviest colour is foreign to neither.
        labs = _labs(own)
        foreign = [] if shared else [c for other in others for c in other if _far(c, labs)]
        found.append(Half(name, _labs(own), _labs(foreign), False))
    return tuple(found[:MOST]) if len(found) > 1 else ()


def _labs(colours: list[tuple[Lab, float]]) -> Floats:
    return np.array([lab for lab, _ in colours], float).reshape(-1, 3)


def _kept(colours: list[tuple[Lab, float]], avoided: Floats) -> list[tuple[Lab, float]]:
    """The colours of some weight, less those that are to be avoided (n, 3), the heaviest first."""
    total = sum(weight for _, weight in colours)
    left = [c for c in colours if delta_e_2000(avoided, np.array(c[0])).min(initial=np.inf) >= AVOIDED_WITHIN]
    return sorted((c for c in left if c[1] >= _LEAST_WEIGHT * total), key=lambda c: -c[1])


def _own(colours: list[tuple[Lab, float]], others: list[list[tuple[Lab, float]]]) -> list[tuple[Lab, float]]:
    """The colours that no other half has, coloured ones before greys; all where none is its own.

    The heaviest colour is a half's own unless it is another's heaviest too.
    """
    every = _labs([c for other in others for c in other])
    heaviest = _labs([other[0] for other in others])

    chief = [c for c in colours[:1] if _far(c, heaviest)]
    far = [c for c in colours if c in chief or _far(c, every)] or colours
    return [c for c in far if c in chief or lab_to_lch(np.array([c[0]]))[0, 1] >= GREY_C] or far


def _far(colour: tuple[Lab, float], rest: Floats) -> bool:
    """Whether a colour lies further than what is one's own from all of the rest (n, 3)."""
    return bool(delta_e_2000(rest, np.array(colour[0])).min(initial=np.inf) > _OWN)
