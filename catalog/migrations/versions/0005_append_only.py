"""Moves can be neither changed nor removed, whoever asks; kept answers are found by their age."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_MESSAGE = "moves are never changed or removed; write a new move"
_SQLITE = "CREATE TRIGGER moves_no_{word} BEFORE {WORD} ON moves BEGIN SELECT RAISE(ABORT, '{message}'); END"
_FUNCTION = """
CREATE FUNCTION moves_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '{message}' USING ERRCODE = 'restrict_violation';
END
$$
"""
# Of statements, so that one which would touch no row is refused too, and TRUNCATE with it.
_POSTGRESQL = (
    "CREATE TRIGGER moves_no_{word} BEFORE {WORD} ON moves FOR EACH STATEMENT EXECUTE FUNCTION moves_append_only()"
)


def upgrade() -> None:
    """Add triggers and an index; no row changes."""
    if op.get_bind().dialect.name == "sqlite":
        for word in ("update", "delete"):
            _execute(_SQLITE.format(word=word, WORD=word.upper(), message=_MESSAGE))
    else:
        _execute(_FUNCTION.format(message=_MESSAGE))
        for word in ("update", "delete", "truncate"):
            _execute(_POSTGRESQL.format(word=word, WORD=word.upper()))
    op.create_index(op.f("ix_answers_shelf_id_at"), "answers", ["shelf_id", "at"])


def downgrade() -> None:
    """Refused, as for every step."""
    raise NotImplementedError("Restore the copy that was kept beside the database instead.")


def _execute(statement: str) -> None:
    op.execute(sa.text(statement))
