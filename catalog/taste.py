"""What became of ideas, by shelf, and the taste learned from it.

What was learned is kept with the choices' revision, so that a question never learns anew.
Of a theme only what was understood is kept, not a customer's words.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import Any

from sqlalchemy import Delete, delete, func, select
from sqlalchemy.orm import Session

from catalog.convert import moment
from catalog.errors import StoreUnusable
from catalog.fields import Checks
from catalog.ledger import now
from catalog.lookup import LARGEST_ID, find_shelf
from catalog.rows import Record
from catalog.stock_tables import BatchTable, ChoiceTable, TasteTable
from catalog.store import MOST_PER_PAGE, Rows, Store
from themekit.errors import raise_all
from themekit.suggest import weights as w
from themekit.suggest.taste import MOST_EVENTS, NO_TASTE, WHAT, Choice, Taste, learned
from themekit.values import Shelf

#: Grows when the same choices would tell another taste, so that all is learned anew.
MODEL = 1
#: Words of a body, and the parts that an idea may have.
FIELDS = ("what", "idea", "theme")
PARTS: dict[str, tuple[str, ...]] = {
    "palette": w.counted(w.PALETTE),
    "trio": w.counted(w.TRIO),
    "idea": ("palette", "trio", "cutters"),
}
_LONGEST_THEME = 200
#: From this share of its kits that did not go at the full price a batch counts as left over.
LEFT_OVER_SHARE = 0.5

Parts = dict[str, dict[str, float]]
#: What a phrase was understood to name, for her shelf.
Named = Callable[[str, Shelf], str]
#: A batch as it is entered, to its theme's name and its parts.
Judge = Callable[[Record, Shelf], tuple[str, Parts]]


class Tastes:
    """The choices and tastes of the shelves in one store; `named` gives a phrase's theme."""

    def __init__(self, store: Store, named: Named | None = None) -> None:
        self._store, self._named = store, named

    def record(self, shelf_id: int, body: Any) -> Record:
        """Keep what became of an idea: {"what", "idea", "theme"?}, the idea as it was given.

        Said again of the same idea it replaces what was said before. Raises `InvalidValue`
        with every problem.
        """
        what, theme, parts, key = check_choice(body)
        shelf = self._store.read(shelf_id)
        if theme and self._named is not None:
            theme = self._named(theme, shelf)
        with self._store.writing(shelf_id) as (session, _):
            return _row(put_choice(session, shelf_id, key, what, theme, parts))

    def list(self, shelf_id: int, page: int = 1, page_size: int = 50) -> tuple[Rows, int]:
        """One page of choices, the latest first, and how many there are."""
        checks = Checks()
        checks.whole("page", page, least=1, most=LARGEST_ID)
        checks.whole("page_size", page_size, least=1, most=MOST_PER_PAGE)
        raise_all(checks.problems, "This page cannot be given.")
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            here = ChoiceTable.shelf_id == shelf_id
            total = session.scalar(select(func.count()).select_from(ChoiceTable).where(here)) or 0
            chosen = select(ChoiceTable).where(here).order_by(ChoiceTable.id.desc())
            start = (page - 1) * page_size
            rows = session.scalars(chosen.limit(page_size).offset(start)) if start < total else ()
            return [_row(row) for row in rows], total

    def said(self, shelf_id: int, theme: str, ideas: Sequence[Mapping[str, Any]]) -> tuple[str | None, ...]:
        """What was said of each of these ideas of a theme, kept or passed over; None where nothing was."""
        keys = [_key(idea, {}, " ".join(theme.split()), "kept") for idea in ideas]
        with self._store.reading() as session:
            here = (ChoiceTable.shelf_id == shelf_id, ChoiceTable.key.in_(keys))
            rows = session.execute(select(ChoiceTable.key, ChoiceTable.what).where(*here))
            found = {row.key: str(row.what) for row in rows}
        return tuple(found.get(key) for key in keys)

    def counts(self, shelf_id: int) -> dict[str, int]:
        """How many choices there are of each word."""
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            here = select(ChoiceTable.what, func.count()).where(ChoiceTable.shelf_id == shelf_id)
            found = {row.what: row[1] for row in session.execute(here.group_by(ChoiceTable.what))}
        return {word: found.get(word, 0) for word in WHAT}

    def reset(self, shelf_id: int) -> int:
        """Forget every choice and all that was learned; returns how many there were."""
        with self._store.writing(shelf_id) as (session, _):
            here = select(func.count()).select_from(ChoiceTable).where(ChoiceTable.shelf_id == shelf_id)
            count = session.scalar(here) or 0
            session.execute(delete(ChoiceTable).where(ChoiceTable.shelf_id == shelf_id))
            session.execute(delete(TasteTable).where(TasteTable.shelf_id == shelf_id))
            return count

    def taste(self, shelf_id: int) -> Taste:
        """What the shelf's choices tell; learned once for each change of them."""
        with self._store.reading() as session:
            kept = session.scalar(select(TasteTable).where(TasteTable.shelf_id == shelf_id))
            if kept is None:
                return NO_TASTE
            if kept.fitted and kept.fitted_revision == kept.revision and kept.fitted["model"] == MODEL:
                return _taste(kept.fitted)
            revision = kept.revision
            latest = select(ChoiceTable).where(ChoiceTable.shelf_id == shelf_id).order_by(ChoiceTable.id.desc())
            choices = [Choice(c.what, c.parts, c.theme) for c in session.scalars(latest.limit(MOST_EVENTS))]
        found = learned(choices[::-1])
        # What cannot be kept, in a database that is read-only, is learned again the next time.
        with suppress(StoreUnusable), self._store.writing(shelf_id) as (session, _):
            row = session.scalar(select(TasteTable).where(TasteTable.shelf_id == shelf_id))
            if row is not None and row.revision == revision:
                row.fitted, row.fitted_revision = _fitted(found), revision
        return found


