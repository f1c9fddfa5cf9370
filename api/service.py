"""What every route needs: the store, the shelf that is served, and today."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import cast

from flask import current_app

from api.access.errors import NotSignedIn
from api.access.who import present
from api.answered import Answered, answered
from api.jobs import Jobs
from api.underway import Underway
from api.upkeep.shared import ANSWERED, SHARED
from api.upkeep.watching import of_shelf
from api.works import batches_of
from catalog.batches import Batches
from catalog.orders import Orders
from catalog.stock import Stock
from catalog.store import ShelfRow, Store

EXTENSION = "themekit"


@dataclass
class Service:
    """One application's store and shelf; `shelf` names it, None means the only one there is."""

    store: Store
    shelf: str | None = None
    today: Callable[[], date] = date.today
    jobs: Jobs = field(default_factory=Jobs, repr=False)
    underway: Underway = field(default_factory=Underway, repr=False)
    #: Pages that answered forms, for a short while.
    answered: Answered = field(default_factory=lambda: answered(os.environ.get(ANSWERED)), repr=False)
    #: Whether all requests come to this process, so that one can ask for what another began.
    alone: bool = field(default_factory=lambda: not os.environ.get(SHARED))
    _id: int | None = field(default=None, repr=False)

    @property
    def batches(self) -> Batches:
        """The store's batches."""
        return batches_of(self.store)

    @property
    def stock(self) -> Stock:
        """The store's ledger."""
        return Stock(self.store)

    @property
    def orders(self) -> Orders:
        """The store's orders."""
        return Orders(self.store)

    def shelf_row(self) -> ShelfRow:
        """The shelf of the present request: the one its token or sign-in names, else the one served.

        Raises `NotSignedIn` for nobody, `NotFound` or `ShelfUnclear`.
        """
        who = present()
        if who.by == "nobody":
            raise NotSignedIn("This needs a sign-in.")
        row = self.served() if who.shelf_id is None else self.store.shelf(who.shelf_id)
        of_shelf(row.id)
        return row

    def served(self) -> ShelfRow:
        """The shelf that the service was started with. Raises `NotFound` or `ShelfUnclear`.

        A shelf that was named once is known by its id from then on, so that it can be
        given another name while it is served.
        """
        row = self.store.shelf_named(self.shelf) if self._id is None else self.store.shelf(self._id)
        if self.shelf is not None:
            self._id = row.id
        return row

    @property
    def shelf_id(self) -> int:
        """The id of the shelf of the present request."""
        return self.shelf_row().id


def service() -> Service:
    """The service of the application that answers the present request."""
    return cast(Service, current_app.extensions[EXTENSION])
