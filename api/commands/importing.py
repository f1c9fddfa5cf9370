"""`themekit import`: a baker's own spreadsheet onto a shelf: shown first, then all or nothing."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from api.commands import options, telling
from api.commands.opening import Json, opened, shelf_of
from api.commands.paper import Paper, paper
from api.commands.telling import Lines

if TYPE_CHECKING:
    from catalog.bringing import Opened, Plan
    from catalog.store import ShelfRow, Store
    from catalog.ways import Ways

#: The shelf that a first import makes where none is named.
FIRST = "home"
_MOST_SHOWN = 40


@click.command("import", short_help="Bring a spreadsheet onto a shelf.")
@click.argument("file")
@click.option("--try", "dry_run", is_flag=True, help="Only tell what would be done.")
@click.option("--yes", is_flag=True, help="Take your own column names for what --try shows, without asking.")
@click.option(
    "--columns",
    "columns",
    metavar="TITLE=FIELD",
    multiple=True,
    help='What a column stands for: "Amt=on_hand_g oz"; "Notes=" leaves it out; SHEET:TITLE=FIELD for one sheet.',
)
@click.option(
    "--sheet", "sheets", metavar="NAME=jars|…", multiple=True, help='What a sheet holds; "NAME=" leaves it out.'
)
@click.option("--days", metavar="day first|month first", help="What comes first in days such as 03/04/2027.")
@click.option("--decimal", metavar="point|comma", help="The decimal sign of its numbers.")
@click.option(
    "--repeats", metavar="add|apart", help="Several rows of one name: add their amounts up, or keep them apart."
)
@click.option(
    "--blanks", metavar="keep|unknown", help="Whether a blank cell keeps what is known; in your own lists it does."
)
@options.WHAT
@options.PLACE
def command(file: str, what: str | None, as_json: bool, dry_run: bool, yes: bool, **given: Any) -> None:
    """Add or change by name what is in FILE: .xlsx, .csv, or a folder or .zip of .csv files.

    Columns may have names of your own. What each is taken for is shown, and asked before
    anything is brought in. With any mistake in FILE nothing changes.

    A shelf that is named and not there yet is made; so is one named home, where none is
    named and there is none but the demo.
    """
    from catalog.bringing import open_file

    ways = _ways(given)
    with opened(given) as store:
        shelf, made = _shelf(store, given["shelf"])
        found = open_file(file)
        plan = _plan(store, shelf, found, ways, what)
        if dry_run:
            answer = _answer(plan, made, False)
            telling.show(answer, as_json, lambda: lines(answer, paper()))
            return
        agreed = _agreed(plan, yes, as_json, made)
        if agreed is None:
            return
        plan, name = _brought(store, shelf, made, found, ways, agreed, what)
        answer = _answer(plan, name, True) | {"made": shelf is None}
    telling.show(answer, as_json, lambda: done(answer, paper()))


def _ways(given: Json) -> Ways:
    """The options as choices; raises `InvalidValue`."""
    from catalog.ways import EVERY, read_ways
    from themekit.errors import Problem, raise_all

    columns: dict[str, dict[str, str]] = {}
    wrong = [
        Problem(flag, one, allowed, "Put = between the two.")
        for flag, name, allowed in (
            ("--columns", "columns", "TITLE=FIELD"),
            ("--sheet", "sheets", "NAME=jars and so on"),
        )
        for one in given[name]
        if "=" not in one
    ]
    raise_all(wrong, "These choices cannot be used.")
    for one in given["columns"]:
        title, _, field = one.rpartition("=")
        sheet, apart, rest = title.partition(":")
        columns.setdefault(sheet if apart else EVERY, {})[rest if apart else title] = field
    sheets = dict(one.rpartition("=")[::2] for one in given["sheets"])
    named = {name: given[name] for name in ("days", "decimal", "repeats", "blanks")}
    return read_ways({"sheets": sheets, "columns": columns, **named})


def _shelf(store: Store, name: str | None) -> tuple[ShelfRow | None, str]:
    """The shelf, or None with the name of the one to be made."""
    from catalog.errors import NotFound
    from catalog.fields import name_key
    from catalog.store import DEMO

    if name is None and all(name_key(row.name) == DEMO for row in store.shelves()):
        # Her own things are not to end up among invented ones.
        name = FIRST
    try:
        found = shelf_of(store, name, date.today())
    except NotFound:
        assert name is not None, "a shelf that is not named is found, made or unclear"
        return None, name.strip()
    return found, found.name


def _plan(store: Store, shelf: ShelfRow | None, found: Opened, ways: Ways, what: str | None) -> Plan:
    from catalog.bringing import planned, try_out

    if shelf is not None:
        return try_out(store, shelf.id, found, ways, what)
    return planned(found, ways, store.kinds, {}, None, what)


def _agreed(plan: Plan, yes: bool, as_json: bool, shelf: str) -> str | None:
    """What was agreed to: the plan as shown, if need be after asking; None where the answer was no."""
    if plan.problems or yes or not plan.proposed:
        return plan.shown
    if as_json or not sys.stdin.isatty():
        from catalog.errors import NotAsShown
        from themekit.errors import Problem

        titles = [
            f"{c.title}: {c.field or 'left out'}"
            for one in plan.sheets
            if one.what
            for c in one.columns
            if c.proposed
        ]
        hint = (
            "Look at them with --try; then give the same command with --yes, or say what they are with --columns. "
            "An answer that comes through a pipe is not read."
        )
        allowed = "--yes, where this is right and nobody can be asked at a terminal"
        problem = Problem("--yes", "; ".join(titles)[:400], allowed, hint)
        raise NotAsShown("Some columns have names of your own; nothing was imported yet.", [problem])
    click.echo("\n".join(lines(_answer(plan, shelf, False), paper())))
    return plan.shown if click.confirm("Bring this in?") else None


def _brought(
    store: Store, shelf: ShelfRow | None, name: str, found: Opened, ways: Ways, agreed: str, what: str | None
) -> tuple[Plan, str]:
    from catalog.bringing import bring, planned, remember
    from themekit.errors import raise_all

    if shelf is not None:
        return bring(store, shelf.id, found, ways, agreed, what), shelf.name
    plan = planned(found, ways, store.kinds, {}, None, what)
    raise_all(plan.problems, "Nothing was imported, because some of it cannot be used.")
    new = store.create_shelf(name, records=plan.records)
    remember(store, new.id, plan)
    return plan, new.name


def _answer(plan: Plan, shelf: str, imported: bool) -> Json:
    from api.bringing import answer

    return {"shelf": shelf, **answer(plan, imported)}


def done(answer: Json, sheet: Paper) -> Lines:
    """What became of the rows, for people."""
    made = " (made just now)" if answer["made"] else ""
    out = sheet.wrapped(f"Imported onto the shelf {answer['shelf']}{made}:")
    return out + _counts(answer, sheet) + _told(answer["notes"], sheet)


def lines(answer: Json, sheet: Paper) -> Lines:
    """What would be done, for people: columns, rows, what is asked, and what cannot be read."""
    out = sheet.wrapped(f"Tried out on the shelf {answer['shelf']}; nothing was changed.")
    for one in answer["sheets"]:
        by = "by " if one["how"].startswith("its") else ""
        holds = f"{one['what']} ({by}{one['how']})" if one["what"] else one["how"]
        out += ["", *sheet.wrapped(f"{one['sheet']}: {holds}, {one['rows']} rows")]
        for column in one["columns"]:
            per = "per" if "price" in (column["field"] or "") else "in"
            unit = f" {per} {'inches' if column['unit'] == 'in' else column['unit']}" if column["unit"] else ""
            last = f" ({column['how']})" if column["how"] == "as you chose last time" else ""
            taken = f"{column['field']}{unit} ({column['how']})" if column["field"] else f"left out{last}"
            out += sheet.wrapped(f"“{column['title']}” → {taken}", "  ", "    ")
    out += ["", *_counts(answer, sheet)]
    for row in [r for r in answer["changes"] if r["becomes"] != "as it is"][:_MOST_SHOWN]:
        fields = row["fields"]
        told = [f"{f['field']} {f['old'] or 'not known'} → {f['new'] or 'not known'}" for f in fields]
        if row["becomes"] == "added":
            told = [f"{f['field']} {f['new']}" for f in fields if f["field"] != "name"]
        out += sheet.wrapped(f"row {row['row']}, {row['name']}: {row['becomes']}: {'; '.join(told)}", "  ", "    ")
    for question in answer["questions"]:
        out += ["", *sheet.wrapped(f"{question['text']} ({question['count']})")]
        for cell in question["cells"]:
            readings = ", ".join(f"{way}: {value}" for way, value in cell["readings"].items())
            out += sheet.wrapped(f"{cell['place']} {cell['cell']} {readings}".strip(), "  ", "    ")
        choices = " or ".join(f'--{question["about"]} "{choice}"' for choice in question["choices"])
        out += sheet.wrapped(f"Settle it with {choices}.", "  ")
    if answer["problems"]:
        out += ["", *sheet.wrapped(f"{len(answer['problems'])} cells or rows cannot be read:")]
    for p in answer["problems"]:
        got = "nothing" if p["got"] is None else p["got"]
        out += sheet.wrapped(f"{p['field']}: {got}; wanted: {p['allowed']}. {p['hint'] or ''}", "  ", "    ")
    return out + _told(answer["notes"], sheet)


def _counts(answer: Json, sheet: Paper) -> Lines:
    out: Lines = []
    for what, counts in answer["rows"].items():
        told = f"{counts['created']} new, {counts['changed']} changed, {counts['kept']} as they were"
        out += sheet.wrapped(f"{what}: {told}", "  ")
    return out


def _told(notes: Sequence[str], sheet: Paper) -> Lines:
    out: Lines = []
    for note in notes:
        out += sheet.wrapped(note, "  ", "    ")
    return out
