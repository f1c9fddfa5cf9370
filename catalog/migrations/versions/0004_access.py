"""Who may come in: passphrases, sessions, tokens, one-time links."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def _secrets(name: str, *more: sa.schema.SchemaItem) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shelf_id", sa.Integer(), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        *more,
        sa.CheckConstraint("length(hash) = 64", name=op.f(f"ck_{name}_hash_of_64")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
        sa.ForeignKeyConstraint(["shelf_id"], ["shelves.id"], name=op.f(f"fk_{name}_shelf_id_shelves")),
        sa.UniqueConstraint("hash", name=op.f(f"uq_{name}_hash")),
        sqlite_autoincrement=True,
    )


def upgrade() -> None:
    """Add four tables; nothing that is there changes."""
    op.create_table(
        "passphrases",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shelf_id", sa.Integer(), nullable=False),
        sa.Column("hash", sa.String(255), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("length(hash) > 40", name=op.f("ck_passphrases_hash_is_long")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_passphrases")),
        sa.ForeignKeyConstraint(["shelf_id"], ["shelves.id"], name=op.f("fk_passphrases_shelf_id_shelves")),
        sa.UniqueConstraint("shelf_id", name=op.f("uq_passphrases_shelf_id")),
        sqlite_autoincrement=True,
    )
    _secrets("sessions", sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False))
    _secrets(
        "tokens",
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("name_key", sa.String(400), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("length(name_key) > 0", name=op.f("ck_tokens_name_not_blank")),
    )
    living = sa.text("revoked_at IS NULL")
    op.create_index(
        "uq_tokens_shelf_id_name_key",
        "tokens",
        ["shelf_id", "name_key"],
        unique=True,
        sqlite_where=living,
        postgresql_where=living,
    )
    _secrets("links")


def downgrade() -> None:
    """Refused: going back would open what was closed."""
    raise NotImplementedError("Restore the copy that was kept beside the database instead.")
