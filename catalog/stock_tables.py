"""Tables of what happens: moves, batches with what they need, orders, answers kept, ideas chosen.

Amounts are in the item's own whole unit: mg for jars and gels, pieces for boxes,
thousandths of the unit for supplies.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Date,
    DateTime,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    String,
    UniqueConstraint,
)
from sqlalchemy.orm import Mapped, mapped_column

from catalog.tables import _JSON, Base, Whole
from themekit.suggest.taste import WHAT

#: What can be stocked, and the column of each table below that refers to it.
STOCKED = {"jars": "jar_id", "gels": "gel_id", "boxes": "box_id", "supplies": "supply_id"}
#: How a move came about.
MOVES = ("bought", "counted", "used", "given away", "spoiled", "undone")
#: What becomes of a batch, and how its kits can end.
STATES = ("sketched", "promised", "packed", "sold", "left over", "marked down", "spoiled", "dropped")
OUTCOMES = ("sold", "left over", "marked down", "spoiled")
_ONE_ITEM = " + ".join(f"(CASE WHEN {column} IS NULL THEN 0 ELSE 1 END)" for column in STOCKED.values())


def _in(column: str, words: tuple[str, ...]) -> str:
    return f"{column} IN ({', '.join(repr(word) for word in words)})"


def _items() -> tuple[ForeignKeyConstraint, ...]:
    return tuple(
        ForeignKeyConstraint(["shelf_id", column], [f"{table}.shelf_id", f"{table}.id"])
        for table, column in STOCKED.items()
    )


class OfItem:
    """A reference to exactly one stocked item."""

    jar_id: Mapped[int | None]
    gel_id: Mapped[int | None]
    box_id: Mapped[int | None]
    supply_id: Mapped[int | None]


class OrderTable(Base):
    """What one customer wants, or a market without a name; removing it erases what is personal."""

    __tablename__ = "orders"
    __table_args__ = (
        UniqueConstraint("shelf_id", "id"),
        CheckConstraint("version >= 1", name="version_from_1"),
        CheckConstraint("deposit_micro >= 0", name="deposit_micro_from_0"),
        CheckConstraint("total_micro >= 0", name="total_micro_from_0"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    version: Mapped[int] = mapped_column(default=1)
    archived_at: Mapped[datetime | None] = mapped_column(DateTime(timezone=True))
    customer: Mapped[str | None] = mapped_column(String(120))
    customer_key: Mapped[str | None] = mapped_column(String(400))
    contact: Mapped[str | None] = mapped_column(String(200))
    due: Mapped[date | None] = mapped_column(Date)
    time: Mapped[str | None] = mapped_column(String(5))
    total_micro: Mapped[int | None] = mapped_column(Whole)
    deposit_micro: Mapped[int | None] = mapped_column(Whole)
    paid: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str | None] = mapped_column(String(2000))
    said: Mapped[str | None] = mapped_column(String(4000))
    letter: Mapped[str | None] = mapped_column(String(20000))
    needs: Mapped[dict[str, Any] | None] = mapped_column(_JSON)


class BatchTable(Base):
    """An idea made for a number of kits; `choice` is the idea, `settings` what differs from the shelf's."""

    __tablename__ = "batches"
    __table_args__ = (
        UniqueConstraint("shelf_id", "id"),
        CheckConstraint("version >= 1", name="version_from_1"),
        CheckConstraint("kits >= 1 AND kits <= 1000", name="kits_1_to_1000"),
        CheckConstraint(_in("state", STATES), name="state_known"),
        CheckConstraint(
            " AND ".join(f"{word.replace(' ', '_')} >= 0" for word in OUTCOMES), name="outcome_from_0"
        ),
        ForeignKeyConstraint(["shelf_id", "order_id"], ["orders.shelf_id", "orders.id"]),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    version: Mapped[int] = mapped_column(default=1)
    archived_at: Mapped[datetime | None] = mapped_column(DateTime(timezone=True))
    name: Mapped[str] = mapped_column(String(120))
    theme: Mapped[str] = mapped_column(String(2000))
    kits: Mapped[int]
    state: Mapped[str] = mapped_column(String(12), default="sketched")
    due: Mapped[date | None] = mapped_column(Date)
    order_id: Mapped[int | None]
    choice: Mapped[dict[str, Any]] = mapped_column(_JSON)
    settings: Mapped[dict[str, Any] | None] = mapped_column(_JSON)
    needs: Mapped[dict[str, Any] | None] = mapped_column(_JSON)
    note: Mapped[str | None] = mapped_column(String(2000))
    lines_revision: Mapped[int] = mapped_column(default=0)
    created_at: Mapped[datetime] = mapped_column(DateTime(timezone=True))
    promised_at: Mapped[datetime | None] = mapped_column(DateTime(timezone=True))
    packed_at: Mapped[datetime | None] = mapped_column(DateTime(timezone=True))
    sold: Mapped[int] = mapped_column(default=0)
    left_over: Mapped[int] = mapped_column(default=0)
    marked_down: Mapped[int] = mapped_column(default=0)
    spoiled: Mapped[int] = mapped_column(default=0)


class LineTable(OfItem, Base):
    """What a batch needs of one item, None where unknown, and how much of it is held for the batch."""

    __tablename__ = "batch_lines"
    __table_args__ = (
        CheckConstraint(f"{_ONE_ITEM} = 1", name="one_item"),
        CheckConstraint("needed >= 0", name="needed_from_0"),
        CheckConstraint(
            "held = 0 OR (held > 0 AND needed IS NOT NULL AND held <= needed)", name="held_within_needed"
        ),
        ForeignKeyConstraint(["shelf_id", "batch_id"], ["batches.shelf_id", "batches.id"]),
        *_items(),
        # One for each item: with all of them together every NULL would make a line differ.
        *(UniqueConstraint("batch_id", column) for column in STOCKED.values()),
        Index("ix_batch_lines_shelf_id_batch_id", "shelf_id", "batch_id"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    batch_id: Mapped[int]
    needed: Mapped[int | None] = mapped_column(Whole)
    held: Mapped[int] = mapped_column(Whole, default=0)


class MoveTable(OfItem, Base):
    """One line of the ledger; never changed, never removed: the database's own triggers refuse it.

    `from_unknown` tells that what stood before was not known, so that undoing can go back to that.
    """

    __tablename__ = "moves"
    __table_args__ = (
        CheckConstraint(f"{_ONE_ITEM} = 1", name="one_item"),
        CheckConstraint(_in("kind", MOVES), name="kind_known"),
        CheckConstraint("uncertain >= 0", name="uncertain_from_0"),
        ForeignKeyConstraint(["shelf_id", "batch_id"], ["batches.shelf_id", "batches.id"]),
        ForeignKeyConstraint(["shelf_id", "undoes"], ["moves.shelf_id", "moves.id"]),
        *_items(),
        UniqueConstraint("shelf_id", "id"),
        UniqueConstraint("undoes"),
        *(Index(f"ix_moves_shelf_id_{column}", "shelf_id", column) for column in (*STOCKED.values(), "batch_id")),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    kind: Mapped[str] = mapped_column(String(12))
    amount: Mapped[int] = mapped_column(Whole)
    uncertain: Mapped[int] = mapped_column(Whole, default=0)
    from_unknown: Mapped[bool] = mapped_column(default=False)
    at: Mapped[datetime] = mapped_column(DateTime(timezone=True))
    cause: Mapped[str] = mapped_column(String(120))
    note: Mapped[str | None] = mapped_column(String(500))
    lot: Mapped[str | None] = mapped_column(String(120))
    batch_id: Mapped[int | None]
    undoes: Mapped[int | None]


class AnswerTable(Base):
    """What was answered to a request with an Idempotency-Key, so that it is carried out once."""

    __tablename__ = "answers"
    __table_args__ = (
        UniqueConstraint("shelf_id", "key"),
        CheckConstraint("length(key) > 0", name="key_not_blank"),
        Index("ix_answers_shelf_id_at", "shelf_id", "at"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    key: Mapped[str] = mapped_column(String(200))
    question: Mapped[str] = mapped_column(String(64))
    answer: Mapped[dict[str, Any]] = mapped_column(_JSON)
    at: Mapped[datetime] = mapped_column(DateTime(timezone=True))


class ChoiceTable(Base):
    """What became of one idea; `key` tells the idea, so that a change of mind replaces what was said."""

    __tablename__ = "choices"
    __table_args__ = (
        UniqueConstraint("shelf_id", "key"),
        CheckConstraint("length(key) > 0", name="key_not_blank"),
        CheckConstraint(_in("what", tuple(WHAT)), name="what_known"),
        ForeignKeyConstraint(["shelf_id", "batch_id"], ["batches.shelf_id", "batches.id"]),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    key: Mapped[str] = mapped_column(String(64))
    what: Mapped[str] = mapped_column(String(12))
    theme: Mapped[str] = mapped_column(String(200))
    parts: Mapped[dict[str, Any]] = mapped_column(_JSON)
    batch_id: Mapped[int | None]
    at: Mapped[datetime] = mapped_column(DateTime(timezone=True))


class TasteTable(Base):
    """What a shelf's choices tell; `revision` grows with each of them, `fitted` is of `fitted_revision`."""

    __tablename__ = "tastes"
    __table_args__ = (
        UniqueConstraint("shelf_id"),
        CheckConstraint("revision >= 1", name="revision_from_1"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    revision: Mapped[int] = mapped_column(default=1)
    fitted_revision: Mapped[int | None]
    fitted: Mapped[dict[str, Any] | None] = mapped_column(_JSON)