def check_choice(body: Any) -> tuple[str, str, Parts, str]:
    """What, theme, parts and key of an idea; raises `InvalidValue` with every problem."""
    checks = Checks()
    if not isinstance(body, Mapping):
        checks.wrong("choice", body, "an object with what, idea and theme", "Send an object.")
        body = {}
    for name in body:
        if name not in FIELDS:
            path = str(name)[:60].encode("utf-8", "replace").decode()
            checks.wrong(path, body[name], "one of " + ", ".join(FIELDS), "Leave it out.")
    what = checks.choice("what", body.get("what"), tuple(WHAT))
    if what is None and body.get("what") is None:
        checks.wrong("what", None, "one of " + ", ".join(WHAT), "Say what became of the idea.")
    words = body.get("theme")
    words = " ".join(words.split()) if isinstance(words, str) else words
    theme = checks.text("theme", words, longest=2000)
    idea = body.get("idea")
    parts: Parts = {}
    if not isinstance(idea, Mapping):
        checks.wrong("idea", idea, "an idea as POST /api/v1/ideas gives it", "Send the object.")
        idea = {}
    else:
        palette, trio = (_object(checks, f"idea.{name}", idea.get(name)) for name in ("palette", "trio"))
        given = (("palette", "palette.", palette), ("trio", "trio.", trio), ("idea", "", idea))
        for scope, path, value in given:
            parts[scope] = _parts(checks, f"idea.{path}parts", value.get("parts"), PARTS[scope])
        if not any(parts.values()) and not checks.problems:
            checks.wrong("idea", "no parts", "an idea with its parts", "Send the idea as it was given.")
    raise_all(checks.problems, "This choice cannot be kept.")
    return (
        what or "",
        theme or "",
        {k: v for k, v in parts.items() if v},
        _key(idea, parts, theme or "", what or ""),
    )


def _object(checks: Checks, field: str, value: Any) -> Mapping[str, Any]:
    if value is None or isinstance(value, Mapping):
        return value or {}
    checks.wrong(field, value, "an object with its parts", "Send the idea as it was given.")
    return {}


