"""`themekit doctor`: is everything in order: database, steps, balances, built-in knowledge, version."""

from __future__ import annotations

import sys
from typing import Any

import click

from api.commands import options, telling
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines
from themekit.errors import ThemekitError


@click.command("doctor", short_help="Whether everything is in order.")
@options.PLACE
def command(as_json: bool, **given: Any) -> None:
    """Check the database, its steps, every balance of the ledger, the built-in knowledge and the version.

    Looks only: a database of an older version is told of, not brought up to date. Ends with
    exit code 1 when something is out of order.
    """
    answer = examine(given["database"])
    telling.show(answer, as_json, lambda: lines(answer, paper()))
    if not answer["well"]:
        sys.exit(1)


def examine(database: str | None) -> Json:
    """Every check with what was found; `well` tells whether all passed."""
    checks = [*_database(database), *_knowledge(), _version()]
    return {"well": all(one["well"] for one in checks), "checks": checks}


def _check(what: str, well: bool, told: str) -> Json:
    return {"what": what, "well": well, "told": told}


def _database(database: str | None) -> list[Json]:
    """The database, as far as each check lets the next one look."""
    from catalog.engine import database_url
    from catalog.migrations import HEAD
    from catalog.store import Store
    from catalog.upgrade import step_at

    try:
        url = database_url(database)
        where = url.render_as_string(hide_password=True)
        step = step_at(url)
    except ThemekitError as error:
        return [_check("database", False, _sentence(error))]
    if step is None:
        return [_check("database", True, f"none yet at {where}; the first command makes it")]
    checks = [_check("database", True, f"opens: {where}")]
    if step != HEAD:
        told = (
            f"at {step}, this program's is {HEAD}: any other command brings it up to date and keeps a copy first"
        )
        return [*checks, _check("steps", False, told)]
    checks.append(_check("steps", True, f"all done, up to {step}"))
    try:
        store = Store(database)
        try:
            return [*checks, *_kept(store)]
        finally:
            store.close()
    except ThemekitError as error:
        return [*checks, _check("database", False, _sentence(error))]


def _kept(store: Any) -> list[Json]:
    """What is in the database: whole, and every amount the sum of its moves."""
    from catalog.stock import Stock

    faults = store.faults()
    checks = [_check("integrity", not faults, "; ".join(faults) or "the database finds no fault in itself")]
    shelves, stock, wrong = store.shelves(), Stock(store), []
    for shelf in shelves:
        found = stock.balances(shelf.id)
        if found:
            told = "; ".join(f"{p.hint}: {p.got} kept, {p.allowed} by the ledger" for p in found)
            wrong.append(_check(f"ledger of {shelf.name}", False, told))
    if shelves and not wrong:
        wrong.append(_check("ledger", True, f"every amount on {len(shelves)} shelves is the sum of its moves"))
    names = ", ".join(s.name for s in shelves[:20]) + (" and more" if len(shelves) > 20 else "")
    return [*checks, *wrong, _check("shelves", True, f"{len(shelves)}: {names or 'none yet'}")]


def _knowledge() -> list[Json]:
    """The built-in tables: whether they can be read, and are as they were installed."""
    from catalog import lexicon
    from catalog.lexicon import recorded

    try:
        known = lexicon.lexicon()
    except (OSError, ValueError, KeyError) as error:
        told = f"cannot be read ({type(error).__name__}): install themekit again"
        return [_check("built-in knowledge", False, told)]
    told = f"{len(known.themes)} themes, {len(known.things)} things, {len(known.kinds)} kinds, word vectors"
    well = bool(known.themes and known.things and known.meaning)
    differ = recorded.changed()
    if differ is None:
        against = "run from its source, so there is no installed list to compare with"
    elif differ:
        against = f"not as installed: {', '.join(differ[:10])}; install themekit again"
    else:
        against = "every file as installed"
    return [
        _check("built-in knowledge", well, told),
        _check("its files", not differ, f"SHA-256 {recorded.digest()[:16]}…; {against}"),
    ]


def _version() -> Json:
    from themekit import __version__

    return _check("version", True, f"themekit {__version__}, Python {sys.version.split()[0]}")


def _sentence(error: ThemekitError) -> str:
    return " ".join([error.message, *(p.hint for p in error.problems if p.hint)])


def lines(answer: Json, sheet: Paper) -> Lines:
    """Each check on a line, faults first."""
    ordered = sorted(answer["checks"], key=lambda one: one["well"])
    out = ["All in order." if answer["well"] else "Something is out of order:"]
    for one in ordered:
        out += sheet.wrapped(f"{'ok' if one['well'] else 'WRONG'}  {one['what']}: {one['told']}", "  ", "      ")
    return out
