"""Colours from several readings of one phrase, weighed into at most eight anchors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import lab_to_lch
from themekit.suggest.ties import kin
from themekit.values import Anchor, Lab

#: A theme has at most this many anchors, as the built-in ones do.
MOST = 8
#: Where there are more, the lightest are left out if they weigh no more than this together.
FAINT = 0.15
#: Colours nearer than this (CIEDE2000) are one anchor.
SAME = 4.0
#: What colours named outright weigh beside a theme: one, two, three and more of them.
#: She said them, so they lead; judged on trial phrases, no outside source.
_NAMED_SHARE = {0: 0.0, 1: 0.5, 2: 0.7}
_NAMED_SHARE_MANY = 0.85
#: What an event counts beside a picture, and what a colour loses that no other theme has;
#: judged on trial phrases, no outside source.
_SETTING, _FOREIGN = 0.7, 0.5
#: From this share of foreign mass on a colour is left out: never beside one theme of equal mass.
_ALONE = 0.6


@dataclass(frozen=True, slots=True)
class Source:
    """Colours that one part of the phrase brought, with weights that add up to 1.

    `named` is True for colours said outright; `mass` weighs a source against the
    others of its sort.
    """

    label: str
    colours: tuple[tuple[Lab, float], ...]
    mass: float
    named: bool = False


def combined_anchors(sources: Sequence[Source], settings: Sequence[str] = ()) -> tuple[Anchor, ...]:
    """Anchors of all sources, merged where equal, heaviest first, adding up to 1.

    `settings` are labels of events, such as a wedding: a picture beside them leads.
    """
    named = [s for s in sources if s.named and s.mass > 0]
    other = _as_one_picture([s for s in sources if not s.named and s.mass > 0], settings)
    share = _NAMED_SHARE.get(len(named), _NAMED_SHARE_MANY) if other else 1.0
    weighed: list[tuple[Lab, float, str]] = []
    for group, part in ((named, share), (other, 1 - share if named else 1.0)):
        total = sum(s.mass for s in group)
        for source in group:
            scale = part * source.mass / total
            weighed += [(lab, weight * scale, source.label) for lab, weight in source.colours]
    anchors: list[Anchor] = []
    for lab, weight, label in sorted(weighed, key=lambda w: (-w[1], w[0])):
        near = (i for i, kept in enumerate(anchors) if float(delta_e_2000(kept.lab, lab)) < SAME)
        at = next(near, None)
        if at is None:
            anchors.append(Anchor(lab, weight, label))
        else:
            anchors[at] = replace(anchors[at], weight=anchors[at].weight + weight)
    anchors.sort(key=lambda a: (-a.weight, a.lab))
    if len(anchors) > MOST and sum(a.weight for a in anchors[MOST:]) < FAINT:
        anchors = anchors[:MOST]
    if len(anchors) > MOST:
        anchors = _clustered(anchors)
    anchors.sort(key=lambda a: (-a.weight, a.lab))
    total = sum(a.weight for a in anchors)
    return tuple(replace(a, weight=a.weight / total) for a in anchors)


def _as_one_picture(sources: Sequence[Source], settings: Sequence[str]) -> list[Source]:
    """Several themes drawn together: what they share keeps its weight, what is foreign to the others loses.

    Each keeps its heaviest colour whole, of equals the one nearest to the others.
    """
    pictures = any(s.label not in settings for s in sources)
    if pictures:
        sources = [replace(s, mass=s.mass * (_SETTING if s.label in settings else 1.0)) for s in sources]
    out = []
    for source in sources:
        others = [s for s in sources if s.label != source.label]
        if not others:
            out.append(source)
            continue
        labs = np.array([lab for lab, _ in source.colours])
        mass = sum(s.mass for s in others)
        shared = sum(
            (s.mass * kin(labs, np.array([lab for lab, _ in s.colours])) for s in others), np.zeros(len(labs))
        )
        affinity = shared / mass
        weight = np.array([part for _, part in source.colours])
        factor = 1 - _FOREIGN * min(1.0, mass / source.mass) * (1 - affinity)
        chief = max(range(len(labs)), key=lambda i: (weight[i], affinity[i]))
        factor[chief] = 1.0
        # Beside two others and more, what is foreign to them all is left to them.
        alone = (1 - affinity) * mass / (mass + source.mass) > _ALONE
        alone[chief] = False
        made = np.where(alone, 0.0, weight * factor)
        made *= weight.sum() / made.sum()
        colours = tuple(
            (lab, float(part)) for (lab, _), part in zip(source.colours, made, strict=True) if part > 0
        )
        out.append(replace(source, colours=colours))
    return out


def _clustered(anchors: list[Anchor]) -> list[Anchor]:
    """Many anchors grouped into `MOST` by agglomerative clustering in CIELAB.

    Each group is told by its heaviest member, so that no colour is invented.
    """
    from sklearn.cluster import AgglomerativeClustering

    labs = np.array([a.lab for a in anchors])
    groups = AgglomerativeClustering(n_clusters=MOST, linkage="average").fit_predict(labs)
    out = []
    for group in range(MOST):
        members = [a for a, g in zip(anchors, groups, strict=True) if g == group]
        heaviest = max(members, key=lambda a: (a.weight, a.lab))
        out.append(Anchor(heaviest.lab, sum(a.weight for a in members), heaviest.source))
    return out


def many_coloured(anchors: Sequence[Anchor]) -> float:
    """How many-coloured a theme is, 0 (two hues or fewer) to 1 (five hues and more).

    The effective number of hues is the exponential of the entropy of the anchors'
    weights over eight hue sectors, greys left out.
    """
    if not anchors:
        return 0.0
    lch = lab_to_lch(np.array([a.lab for a in anchors]))
    weight = np.array([a.weight for a in anchors]) * (lch[:, 1] > 18)
    if weight.sum() <= 0:
        return 0.0
    sectors = np.bincount((lch[:, 2] // 45).astype(int), weights=weight, minlength=8)
    part = sectors[sectors > 0] / sectors.sum()
    hues = float(np.exp(-(part * np.log(part)).sum()))
    return float(np.clip((hues - 2) / 3, 0, 1) * min(1.0, weight.sum() / 0.6))
