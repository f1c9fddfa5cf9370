"""${message}"""

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add CHECK constraints by hand: they are not seen by autogenerate."""
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    """Steps only go forward; a copy of the database is kept before each."""
    raise NotImplementedError("Restore the copy that was kept beside the database instead.")
