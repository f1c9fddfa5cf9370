"""Between clean records, table rows and the core's values; the only place that knows the units kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from catalog.colours import MILLION
from catalog.composition import COMPOSITION
from catalog.rows import FIELDS, TEXTURE, Record, with_defaults
from catalog.tables import JarTable, Owned, Stocked
from themekit.colour.space import labs_to_hex
from themekit.values import (
    Anchor,
    Box,
    ColourShare,
    Composition,
    Cutter,
    Gel,
    Jar,
    Kind,
    Lab,
    Supply,
    Texture,
    Theme,
)

# Each field's column, and how many of the column's whole numbers make one of the field's.
_SCALED: dict[str, tuple[str, int]] = {
    "grain_mm": ("grain_um", 1_000),
    "density_g_per_ml": ("density_micro", MILLION),
    "on_hand_g": ("on_hand_mg", 1_000),
    "full_g": ("full_mg", 1_000),
    "empty_jar_g": ("empty_jar_mg", 1_000),
    "price_per_kg": ("price_micro", MILLION),
    "price": ("price_micro", MILLION),
    "width_mm": ("width_um", 1_000),
    "height_mm": ("height_um", 1_000),
    "length_mm": ("length_um", 1_000),
    "thickness_mm": ("thickness_um", 1_000),
    "dose_g_per_100g": ("dose_ug", MILLION),
    "max_g_per_100g": ("max_ug", MILLION),
    "pack_size": ("pack_size_milli", 1_000),
    "pack_price": ("pack_price_micro", MILLION),
}
_DAYS = ("best_before", "last_used")
_PARTS = {"jars": "share", "themes": "weight"}


def _scaled(resource: str, field: str) -> tuple[str, int] | None:
    if (resource, field) == ("supplies", "on_hand"):
        return "on_hand_milli", 1_000
    return _SCALED.get(field)


def columns(resource: str, record: Mapping[str, Any]) -> Record:
    """The column values that keep a clean record."""
    kept: Record = {}
    for field in FIELDS[resource]:
        value = record[field]
        if field == "texture":
            kept |= {
                "form": value["form"],
                "finish": value["finish"],
                "hardness": value["hardness"],
                "grain_um": _whole(value["grain_mm"], 1_000),
            }
        elif scaled := _scaled(resource, field):
            kept[scaled[0]] = _whole(value, scaled[1])
        elif field in _DAYS:
            kept[field] = value and date.fromisoformat(value)
        elif field in ("colours", "anchors"):
            part = _PARTS.get(resource)
            kept[field] = [_hundredths(c) + ([_whole(c[part], MILLION)] if part else []) for c in value]
        elif field == "swatch":
            kept[field] = _hundredths(value)
        else:
            kept[field] = value
    return kept


def _whole(value: float | None, scale: int) -> int | None:
    return None if value is None else round(value * scale)


def _hundredths(colour: Mapping[str, Any]) -> list[int]:
    return [round(v * 100) for v in colour["lab"]]


def record_of(resource: str, row: Owned) -> Record:
    """The clean record that a table row keeps, as it was entered."""
    record: Record = {}
    for field in FIELDS[resource]:
        if field == "texture":
            record[field] = {
                part: _part(row.grain_um, 1_000) if part == "grain_mm" else getattr(row, part)  # type: ignore[attr-defined]
                for part in TEXTURE
            }
        elif scaled := _scaled(resource, field):
            record[field] = _part(getattr(row, scaled[0]), scaled[1])
        elif field in _DAYS:
            day = getattr(row, field)
            record[field] = day and day.isoformat()
        elif field in ("colours", "anchors"):
            record[field] = _colours(getattr(row, field), _PARTS.get(resource))
        elif field == "swatch":
            record[field] = _colours([getattr(row, field)], None)[0]
        else:
            record[field] = getattr(row, field)
    return record


def _part(value: int | None, scale: int) -> float | None:
    return None if value is None else value / scale


def _colours(kept: Sequence[Sequence[int]], part: str | None) -> list[Record]:
    if not kept:
        return []
    labs = [[v / 100 for v in colour[:3]] for colour in kept]
    shown: list[Record] = [{"lab": lab, "hex": h} for lab, h in zip(labs, labs_to_hex(labs), strict=True)]
    if part:
        for one, colour in zip(shown, kept, strict=True):
            one[part] = colour[3] / MILLION
    return shown


def api_row(resource: str, row: Owned, kinds: Sequence[Kind]) -> Record:
    """A row as the API gives it: id, version, every field, and for jars the defaults."""
    record = record_of(resource, row)
    if isinstance(row, JarTable):
        record = with_defaults(record, kinds)
        record["last_used"] = max(
            filter(None, (record["last_used"], row.used_on and row.used_on.isoformat())), default=None
        )
    if isinstance(row, Stocked):
        scale, of = UNITS_KEPT[resource]
        record |= {f"reserved{of}": row.reserved / scale, f"uncertain{of}": row.uncertain / scale}
    return {"id": row.id, "version": row.version, **record}


#: How many of the whole numbers kept make one of what people count in, and its ending in names.
UNITS_KEPT = {"jars": (1_000, "_g"), "gels": (1_000, "_g"), "boxes": (1, ""), "supplies": (1_000, "")}
#: The column that keeps what is on hand of each.
ON_HAND = {"jars": "on_hand_mg", "gels": "on_hand_mg", "boxes": "on_hand", "supplies": "on_hand_milli"}


def utc(at: datetime) -> datetime:
    """A moment in UTC: SQLite gives it back without its zone, PostgreSQL in the server's."""
    return at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)


