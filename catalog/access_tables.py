"""Tables of who may come in. Of every secret only a hash is kept.

Passphrases are hashed slowly (scrypt) by whoever reads them. All other secrets are 256 random
bits, which cannot be guessed however fast they are tried, so that SHA-256 suffices.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, DateTime, ForeignKey, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from catalog.tables import Base


class PassphraseTable(Base):
    """The passphrase that opens a shelf from other machines."""

    __tablename__ = "passphrases"
    __table_args__ = (
        UniqueConstraint("shelf_id"),
        CheckConstraint("length(hash) > 40", name="hash_is_long"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    hash: Mapped[str] = mapped_column(String(255))
    changed_at: Mapped[datetime] = mapped_column(DateTime(timezone=True))


class Secret(Base):
    """A random secret that stands for one shelf."""

    __abstract__ = True

    id: Mapped[int] = mapped_column(primary_key=True)
    shelf_id: Mapped[int] = mapped_column(ForeignKey("shelves.id"))
    hash: Mapped[str] = mapped_column(String(64))
    made_at: Mapped[datetime] = mapped_column(DateTime(timezone=True))


class SessionTable(Secret):
    """A browser that is signed in."""

    __tablename__ = "sessions"
    __table_args__ = (
        UniqueConstraint("hash"),
        CheckConstraint("length(hash) = 64", name="hash_of_64"),
        {"sqlite_autoincrement": True},
    )

    seen_at: Mapped[datetime] = mapped_column(DateTime(timezone=True))


class TokenTable(Secret):
    """A program's bearer token; one that was revoked stays in the list."""

    __tablename__ = "tokens"
    __table_args__ = (
        UniqueConstraint("hash"),
        CheckConstraint("length(hash) = 64", name="hash_of_64"),
        CheckConstraint("length(name_key) > 0", name="name_not_blank"),
        Index(
            "uq_tokens_shelf_id_name_key",
            "shelf_id",
            "name_key",
            unique=True,
            # On PostgreSQL too, as the steps make it; to say so here would load its dialect at every start.
            sqlite_where=text("revoked_at IS NULL"),
        ),
        {"sqlite_autoincrement": True},
    )

    name: Mapped[str] = mapped_column(String(120))
    name_key: Mapped[str] = mapped_column(String(400))
    used_at: Mapped[datetime | None] = mapped_column(DateTime(timezone=True))
    revoked_at: Mapped[datetime | None] = mapped_column(DateTime(timezone=True))


class LinkTable(Secret):
    """A link that signs one phone in, once."""

    __tablename__ = "links"
    __table_args__ = (
        UniqueConstraint("hash"),
        CheckConstraint("length(hash) = 64", name="hash_of_64"),
        {"sqlite_autoincrement": True},
    )


class TryTable(Base):
    """A try at signing in: from where, as a hash, or None once it was right; see `catalog.tries`."""

    __tablename__ = "tries"
    __table_args__ = (CheckConstraint("length(who) = 64", name="who_of_64"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    who: Mapped[str | None] = mapped_column(String(64))
    at: Mapped[datetime] = mapped_column(DateTime(timezone=True))
