"""The tables. Whole numbers only: mg, µm, µg and millionths of money; CIELAB in hundredths.

Every table but the first carries `shelf_id`, and (shelf_id, id) is unique in each, so
that a table that refers to another can do so within one shelf. A row that was removed
stays with `archived_at` set; names are unique among the others. What stands of an item
is on its row, with what is promised of it; `catalog.stock_tables` holds the moves that
it adds up from.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    CheckConstraint,
    Date,
    DateTime,
    ForeignKey,
    Index,
    MetaData,
    String,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from themekit.values import DIETS

#: Names of constraints, so that migrations can speak of them on both databases.
NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
# Lists and small objects; a Python None is an SQL NULL, which means unknown.
_JSON = JSON(none_as_null=True)
Whole = BigInteger


class Base(DeclarativeBase):
    """Base of all tables."""

    metadata = MetaData(naming_convention=NAMING)


class ShelfTable(Base):
    """One baker's shelf; `revision` grows with every change of anything on it, `stock_revision` with moves."""

    __tablename__ = "shelves"
    __table_args__ = (
        UniqueConstraint("name_key"),
        CheckConstraint("length(name_key) > 0", name="name_not_blank"),
        CheckConstraint("revision >= 1", name="revision_from_1"),
        CheckConstraint("length(currency) = 3", name="currency_of_3_letters"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    name_key: Mapped[str] = mapped_column(String(400))
    revision: Mapped[int] = mapped_column(default=1)
    stock_revision: Mapped[int] = mapped_column(default=1)
    currency: Mapped[str | None] = mapped_column(String(3))
    locale: Mapped[str | None] = mapped_column(String(35))
    region: Mapped[str | None] = mapped_column(String(120))
    dough: Mapped[dict[str, Any] | None] = mapped_column(_JSON)
    icing: Mapped[dict[str, Any] | None] = mapped_column(_JSON)
    settings: Mapped[dict[str, Any] | None] = mapped_column(_JSON)


def _arguments(table: str, *never_below: tuple[str, int], diet: bool = False, stock: str = "") -> tuple[Any, ...]:
    """Constraints that every table of a shelf's things has, lowest whole numbers, and stock's own."""
    checks = [
        CheckConstraint("length(name_key) > 0", name="name_not_blank"),
        CheckConstraint("version >= 1", name="version_from_1"),
        *(CheckConstraint(f"{column} >= {low}", name=f"{column}_from_{low}") for column, low in never_below),
    ]
    if diet:
        words = ", ".join(f"'{word}'" for word in DIETS)
        checks.append(CheckConstraint(f"diet IN ({words})", name="diet_known"))
    if stock:
        held = f"reserved = 0 OR (reserved > 0 AND {stock} IS NOT NULL AND reserved <= {stock})"
        checks += [
            CheckConstraint(held, name="reserved_on_hand"),
            CheckConstraint("uncertain >= 0", name="uncertain_from_0"),
        ]
    living = text("archived_at IS NULL")
    return (
        UniqueConstraint("shelf_id", "id"),
        Index(
            f"uq_{table}_shelf_id_name_key",
            "shelf_id",
            "name_key",
            unique=True,
            # On PostgreSQL too, as the steps make it; to say so here would load its dialect at every start.
            sqlite_where=living,
        ),
        *checks,
        {"sqlite_autoincrement": True},
    )


class Owned(Base):
    """What every thing on a shelf has."""

    __abstract__ = True

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    name: Mapped[str] = mapped_column(String(120))
    name_key: Mapped[str] = mapped_column(String(400))
    version: Mapped[int] = mapped_column(default=1)
    archived_at: Mapped[datetime | None] = mapped_column(DateTime(timezone=True))


class Composed:
    """Columns of what needs are judged by."""

    allergens: Mapped[list[str] | None] = mapped_column(_JSON)
    may_contain: Mapped[list[str] | None] = mapped_column(_JSON)
    additives: Mapped[list[str] | None] = mapped_column(_JSON)
    diet: Mapped[str | None] = mapped_column(String(10))


class Stocked(Owned):
    """How much of the amount on hand is promised to batches, and how unsure the last count is."""

    __abstract__ = True

    reserved: Mapped[int] = mapped_column(Whole, default=0)
    uncertain: Mapped[int] = mapped_column(Whole, default=0)


class JarTable(Composed, Stocked):
    """Jars as entered; blanks are filled by the kind's defaults when they are read."""

    __tablename__ = "jars"
    __table_args__ = _arguments(
        "jars",
        ("grain_um", 1),
        ("density_micro", 1),
        ("on_hand_mg", 0),
        ("price_micro", 0),
        ("full_mg", 1),
        ("empty_jar_mg", 0),
        diet=True,
        stock="on_hand_mg",
    )

    kind: Mapped[str] = mapped_column(String(120))
    colours: Mapped[list[list[int]]] = mapped_column(_JSON)
    form: Mapped[str | None] = mapped_column(String(20))
    grain_um: Mapped[int | None] = mapped_column(Whole)
    finish: Mapped[str | None] = mapped_column(String(20))
    hardness: Mapped[str | None] = mapped_column(String(20))
    density_micro: Mapped[int | None] = mapped_column(Whole)
    on_hand_mg: Mapped[int | None] = mapped_column(Whole)
    full_mg: Mapped[int | None] = mapped_column(Whole)
    empty_jar_mg: Mapped[int | None] = mapped_column(Whole)
    best_before: Mapped[date | None] = mapped_column(Date)
    last_used: Mapped[date | None] = mapped_column(Date)
    used_on: Mapped[date | None] = mapped_column(Date)
    price_micro: Mapped[int | None] = mapped_column(Whole)
    motifs: Mapped[list[str]] = mapped_column(_JSON)
    hard_small_pieces: Mapped[bool | None]
    melts_in_heat: Mapped[bool | None]
    lot: Mapped[str | None] = mapped_column(String(120))


class CutterTable(Owned):
    """Cookie cutters."""

    __tablename__ = "cutters"
    __table_args__ = _arguments("cutters", ("width_um", 1), ("height_um", 1), ("thickness_um", 1))

    motifs: Mapped[list[str]] = mapped_column(_JSON)
    colours: Mapped[list[list[int]]] = mapped_column(_JSON)
    width_um: Mapped[int | None] = mapped_column(Whole)
    height_um: Mapped[int | None] = mapped_column(Whole)
    thickness_um: Mapped[int | None] = mapped_column(Whole)
    thin_parts: Mapped[bool | None]


class GelTable(Composed, Stocked):
    """Gels with their absorption `k` per g in 100 g of icing, and the model that gave it."""

    __tablename__ = "gels"
    __table_args__ = _arguments(
        "gels", ("dose_ug", 1), ("max_ug", 1), ("on_hand_mg", 0), ("price_micro", 0), diet=True, stock="on_hand_mg"
    )

    swatch: Mapped[list[int]] = mapped_column(_JSON)
    dose_ug: Mapped[int] = mapped_column(Whole)
    max_ug: Mapped[int | None] = mapped_column(Whole)
    natural: Mapped[bool | None]
    on_hand_mg: Mapped[int | None] = mapped_column(Whole)
    price_micro: Mapped[int | None] = mapped_column(Whole)
    k: Mapped[list[float]] = mapped_column(_JSON)
    k_model: Mapped[int]


class BoxTable(Stocked):
    """Cartons to pack a kit in; sizes are inner ones."""

    __tablename__ = "boxes"
    __table_args__ = _arguments(
        "boxes",
        ("length_um", 1),
        ("width_um", 1),
        ("height_um", 1),
        ("on_hand", 0),
        ("price_micro", 0),
        stock="on_hand",
    )

    length_um: Mapped[int | None] = mapped_column(Whole)
    width_um: Mapped[int | None] = mapped_column(Whole)
    height_um: Mapped[int | None] = mapped_column(Whole)
    window: Mapped[bool | None]
    on_hand: Mapped[int | None] = mapped_column(Whole)
    price_micro: Mapped[int | None] = mapped_column(Whole)


class SupplyTable(Stocked):
    """Anything else bought for kits; amounts in thousandths of the unit."""

    __tablename__ = "supplies"
    __table_args__ = _arguments(
        "supplies", ("on_hand_milli", 0), ("pack_size_milli", 1), ("pack_price_micro", 0), stock="on_hand_milli"
    )

    kind: Mapped[str | None] = mapped_column(String(60))
    unit: Mapped[str | None] = mapped_column(String(10))
    on_hand_milli: Mapped[int | None] = mapped_column(Whole)
    pack_size_milli: Mapped[int | None] = mapped_column(Whole)
    pack_price_micro: Mapped[int | None] = mapped_column(Whole)
    allergens: Mapped[list[str] | None] = mapped_column(_JSON)
    may_contain: Mapped[list[str] | None] = mapped_column(_JSON)


class ThemeTable(Owned):
    """The baker's own themes."""

    __tablename__ = "themes"
    __table_args__ = _arguments("themes")

    aliases: Mapped[list[str]] = mapped_column(_JSON)
    anchors: Mapped[list[list[int]]] = mapped_column(_JSON)
    motifs: Mapped[list[str]] = mapped_column(_JSON)
    months: Mapped[list[int]] = mapped_column(_JSON)


class ColumnTable(Base):
    """What a column of her own lists stands for, as she chose it last; "" leaves it out."""

    __tablename__ = "columns_chosen"
    __table_args__ = (
        UniqueConstraint("shelf_id", "what", "title"),
        CheckConstraint("length(title) > 0", name="title_not_blank"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    what: Mapped[str] = mapped_column(String(20))
    title: Mapped[str] = mapped_column(String(400))
    stands_for: Mapped[str] = mapped_column(String(60))


STOCKED_TABLES: dict[str, type[Stocked]] = {
    "jars": JarTable,
    "gels": GelTable,
    "boxes": BoxTable,
    "supplies": SupplyTable,
}
TABLES: dict[str, type[Owned]] = {
    "jars": JarTable,
    "cutters": CutterTable,
    "gels": GelTable,
    "boxes": BoxTable,
    "supplies": SupplyTable,
    "themes": ThemeTable,
}
