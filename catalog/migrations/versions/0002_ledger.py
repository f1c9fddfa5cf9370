"""The ledger of moves, batches and orders; what stood on the shelf becomes its first moves."""

from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_ITEMS = {"jars": "jar_id", "gels": "gel_id", "boxes": "box_id", "supplies": "supply_id"}
_ON_HAND = {"jars": "on_hand_mg", "gels": "on_hand_mg", "boxes": "on_hand", "supplies": "on_hand_milli"}
_ONE_ITEM = " + ".join(f"(CASE WHEN {column} IS NULL THEN 0 ELSE 1 END)" for column in _ITEMS.values())
_KINDS = "kind IN ('bought', 'counted', 'used', 'given away', 'spoiled', 'undone')"
_STATES = "state IN ('sketched', 'promised', 'packed', 'sold', 'left over', 'marked down', 'spoiled', 'dropped')"


def upgrade() -> None:
    """Add columns and tables, then write what is on hand as counted moves."""
    with op.batch_alter_table("shelves") as shelves:
        shelves.add_column(sa.Column("stock_revision", sa.Integer(), nullable=False, server_default="1"))
        shelves.add_column(_json("settings", nullable=True))
    for table, on_hand in _ON_HAND.items():
        _stocked(table, on_hand)
    _orders()
    _batches()
    _lines()
    _moves()
    op.create_table(
        "answers",
        *_start("answers"),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("question", sa.String(64), nullable=False),
        _json("answer"),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("length(key) > 0", name=op.f("ck_answers_key_not_blank")),
        sa.UniqueConstraint("shelf_id", "key", name=op.f("uq_answers_shelf_id_key")),
        sqlite_autoincrement=True,
    )
    _first_moves()


def downgrade() -> None:
    """Refused: going back would drop the baker's ledger."""
    raise NotImplementedError("Restore the copy that was kept beside the database instead.")


def _stocked(table: str, on_hand: str) -> None:
    """What is promised and how unsure the count is; of jars also what a full and an empty one weigh."""
    held = f"reserved = 0 OR (reserved > 0 AND {on_hand} IS NOT NULL AND reserved <= {on_hand})"
    with op.batch_alter_table(table) as changed:
        for column in ("reserved", "uncertain"):
            changed.add_column(sa.Column(column, sa.BigInteger(), nullable=False, server_default="0"))
        if table == "jars":
            changed.add_column(sa.Column("full_mg", sa.BigInteger(), nullable=True))
            changed.add_column(sa.Column("empty_jar_mg", sa.BigInteger(), nullable=True))
            changed.add_column(sa.Column("used_on", sa.Date(), nullable=True))
            changed.create_check_constraint(op.f("ck_jars_full_mg_from_1"), "full_mg >= 1")
            changed.create_check_constraint(op.f("ck_jars_empty_jar_mg_from_0"), "empty_jar_mg >= 0")
        changed.create_check_constraint(op.f(f"ck_{table}_reserved_on_hand"), held)
        changed.create_check_constraint(op.f(f"ck_{table}_uncertain_from_0"), "uncertain >= 0")


def _orders() -> None:
    op.create_table(
        "orders",
        *_start("orders", version=True),
        sa.Column("customer", sa.String(120), nullable=True),
        sa.Column("customer_key", sa.String(400), nullable=True),
        sa.Column("contact", sa.String(200), nullable=True),
        sa.Column("due", sa.Date(), nullable=True),
        sa.Column("time", sa.String(5), nullable=True),
        sa.Column("total_micro", sa.BigInteger(), nullable=True),
        sa.Column("deposit_micro", sa.BigInteger(), nullable=True),
        sa.Column("paid", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(2000), nullable=True),
        sa.Column("said", sa.String(4000), nullable=True),
        sa.CheckConstraint("deposit_micro >= 0", name=op.f("ck_orders_deposit_micro_from_0")),
        sa.CheckConstraint("total_micro >= 0", name=op.f("ck_orders_total_micro_from_0")),
        sa.UniqueConstraint("shelf_id", "id", name=op.f("uq_orders_shelf_id_id")),
        sqlite_autoincrement=True,
    )


