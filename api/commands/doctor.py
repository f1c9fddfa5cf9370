"""`themekit doctor`: is everything in order: database, steps, balances, built-in knowledge, version."""

from __future__ import annotations

import sys
from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import opened
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("doctor", short_help="Whether everything is in order.")
@options.PLACE
def command(as_json: bool, **given: Any) -> None:
    """Check the database, its steps, every balance of the ledger, the built-in knowledge and the version.

    Ends with exit code 1 when something is out of order.
    """
    answer = examine(given["database"])
    telling.show(answer, as_json, lambda: lines(answer, paper()))
    if not answer["well"]:
        sys.exit(1)


def examine(database: str | None) -> Json:
    """Every check with what was found; `well` tells whether all passed."""
    from catalog import lexicon
    from catalog.migrations import HEAD
    from catalog.stock import Stock
    from themekit import __version__

    checks: list[Json] = []

    def note(what: str, well: bool, told: str) -> None:
        checks.append({"what": what, "well": well, "told": told})

    with opened({"database": database}) as store:
        note("database", True, f"opens and is at step {HEAD}: {store.url.render_as_string(hide_password=True)}")
        faults = store.faults()
        note("integrity", not faults, "; ".join(faults) or "the database finds no fault in itself")
        shelves = store.shelves()
        stock = Stock(store)
        for shelf in shelves:
            wrong = stock.balances(shelf.id)
            told = "; ".join(f"{p.hint}: {p.got} kept, {p.allowed} by the ledger" for p in wrong)
            note(f"ledger of {shelf.name}", not wrong, told or "every amount is the sum of its moves")
        note("shelves", True, f"{len(shelves)}: " + (", ".join(s.name for s in shelves[:20]) or "none yet"))
    known = lexicon.lexicon()
    note(
        "built-in knowledge",
        bool(known.themes and known.things and known.meaning),
        f"{len(known.themes)} themes, {len(known.things)} things, {len(known.kinds)} kinds, word vectors",
    )
    note("version", True, f"themekit {__version__}, Python {sys.version.split()[0]}")
    return {"well": all(one["well"] for one in checks), "checks": checks}


def lines(answer: Json, sheet: Paper) -> Lines:
    """Each check on a line, faults first."""
    ordered = sorted(answer["checks"], key=lambda one: one["well"])
    out = ["All in order." if answer["well"] else "Something is out of order:"]
    for one in ordered:
        out += sheet.wrapped(f"{'ok' if one['well'] else 'WRONG'}  {one['what']}: {one['told']}", "  ", "      ")
    return out
