"""A whole shelf as the core's value, read within a transaction."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from catalog.absorption import absorption, model_version
from catalog.convert import (
    api_row,
    box_value,
    composition,
    cutter_value,
    gel_value,
    jar_value,
    supply_value,
    theme_value,
)
from catalog.lookup import things
from catalog.tables import TABLES, GelTable, ShelfTable
from themekit.values import Kind, Shelf


def shelf_value(session: Session, shelf: ShelfTable, kinds: Sequence[Kind]) -> tuple[Shelf, bool]:
    """The shelf, each kind of thing by id, and whether an older model's absorption stands in its rows.

    Such absorption is worked out anew, but not written.
    """
    rows = {r: things(session, shelf.id, r) for r in TABLES}
    gels = [(api_row("gels", row, ()), row) for row in rows["gels"] if isinstance(row, GelTable)]
    value = Shelf(
        id=shelf.id,
        name=shelf.name,
        jars=tuple(jar_value(api_row("jars", row, kinds)) for row in rows["jars"]),
        cutters=tuple(cutter_value(api_row("cutters", row, ())) for row in rows["cutters"]),
        gels=tuple(
            gel_value(row, kept.k if kept.k_model == model_version() else absorption(row)) for row, kept in gels
        ),
        dough=composition(shelf.dough),
        icing=composition(shelf.icing),
        themes=tuple(theme_value(api_row("themes", row, ())) for row in rows["themes"]),
        boxes=tuple(box_value(api_row("boxes", row, ())) for row in rows["boxes"]),
        supplies=tuple(supply_value(api_row("supplies", row, ())) for row in rows["supplies"]),
    )
    return value, any(row.k_model != model_version() for _, row in gels)