def _parts(checks: Checks, field: str, value: Any, known: tuple[str, ...]) -> dict[str, float]:
    out = {}
    for name, number in _object(checks, field, value).items():
        path = f"{field}.{str(name)[:60]}".encode("utf-8", "replace").decode()
        if name not in known:
            checks.wrong(path, number, "one of " + ", ".join(known), "Leave it out.")
            continue
        found = checks.number(path, number, most=1, unit="", decimals=6)
        if found is not None:
            out[name] = found
    return out


def _key(idea: Mapping[str, Any], parts: Parts, theme: str, what: str) -> str:
    """The same for the same tints and jars of the same theme; a click and a sale are kept side by side."""

    def listed(holder: str, field: str, name: str) -> list[str]:
        within = idea.get(holder)
        rows = within.get(field) if isinstance(within, Mapping) else None
        rows = rows if isinstance(rows, list) else []
        return sorted(str(row.get(name))[:60] for row in rows[:20] if isinstance(row, Mapping))

    own: list[Any] = [listed("palette", "tints", "hex"), listed("trio", "jars", "id")]
    sold = what in ("sold out", "left over")
    told = json.dumps([sold, theme.casefold(), own if any(own) else parts], sort_keys=True)
    return hashlib.sha256(told.encode("utf-8", "replace")).hexdigest()


def put_choice(
    session: Session, shelf_id: int, key: str, what: str, theme: str, parts: Parts, batch_id: int | None = None
) -> ChoiceTable:
    """Keep a choice in place of the one with its key, within the caller's transaction."""
    session.execute(_with_key(shelf_id, key))
    row = ChoiceTable(shelf_id=shelf_id, key=key, what=what, theme=theme[:_LONGEST_THEME], parts=parts, at=now())
    row.batch_id = batch_id
    session.add(row)
    _changed(session, shelf_id)
    return row


def take_choice(session: Session, shelf_id: int, key: str) -> None:
    """Take back the choice with that key, if there is one."""
    if session.execute(_with_key(shelf_id, key).returning(ChoiceTable.id)).all():
        _changed(session, shelf_id)


def _with_key(shelf_id: int, key: str) -> Delete:
    return delete(ChoiceTable).where(ChoiceTable.shelf_id == shelf_id, ChoiceTable.key == key)


def _changed(session: Session, shelf_id: int) -> None:
    """What was learned is out of date from now on."""
    kept = session.scalar(select(TasteTable).where(TasteTable.shelf_id == shelf_id))
    if kept is None:
        session.add(TasteTable(shelf_id=shelf_id, revision=1))
    else:
        kept.revision += 1
    session.flush()


def note_end(session: Session, batch: BatchTable, judged: tuple[str, Parts]) -> None:
    """Keep what a batch's end tells: all sold, or half and more left over or marked down."""
    theme, parts = judged
    key = f"batch {batch.id}"
    if batch.sold == batch.kits:
        put_choice(session, batch.shelf_id, key, "sold out", theme, parts, batch.id)
    elif batch.left_over + batch.marked_down >= LEFT_OVER_SHARE * batch.kits:
        put_choice(session, batch.shelf_id, key, "left over", theme, parts, batch.id)
    else:
        take_choice(session, batch.shelf_id, key)


def _row(choice: ChoiceTable) -> Record:
    return {
        "id": choice.id,
        "what": choice.what,
        "theme": choice.theme,
        "batch": choice.batch_id,
        "at": moment(choice.at),
    }


def _fitted(taste: Taste) -> Record:
    return {
        "model": MODEL,
        "factors": {scope: dict(parts) for scope, parts in taste.factors.items()},
        "themes": dict(taste.themes),
        "n": taste.n,
        "trust": taste.trust,
        "told": list(taste.told),
    }


def _taste(kept: Record) -> Taste:
    return Taste(kept["factors"], kept["themes"], kept["n"], kept["trust"], tuple(kept["told"]))
