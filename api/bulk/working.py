"""What a worker does: a handful of requests, shelf by shelf, to the lines of their answers.

A worker keeps its store, the built-in knowledge and the last shelves from one handful to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from api import questions
from api.bulk.answered import line_of
from api.bulk.asked import Request
from catalog.errors import StoreUnusable
from catalog.store import Store
from themekit.errors import ThemekitError


class Done(NamedTuple):
    """What became of a handful."""

    numbers: list[int]
    lines: list[bytes]
    refused: int
    #: Requests without an answer, each with the kind of error that nobody foresaw.
    failed: list[tuple[int, str]]


@lru_cache(maxsize=2)
def store_at(url: str | None) -> Store:
    """The process's store of a database."""
    return Store(url)


def answer_some(url: str | None, today: date, requests: Sequence[Request]) -> Done:
    """Answer requests. Raises `StoreUnusable` when the database is away, so that they are tried again."""
    done = Done([], [], 0, [])
    store, refused = store_at(url), 0
    for request in requests:
        try:
            shelf = store.shelf_named(request.shelf)
            told = {"answer": questions.ideas(store, shelf.id, request.body, today)}
        except StoreUnusable:
            raise
        except ThemekitError as error:
            from api.errors import error_body

            told, refused = error_body(error.code, error.message, error.problems), refused + 1
        except Exception as error:
            # One that breaks must not keep its neighbours from their answers.
            done.failed.append((request.number, type(error).__name__))
            continue
        done.numbers.append(request.number)
        done.lines.append(line_of(request, told))
    return done._replace(refused=refused)
