"""What became of ideas, and what was learned from it."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add two tables; nothing that is there changes."""
    op.create_table(
        "choices",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shelf_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(64), nullable=False),
        sa.Column("what", sa.String(12), nullable=False),
        sa.Column("theme", sa.String(200), nullable=False),
        sa.Column("parts", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("length(key) > 0", name=op.f("ck_choices_key_not_blank")),
        sa.CheckConstraint(
            "what IN ('kept', 'passed over', 'sold out', 'left over')", name=op.f("ck_choices_what_known")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_choices")),
        sa.ForeignKeyConstraint(["shelf_id"], ["shelves.id"], name=op.f("fk_choices_shelf_id_shelves")),
        sa.ForeignKeyConstraint(
            ["shelf_id", "batch_id"],
            ["batches.shelf_id", "batches.id"],
            name=op.f("fk_choices_shelf_id_batch_id_batches"),
        ),
        sa.UniqueConstraint("shelf_id", "key", name=op.f("uq_choices_shelf_id_key")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "tastes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shelf_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("fitted_revision", sa.Integer(), nullable=True),
        sa.Column("fitted", sa.JSON(none_as_null=True), nullable=True),
        sa.CheckConstraint("revision >= 1", name=op.f("ck_tastes_revision_from_1")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tastes")),
        sa.ForeignKeyConstraint(["shelf_id"], ["shelves.id"], name=op.f("fk_tastes_shelf_id_shelves")),
        sa.UniqueConstraint("shelf_id", name=op.f("uq_tastes_shelf_id")),
        sqlite_autoincrement=True,
    )


def downgrade() -> None:
    """Refused: going back would drop what the baker told."""
    raise NotImplementedError("Restore the copy that was kept beside the database instead.")
