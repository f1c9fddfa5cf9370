"""The ledger as people use it: entering moves, undoing them, and reading them back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog.convert import ON_HAND, UNITS_KEPT, moment, on_hand_of
from catalog.errors import NotFound
from catalog.fields import MOST_GRAMS, Checks
from catalog.ledger import items_of, last_use, move, new_move, unbalanced
from catalog.lookup import LARGEST_ID, find_row, find_shelf, possible
from catalog.move_fields import Entered, check_move, field_named, item_names
from catalog.once import once
from catalog.rows import Record
from catalog.stock_tables import STOCKED, MoveTable
from catalog.store import MOST_PER_PAGE, Rows, Store
from catalog.tables import JarTable, ShelfTable, Stocked
from themekit.errors import InvalidValue, Problem, raise_all


class Stock:
    """The ledger of the shelves in one store."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def moves(
        self,
        shelf_id: int,
        item: tuple[str, int] | None = None,
        batch: int | None = None,
        lot: str | None = None,
        page: int = 1,
        page_size: int = 50,
    ) -> tuple[Rows, int]:
        """One page of the ledger by id, and how many lines there are; of one item, batch or lot if named.

        `item` is such as ("jars", 3). Raises `InvalidValue`, or `NotFound` for the shelf.
        """
        checks = Checks()
        checks.whole("page", page, least=1, most=LARGEST_ID)
        checks.whole("page_size", page_size, least=1, most=MOST_PER_PAGE)
        lot = checks.text("lot", lot)
        resource = checks.choice("item", item and item[0], tuple(STOCKED))
        raise_all(checks.problems, "This page cannot be given.")
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            here = [MoveTable.shelf_id == shelf_id]
            if item is not None and resource is not None:
                # No id is 0, so that what cannot be an id finds nothing.
                here.append(getattr(MoveTable, STOCKED[resource]) == (item[1] if possible(item[1]) else 0))
            if batch is not None:
                here.append(MoveTable.batch_id == (batch if possible(batch) else 0))
            if lot is not None:
                here.append(MoveTable.lot == lot)
            total = session.scalar(select(func.count()).select_from(MoveTable).where(*here)) or 0
            start = (page - 1) * page_size
            if start >= total:
                return [], total
            chosen = select(MoveTable).where(*here).order_by(MoveTable.id).limit(page_size).offset(start)
            found = list(session.scalars(chosen))
            names = item_names(session, shelf_id, found)
            return [move_row(one, names) for one in found], total

    def record(self, shelf_id: int, body: Any, key: str | None = None) -> Record:
        """Enter one move, or undo one with {"undo": id}; returns the new line of the ledger.

        A count writes the difference to what stood before. Raises `InvalidValue` with all
        problems or `NotFound`; then nothing changes.
        """
        with self._store.writing(shelf_id) as (session, shelf):
            return once(session, shelf_id, key, ["move", body], lambda: self._enter(session, shelf, body))

    def _enter(self, session: Session, shelf: ShelfTable, body: Any) -> Record:
        if isinstance(body, Mapping) and "undo" in body:
            return self._undo(session, shelf, body)
        entered = check_move(body)
        row = find_row(session, shelf.id, entered.resource, entered.id)
        assert isinstance(row, Stocked)
        return _carried_out(session, shelf, row, entered)

    def _undo(self, session: Session, shelf: ShelfTable, body: Mapping[str, Any]) -> Record:
        checks = Checks()
        id = checks.whole("undo", body["undo"], least=1, most=LARGEST_ID)
        note = checks.text("note", body.get("note"), longest=500)
        for name in body:
            if name not in ("undo", "note"):
                checks.wrong(field_named(name), body[name], "undo and note", "Leave it out.")
        if body["undo"] is None:
            checks.wrong("undo", None, "the id of a move", "List the moves to see what there is.")
        raise_all(checks.problems, "This cannot be undone.")
        old = session.scalar(select(MoveTable).where(MoveTable.shelf_id == shelf.id, MoveTable.id == id))
        if old is None:
            hint = "List the moves to see what there is."
            raise NotFound("There is no such move.", [Problem("undo", id, "the id of a move", hint)])
        _check_undo(session, old)
        resource, row = items_of(session, shelf.id, [old])[old.id]
        made = new_move(resource, row, "undone", -old.amount, "undone", undoes=old.id, note=note, lot=old.lot)
        _check_amount(resource, row, made.amount, "undo")
        unknown = on_hand_of(resource, row) is None
        move(session, shelf, resource, row, made)
        if not _standing_after(session, resource, row, old):
            unknown = old.from_unknown
        if old.kind == "counted":
            row.uncertain = _uncertain(session, resource, row)
        if unknown and on_hand_of(resource, row) == 0:
            setattr(row, ON_HAND[resource], None)
        if isinstance(row, JarTable) and old.kind == "used":
            row.used_on = last_use(session, row)
        return move_row(made, item_names(session, shelf.id, [made]))

    def balances(self, shelf_id: int) -> list[Problem]:
        """What does not add up on this shelf; nothing, unless someone changed the database by hand."""
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            return unbalanced(session, shelf_id)