def moment(at: datetime | None) -> str | None:
    """A moment in UTC as ISO 8601."""
    return None if at is None else utc(at).isoformat().removesuffix("+00:00") + "Z"


def on_hand_of(resource: str, row: Owned) -> int | None:
    """What is on hand, in the whole unit kept; None where unknown or nothing that is stocked."""
    found: int | None = getattr(row, ON_HAND[resource]) if resource in ON_HAND else None
    return found


def _free(row: Record, of: str = "_g") -> float | None:
    """What is on hand and promised to no batch."""
    on_hand = row[f"on_hand{of}"]
    return None if on_hand is None else round(on_hand - row[f"reserved{of}"], 6)


def composition(record: Mapping[str, Any] | None) -> Composition:
    """Allergens, additives and diet of a record; of None, all unknown."""
    known = {f: (record or {}).get(f) for f in COMPOSITION}
    # An empty list must stay "entered as none"; only None is unknown.
    known |= {f: tuple(value) for f, value in known.items() if isinstance(value, list)}
    return Composition(**known)


def _lab(colour: Mapping[str, Any]) -> Lab:
    L, a, b = colour["lab"]
    return (L, a, b)


def jar_value(row: Record) -> Jar:
    """The core's value of a jar in the API's form."""
    return Jar(
        id=row["id"],
        name=row["name"],
        kind=row["kind"],
        colours=tuple(ColourShare(_lab(c), c["share"]) for c in row["colours"]),
        texture=Texture(**row["texture"]),
        density_g_per_ml=row["density_g_per_ml"],
        on_hand_g=_free(row),
        best_before=row["best_before"] and date.fromisoformat(row["best_before"]),
        last_used=row["last_used"] and date.fromisoformat(row["last_used"]),
        price_per_kg=_decimal(row["price_per_kg"]),
        composition=composition(row),
        motifs=tuple(row["motifs"]),
        hard_small_pieces=row["hard_small_pieces"],
        melts_in_heat=row["melts_in_heat"],
        lot=row["lot"],
        defaults=tuple(row["defaults"]),
    )


def cutter_value(row: Record) -> Cutter:
    """The core's value of a cutter in the API's form."""
    sizes = {f: row[f] for f in ("width_mm", "height_mm", "thickness_mm", "thin_parts")}
    labs = tuple(_lab(c) for c in row["colours"])
    return Cutter(id=row["id"], name=row["name"], motifs=tuple(row["motifs"]), colours=labs, **sizes)


def gel_value(row: Record, k: Sequence[float]) -> Gel:
    """The core's value of a gel in the API's form, with its absorption."""
    return Gel(
        id=row["id"],
        name=row["name"],
        swatch=_lab(row["swatch"]),
        dose_g_per_100g=row["dose_g_per_100g"],
        k=tuple(k),
        max_g_per_100g=row["max_g_per_100g"],
        composition=composition(row),
        natural=row["natural"],
        on_hand_g=_free(row),
        price_per_kg=_decimal(row["price_per_kg"]),
    )


def box_value(row: Record) -> Box:
    """The core's value of a box in the API's form."""
    free = _free(row, "")
    sizes = {f: row[f] for f in ("length_mm", "width_mm", "height_mm", "window")}
    return Box(
        id=row["id"],
        name=row["name"],
        on_hand=None if free is None else int(free),
        price=_decimal(row["price"]),
        **sizes,
    )


def supply_value(row: Record) -> Supply:
    """The core's value of a supply in the API's form."""
    said = {f: None if row[f] is None else tuple(row[f]) for f in ("allergens", "may_contain")}
    return Supply(
        id=row["id"],
        name=row["name"],
        kind=row["kind"],
        unit=row["unit"],
        on_hand=_free(row, ""),
        pack_size=row["pack_size"],
        pack_price=_decimal(row["pack_price"]),
        **said,
    )


def _decimal(amount: float | None) -> Decimal | None:
    return None if amount is None else Decimal(repr(amount))


def theme_value(row: Record) -> Theme:
    """The core's value of a baker's own theme in the API's form."""
    return Theme(
        name=row["name"],
        aliases=tuple(row["aliases"]),
        anchors=tuple(Anchor(_lab(c), c["weight"], row["name"]) for c in row["anchors"]),
        motifs=tuple(row["motifs"]),
        months=tuple(row["months"]),
        own=True,
    )