def _batches() -> None:
    outcomes = ("sold", "left_over", "marked_down", "spoiled")
    op.create_table(
        "batches",
        *_start("batches", version=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("theme", sa.String(2000), nullable=False),
        sa.Column("kits", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(12), nullable=False),
        sa.Column("due", sa.Date(), nullable=True),
        sa.Column("order_id", sa.Integer(), nullable=True),
        _json("choice"),
        _json("settings", nullable=True),
        _json("needs", nullable=True),
        sa.Column("note", sa.String(2000), nullable=True),
        sa.Column("lines_revision", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("promised_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("packed_at", sa.DateTime(timezone=True), nullable=True),
        *(sa.Column(word, sa.Integer(), nullable=False) for word in outcomes),
        sa.CheckConstraint("kits >= 1 AND kits <= 1000", name=op.f("ck_batches_kits_1_to_1000")),
        sa.CheckConstraint(_STATES, name=op.f("ck_batches_state_known")),
        sa.CheckConstraint(" AND ".join(f"{w} >= 0" for w in outcomes), name=op.f("ck_batches_outcome_from_0")),
        _within("batches", "order_id", "orders"),
        sa.UniqueConstraint("shelf_id", "id", name=op.f("uq_batches_shelf_id_id")),
        sqlite_autoincrement=True,
    )


def _lines() -> None:
    op.create_table(
        "batch_lines",
        *_start("batch_lines"),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("needed", sa.BigInteger(), nullable=True),
        sa.Column("held", sa.BigInteger(), nullable=False),
        *_items("batch_lines"),
        sa.CheckConstraint("needed >= 0", name=op.f("ck_batch_lines_needed_from_0")),
        sa.CheckConstraint(
            "held = 0 OR (held > 0 AND needed IS NOT NULL AND held <= needed)",
            name=op.f("ck_batch_lines_held_within_needed"),
        ),
        _within("batch_lines", "batch_id", "batches"),
        *(
            sa.UniqueConstraint("batch_id", column, name=op.f(f"uq_batch_lines_batch_id_{column}"))
            for column in _ITEMS.values()
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_batch_lines_shelf_id_batch_id", "batch_lines", ["shelf_id", "batch_id"])


def _moves() -> None:
    op.create_table(
        "moves",
        *_start("moves"),
        sa.Column("kind", sa.String(12), nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.Column("uncertain", sa.BigInteger(), nullable=False),
        sa.Column("from_unknown", sa.Boolean(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("cause", sa.String(120), nullable=False),
        sa.Column("note", sa.String(500), nullable=True),
        sa.Column("lot", sa.String(120), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("undoes", sa.Integer(), nullable=True),
        *_items("moves"),
        sa.CheckConstraint(_KINDS, name=op.f("ck_moves_kind_known")),
        sa.CheckConstraint("uncertain >= 0", name=op.f("ck_moves_uncertain_from_0")),
        _within("moves", "batch_id", "batches"),
        _within("moves", "undoes", "moves"),
        sa.UniqueConstraint("shelf_id", "id", name=op.f("uq_moves_shelf_id_id")),
        sa.UniqueConstraint("undoes", name=op.f("uq_moves_undoes")),
        sqlite_autoincrement=True,
    )
    for column in (*_ITEMS.values(), "batch_id"):
        op.create_index(f"ix_moves_shelf_id_{column}", "moves", ["shelf_id", column])


def _first_moves() -> None:
    """Balances are sums of moves, so what was entered before there were any becomes one."""
    connection = op.get_bind()
    moves = sa.table(
        "moves",
        *(sa.column(name) for name in ("shelf_id", "kind", "amount", "uncertain", "cause", *_ITEMS.values())),
        sa.column("from_unknown", sa.Boolean()),
        sa.column("at", sa.DateTime(timezone=True)),
    )
    now = datetime.now(UTC)
    for table, on_hand in _ON_HAND.items():
        rows = connection.execute(
            sa.text(
                f"SELECT shelf_id, id, {on_hand} AS amount FROM {table} WHERE {on_hand} IS NOT NULL ORDER BY id"
            )
        ).all()
        common = {"kind": "counted", "uncertain": 0, "from_unknown": True, "at": now}
        common["cause"] = "entered before the ledger"
        made: list[dict[str, Any]] = [
            {**common, "shelf_id": row.shelf_id, "amount": row.amount, _ITEMS[table]: row.id} for row in rows
        ]
        if made:
            connection.execute(sa.insert(moves), made)


def _start(table: str, version: bool = False) -> list[Any]:
    """The columns and constraints that begin every table of a shelf."""
    begun: list[Any] = [
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shelf_id", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.ForeignKeyConstraint(["shelf_id"], ["shelves.id"], name=op.f(f"fk_{table}_shelf_id_shelves")),
    ]
    if version:
        begun += [
            sa.Column("version", sa.Integer(), nullable=False),
            sa.Column("archived_at", sa.DateTime(timezone=True), nullable=True),
            sa.CheckConstraint("version >= 1", name=op.f(f"ck_{table}_version_from_1")),
        ]
    return begun


def _items(table: str) -> list[Any]:
    """A reference to exactly one stocked item, each within its shelf."""
    return [
        *(sa.Column(column, sa.Integer(), nullable=True) for column in _ITEMS.values()),
        *(_within(table, column, items) for items, column in _ITEMS.items()),
        sa.CheckConstraint(f"{_ONE_ITEM} = 1", name=op.f(f"ck_{table}_one_item")),
    ]


def _within(table: str, column: str, other: str) -> Any:
    """A reference that cannot leave the shelf."""
    return sa.ForeignKeyConstraint(
        ["shelf_id", column],
        [f"{other}.shelf_id", f"{other}.id"],
        name=op.f(f"fk_{table}_shelf_id_{column}_{other}"),
    )


def _json(name: str, nullable: bool = False) -> Any:
    return sa.Column(name, sa.JSON(none_as_null=True), nullable=nullable)