def _carried_out(session: Session, shelf: ShelfTable, row: Stocked, entered: Entered) -> Record:
    resource = entered.resource
    before = on_hand_of(resource, row)
    amount, uncertain, told = entered.change(resource, row, before)
    made = new_move(resource, row, entered.kind, amount, "entered", uncertain=uncertain, note=entered.note or told)
    _check_amount(resource, row, amount, entered.amount_field)
    if entered.kind == "counted":
        row.uncertain = uncertain
    move(session, shelf, resource, row, made)
    if isinstance(row, JarTable) and entered.kind == "used":
        row.used_on = max(made.at.date(), row.used_on or made.at.date())
    return move_row(made, item_names(session, shelf.id, [made]))


def _check_amount(resource: str, row: Stocked, amount: int, field: str) -> None:
    on_hand = on_hand_of(resource, row)
    most = MOST_GRAMS * UNITS_KEPT[resource][0]
    if amount > 0 and (on_hand or 0) + amount > most:
        allowed = f"as much as keeps what is on hand within {MOST_GRAMS:,}"
        raise InvalidValue(
            f"There would be too much of {row.name}.",
            [Problem(field, amount / UNITS_KEPT[resource][0], allowed, "Check the unit and the decimal point.")],
        )
    if (on_hand or 0) + amount < 0:
        scale, of = UNITS_KEPT[resource]
        have = "an unknown amount" if on_hand is None else f"{on_hand / scale:g}{' g' if of else ''}"
        hint = "Count it first, if more is there than the ledger says."
        problem = Problem(field, abs(amount) / scale, f"at most what is on hand: {have}", hint)
        raise InvalidValue(f"There is not that much of {row.name}.", [problem])


def _check_undo(session: Session, old: MoveTable) -> None:
    hint = ""
    if old.batch_id is not None:
        hint = f"It belongs to batch {old.batch_id}: unpack that batch instead."
    elif old.kind == "undone":
        hint = "Enter the move again instead."
    elif session.scalar(select(MoveTable.id).where(MoveTable.undoes == old.id)):
        hint = "It was undone already."
    if hint:
        raise InvalidValue(
            "This move cannot be undone.", [Problem("undo", old.id, "a move of its own, not yet undone", hint)]
        )


def _standing(resource: str, row: Stocked) -> Any:
    """The moves of an item that were not undone, as a query."""
    undone = select(MoveTable.undoes).where(MoveTable.shelf_id == row.shelf_id, MoveTable.undoes.is_not(None))
    return select(MoveTable).where(
        MoveTable.shelf_id == row.shelf_id,
        getattr(MoveTable, STOCKED[resource]) == row.id,
        MoveTable.kind != "undone",
        MoveTable.id.not_in(undone),
    )


def _standing_after(session: Session, resource: str, row: Stocked, old: MoveTable) -> bool:
    later = _standing(resource, row).where(MoveTable.id > old.id).limit(1)
    return session.scalar(later) is not None


def _uncertain(session: Session, resource: str, row: Stocked) -> int:
    """How unsure the last count that still stands was."""
    counts = _standing(resource, row).where(MoveTable.kind == "counted").order_by(MoveTable.id.desc()).limit(1)
    count = session.scalar(counts)
    return 0 if count is None else int(count.uncertain)


def move_row(made: MoveTable, names: Mapping[tuple[str, int], str]) -> Record:
    """A line of the ledger in the API's form; grams for jars and gels, else `amount` in the item's unit."""
    resource, id = next((r, getattr(made, c)) for r, c in STOCKED.items() if getattr(made, c) is not None)
    scale, of = UNITS_KEPT[resource]
    return {
        "id": made.id,
        "of": resource,
        "item": id,
        "name": names.get((resource, id), ""),
        "kind": made.kind,
        "amount": made.amount / scale,
        "unit": "g" if of else ("piece" if resource == "boxes" else "of its unit"),
        "uncertain": made.uncertain / scale,
        "at": moment(made.at),
        "cause": made.cause,
        "note": made.note,
        "lot": made.lot,
        "batch": made.batch_id,
        "undoes": made.undoes,
    }
