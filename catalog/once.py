"""Requests with an Idempotency-Key: carried out once, answered alike when they are repeated."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Any

from sqlalchemy import bindparam, delete, select
from sqlalchemy.orm import Session

from catalog.convert import utc
from catalog.fields import shown
from catalog.ledger import now
from catalog.rows import Record
from catalog.stock_tables import AnswerTable
from themekit.errors import InvalidValue, Problem

LONGEST_KEY = 200
#: So long a key is remembered: far longer than any program or person tries again.
KEPT = timedelta(days=30)
# Built once, since every step with a key asks them.
_ANSWER = select(AnswerTable).where(
    AnswerTable.shelf_id == bindparam("shelf"), AnswerTable.key == bindparam("sent")
)
_SWEEP = (
    delete(AnswerTable)
    .where(AnswerTable.shelf_id == bindparam("shelf"), AnswerTable.at <= bindparam("until"))
    .execution_options(synchronize_session=False)
)


def once(session: Session, shelf_id: int, key: str | None, question: Any, make: Callable[[], Record]) -> Record:
    """What `make` returns; for a key that was used before, what it returned then.

    Both are kept in the caller's transaction, so that neither is without the other; `KEPT`
    later they are forgotten, whenever a key comes that is new. Raises
    `InvalidValue` for a key that came with another question before, or that is no key.
    """
    if key is None:
        return make()
    if not isinstance(key, str) or not 0 < len(key) <= LONGEST_KEY or not all("!" <= sign <= "~" for sign in key):
        allowed = f"1 to {LONGEST_KEY} printable characters of ASCII, without blanks"
        problem = Problem("Idempotency-Key", shown(key), allowed)
        raise InvalidValue("This key cannot be used.", [problem])
    asked = hashlib.sha256(json.dumps(question, sort_keys=True, default=str).encode()).hexdigest()
    at = now()
    found = session.scalar(_ANSWER, {"shelf": shelf_id, "sent": key})
    if found is not None and utc(found.at) > at - KEPT:
        if found.question != asked:
            hint = "Take a new key for a new request."
            problem = Problem("Idempotency-Key", key, "a key that came with no other request", hint)
            raise InvalidValue("This key was used for something else.", [problem])
        return found.answer
    # The key itself may be among them, so that it can be used anew.
    session.execute(_SWEEP, {"shelf": shelf_id, "until": at - KEPT})
    answer = make()
    session.add(AnswerTable(shelf_id=shelf_id, key=key, question=asked, answer=answer, at=at))
    return answer


def forget(session: Session, shelf_id: int, field: str, ids: Sequence[int]) -> None:
    """Erase what was asked where the answer was one of these ids in `field`; its keys stay used."""
    its = (AnswerTable.shelf_id == shelf_id, AnswerTable.answer[field].as_integer().in_(ids))
    for one in session.scalars(select(AnswerTable).where(*its)):
        one.question = ""
