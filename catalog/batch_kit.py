"""From a batch as it is kept to the core's value of its kit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from themekit.colour.names import names_of
from themekit.colour.tint import tint_of
from themekit.make.kit import Cut, Kit, Topping
from themekit.values import Gel, Lab, Shelf, Tint


def kit_of(batch: Mapping[str, Any], shelf: Shelf, staples: Sequence[Gel], basics: Mapping[str, Lab]) -> Kit:
    """The core's value of what a batch's kit holds; tints are as their recipes are predicted to look.

    Jars, cutters and gels that are on the shelf no more are left out; see `gone`.
    """
    gels = {gel.id: gel for gel in shelf.gels}
    by_name = {gel.name: gel for gel in staples}
    names = names_of(basics)
    tints: list[Tint] = []
    for one in batch["tints"]:
        found = [(gels.get(d["gel_id"]) or by_name.get(d["gel"]), d["g_per_100g"]) for d in one["recipe"]]
        doses = [(gel, grams) for gel, grams in found if gel is not None and gel.k]
        made = tint_of([grams for _, grams in doses], [gel for gel, _ in doses])
        tints.append(replace(made, name=names.nearest(made.lab)[0]))
    jars, cutters = {jar.id: jar for jar in shelf.jars}, {cutter.id: cutter for cutter in shelf.cutters}
    return Kit(
        theme=batch["theme"],
        tints=tuple(tints),
        toppings=tuple(Topping(jars[j["id"]], j["share"]) for j in batch["jars"] if j["id"] in jars),
        cuts=tuple(Cut(cutters[c["id"]], c["cookies"]) for c in batch["cutters"] if c["id"] in cutters),
        serve=batch["serve"],
    )


def gone(batch: Mapping[str, Any], shelf: Shelf) -> list[str]:
    """What of a batch is on the shelf no more, in plain sentences."""
    there = {
        "jars": {jar.id for jar in shelf.jars},
        "cutters": {cutter.id for cutter in shelf.cutters},
    }
    told = [
        f"A {what[:-1]} of this batch (id {one['id']}) is on the shelf no more: swap it."
        for what, ids in there.items()
        for one in batch[what]
        if one["id"] not in ids
    ]
    gels = {gel.id for gel in shelf.gels}
    lost = {
        d["gel"]
        for t in batch["tints"]
        for d in t["recipe"]
        if d["gel_id"] is not None and d["gel_id"] not in gels
    }
    return told + [
        f"The gel {name} of this batch is on the shelf no more: choose the tint anew." for name in sorted(lost)
    ]
