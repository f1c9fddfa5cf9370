"""A batch's documents as PDF, from what is kept of it."""

from __future__ import annotations

import re
import unicodedata
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any, cast

from api.prints import sheet as bench
from api.prints.card import card
from api.prints.job import PAPERS, UNITS, Job, Json, Paper, usual_paper
from api.prints.label import label
from api.prints.shopping import shopping
from api.prints.typeset import DoesNotFit, typeset
from api.prints.week import week
from api.together import to_buy, weeks_of
from api.whose import handed_over, whose
from api.works import settings_of, work_of
from catalog.batch_kit import gone
from catalog.fields import Checks
from catalog.orders import Orders
from catalog.rows import Record
from catalog.store import Store
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.make.units import System
from themekit.make.work import Work
from themekit.values import Shelf

_ONE: dict[str, Callable[[Job], Json]] = {"card": card, "label": label, "shopping": shopping}
#: What can be printed of a batch.
DOCUMENTS = ("card", "label", "sheet", "shopping")


# A shelf that has changed is another value.
_recent: deque[tuple[Shelf, tuple[Record, Record, date, Work]]] = deque(maxlen=8)


@dataclass(frozen=True, slots=True)
class Printed:
    """A PDF, a safe name for its file, and the signs that no font has, shown as replacement characters."""

    data: bytes
    file: str
    not_printed: str


def printed(
    store: Store, shelf_id: int, batch: Record, today: date, document: str, paper: Any = None, units: Any = None
) -> Printed:
    """One of `DOCUMENTS` of a batch.

    Parameters
    ----------
    paper  "a4" or "letter"; None for what is usual where the shelf is.
    units  "metric" or "us"; None for metric.

    Raises `InvalidValue` where the batch cannot be worked out, or its text does not fit.
    """
    checks = Checks()
    checks.choice("document", document, DOCUMENTS)
    on, system = _asked(checks, paper, units)
    value, shelf = store.read(shelf_id), store.shelf_record(shelf_id)
    work = _worked_out(store, value, shelf, batch, today)
    usual = usual_paper(shelf, work.order.settings.label.jurisdiction)
    its = whose(store, shelf_id, [batch])[batch["id"]]
    job = Job(
        to=its.to(),
        asked=", ".join(its.asked),
        work=work,
        shelf=shelf["name"],
        name=batch["name"],
        missing=[*gone(batch, value), *work.missing],
        paper=on or usual,
        system=system,
    )
    data, not_printed = pdf(document, job)
    return Printed(data, f"{slug(batch['name'], batch['id'])}-{document}.pdf", not_printed)


def printed_weeks(
    store: Store, shelf_id: int, today: date, start: Any = None, paper: Any = None, units: Any = None
) -> Printed:
    """The weeks' sheet of all batches with a pick-up day that are sketched or promised.

    Parameters
    ----------
    start  weeks that end before this day, YYYY-MM-DD, are left out; today unless told.

    Raises `InvalidValue` as `week_plan` does, every problem of every batch at once.
    """
    checks = Checks()
    first = checks.day("from", start)
    on, system = _asked(checks, paper, units)
    plan, rows = weeks_of(store, shelf_id, today)
    shelf = store.shelf_record(shelf_id)
    own = settings_of(shelf["settings"], None)
    on = on or usual_paper(shelf, own.label.jurisdiction)
    day = date.fromisoformat(first) if first else today
    lists = {monday: bought.list for monday, bought in to_buy(store, shelf_id, plan, rows, today, day).items()}
    of = whose(store, shelf_id, rows.values())
    handed = {name: handed_over(row["name"], row, of[row["id"]]) for name, row in rows.items()}
    told = week(plan, shelf["name"], on, system, day, lists, shelf["currency"] or "", handed)
    data, not_printed = typeset("week", told)
    return Printed(data, "weeks.pdf", not_printed)


def _asked(checks: Checks, paper: Any, units: Any) -> tuple[Paper | None, System]:
    """Paper and units as asked for; raises `InvalidValue` with every problem that the checks have."""
    on = cast(Paper | None, checks.choice("paper", paper, tuple(PAPERS)))
    system = UNITS[checks.choice("units", units, tuple(UNITS)) or "metric"]
    raise_all(checks.problems, "This cannot be printed.")
    return on, system


def _worked_out(store: Store, value: Shelf, shelf: Record, batch: Record, today: date) -> Work:
    """The batch's work, kept while shelf, batch and day are the same: prints are asked for together."""
    # What its order asks for is no part of its row.
    batch = {**batch, "asked": Orders(store).asked(value.id, batch["order"]) if batch["order"] else {}}
    for kept, (*same, work) in tuple(_recent):
        if kept is value and same == [shelf, batch, today]:
            return work
    work = work_of(store, value.id, batch, today)
    _recent.append((value, (shelf, batch, today, work)))
    return work


def pdf(document: str, job: Job) -> tuple[bytes, str]:
    """The PDF of one document and the signs that could not be printed. Raises `InvalidValue`."""
    try:
        if document != "sheet":
            return typeset(document, _ONE[document](job))
        for cut in bench.CUTS:
            try:
                return typeset("sheet", bench.sheet(job, cut))
            except DoesNotFit:
                continue
        raise DoesNotFit("bench sheet")
    except DoesNotFit as error:
        raise InvalidValue(error.message, [_too_long(error.part, job)]) from error


def _too_long(part: str, job: Job) -> Problem:
    """What to shorten, where it may be."""
    own = job.work.order.settings.label
    if part == "card":
        return Problem(
            "settings.label.directions",
            f"{len(own.directions)} characters",
            "directions that go on a quarter of a page, with the names of the kit and its toppings",
            "Shorten the directions, or those names.",
        )
    if part == "label":
        hint = "Shorten the maker's text, the statement or the names of the ingredients."
        return Problem("settings.label", "more text than a page holds", "a label of one page at most", hint)
    hint = "Print the batch in parts: fewer cutters, or shorter names."
    return Problem("batch", "more than two pages hold", "a bench sheet of two pages at most", hint)


def slug(name: str, id: int) -> str:
    """A file's name of plain letters and digits: "owl-party-3"."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    words = re.findall("[a-z0-9]+", plain)
    return "-".join(["-".join(words)[:40].strip("-") or "batch", str(id)])
