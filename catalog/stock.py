"""The ledger as people use it: entering moves, undoing them, and reading them back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog.convert import UNITS_KEPT, moment, on_hand_of
from catalog.errors import NotFound
from catalog.fields import Checks
from catalog.ledger import move, new_move, unbalanced
from catalog.lookup import LARGEST_ID, find_row, find_shelf
from catalog.move_fields import Entered, check_move, item_names
from catalog.once import once
from catalog.rows import Record
from catalog.stock_tables import STOCKED, LineTable, MoveTable
from catalog.store import MOST_PER_PAGE, Rows, Store
from catalog.tables import STOCKED_TABLES, JarTable, ShelfTable, Stocked
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
        raise_all(checks.problems, "This page cannot be given.")
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            here = [MoveTable.shelf_id == shelf_id]
            if item is not None:
                here.append(getattr(MoveTable, STOCKED[item[0]]) == item[1])
            if batch is not None:
                here.append(MoveTable.batch_id == batch)
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
                checks.wrong(str(name)[:60], body[name], "undo and note", "Leave it out.")
        if id is None and not checks.problems:
            checks.wrong("undo", None, "the id of a move", "List the moves to see what there is.")
        raise_all(checks.problems, "This cannot be undone.")
        old = session.scalar(select(MoveTable).where(MoveTable.shelf_id == shelf.id, MoveTable.id == id))
        if old is None:
            hint = "List the moves to see what there is."
            raise NotFound("There is no such move.", [Problem("undo", id, "the id of a move", hint)])
        _check_undo(session, old)
        resource, row = item_of(session, old)
        made = new_move(resource, row, "undone", -old.amount, "undone", undoes=old.id, note=note, lot=old.lot)
        _check_enough(resource, row, made.amount, "undo")
        move(session, shelf, resource, row, made)
        if isinstance(row, JarTable) and old.kind == "used":
            row.used_on = _last_use(session, row)
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
    _check_enough(resource, row, amount, entered.amount_field)
    if entered.kind == "counted":
        row.uncertain = uncertain
    move(session, shelf, resource, row, made)
    if isinstance(row, JarTable) and entered.kind == "used":
        row.used_on = max(made.at.date(), row.used_on or made.at.date())
    return move_row(made, item_names(session, shelf.id, [made]))


def _check_enough(resource: str, row: Stocked, amount: int, field: str) -> None:
    on_hand = on_hand_of(resource, row)
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


def _last_use(session: Session, row: JarTable) -> Any:
    undone = select(MoveTable.undoes).where(MoveTable.shelf_id == row.shelf_id, MoveTable.undoes.is_not(None))
    last = select(func.max(MoveTable.at)).where(
        MoveTable.shelf_id == row.shelf_id,
        MoveTable.jar_id == row.id,
        MoveTable.kind == "used",
        MoveTable.id.not_in(undone),
    )
    at = session.scalar(last)
    return at and at.date()


def item_of(session: Session, of: MoveTable | LineTable) -> tuple[str, Stocked]:
    """The resource and row that a move or a batch's line is of, archived or not."""
    for resource, column in STOCKED.items():
        id = getattr(of, column)
        if id is not None:
            table = STOCKED_TABLES[resource]
            row = session.scalar(select(table).where(table.shelf_id == of.shelf_id, table.id == id))
            assert row is not None
            return resource, row
    raise AssertionError("a line of no item")  # the table's own check forbids it


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
