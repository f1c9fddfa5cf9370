"""What was chosen for the columns of her own lists."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add a table; nothing that is there changes."""
    op.create_table(
        "columns_chosen",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shelf_id", sa.Integer(), nullable=False),
        sa.Column("what", sa.String(20), nullable=False),
        sa.Column("title", sa.String(400), nullable=False),
        sa.Column("stands_for", sa.String(60), nullable=False),
        sa.CheckConstraint("length(title) > 0", name=op.f("ck_columns_chosen_title_not_blank")),
        sa.ForeignKeyConstraint(["shelf_id"], ["shelves.id"], name=op.f("fk_columns_chosen_shelf_id_shelves")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_columns_chosen")),
        sa.UniqueConstraint("shelf_id", "what", "title", name=op.f("uq_columns_chosen_shelf_id_what_title")),
        sqlite_autoincrement=True,
    )


def downgrade() -> None:
    """Refused, as for every step."""
    raise NotImplementedError("Restore the copy that was kept beside the database instead.")
