"""What is typed on the season's page: read from a form or an address, and shown again as it was typed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from api.pages.amiss import FormFields, placed
from themekit.errors import ThemekitError

#: Blank rows for themes of her own that the page always offers.
OWN_ROWS = 3
#: What is typed of a line of her own.
_TYPED = ("theme", "date", "kits")
_LONGEST = 2000


@dataclass(frozen=True, slots=True)
class Line:
    """One line as it was typed; `own` was typed whole, the others belong to a day of the calendar."""

    theme: str
    date: str
    kits: str
    own: bool
    #: Which of the typed lines it is, from 0; −1 for a blank one.
    number: int = -1

    @property
    def wanted(self) -> bool:
        """Whether anything was typed; a day of the calendar counts once it has kits."""
        return bool(self.kits or (self.own and (self.theme or self.date)))

    def body(self) -> dict[str, Any]:
        """The line as the API takes it; what is no number goes on as it is, to be told."""
        whole = self.kits.isascii() and self.kits.isdigit() and len(self.kits) < 8
        kits: Any = int(self.kits) if whole else self.kits or None
        return {"theme": self.theme or None, "date": self.date or None, "kits": kits}


def lines_of(form: Any) -> list[Line]:
    """The lines of a form or an address: theme, date, kits again and again, and own when typed whole."""
    columns = [[text.strip()[:_LONGEST] for text in form.getlist(n)] for n in ("theme", "date", "kits", "own")]
    rows = zip(*columns, strict=False)
    wanted = [line for t, d, k, own in rows if (line := Line(t, d, k, own == "1")).wanted]
    return [replace(line, number=number) for number, line in enumerate(wanted)]


def in_address(lines: Sequence[Line]) -> str:
    """The lines as the query of an address, so that a plan can be kept, sent and made anew."""
    pairs = [
        (("theme", one.theme), ("date", one.date), ("kits", one.kits), ("own", "1" if one.own else "0"))
        for one in lines
    ]
    return urlencode([pair for row in pairs for pair in row])


#: A batch of a day's theme that is due so many days before it, or on it, is taken to be for it.
_BEFORE = timedelta(days=21)


def typed_into(
    calendar: dict[str, Any], lines: Sequence[Line], batches: Sequence[dict[str, Any]] = ()
) -> dict[str, Any]:
    """The calendar by month: kits typed, what is planned already, own rows; nothing typed is left out."""
    left = list(lines)
    items = []
    for event in calendar["items"]:
        kits, number = "", -1
        if event["theme"] and event["days"]:
            for line in left:
                if not line.own and (line.theme, line.date) == (event["theme"], event["days"]["ready_by"]):
                    left.remove(line)
                    kits, number = line.kits, line.number
                    break
        items.append({**event, "kits": kits, "number": number, "there": [b for b in batches if _is_for(b, event)]})
    own = [replace(line, own=True) for line in left]
    own += [Line("", "", "", True)] * max(1, OWN_ROWS - len(own))
    months = [(f"{day:%B %Y}", list(of)) for day, of in groupby(items, key=lambda one: _month(one["date"]))]
    return {"note": calendar["note"], "months": months, "own": own}


def _is_for(batch: dict[str, Any], event: dict[str, Any]) -> bool:
    """Whether a batch is for a day of the calendar: of its theme, and due shortly before."""
    if not event["theme"] or not batch["due"] or batch["theme"].casefold() != event["theme"].casefold():
        return False
    day, due = date.fromisoformat(event["date"]), date.fromisoformat(batch["due"])
    return day - _BEFORE <= due <= day


def _month(text: str) -> date:
    return date.fromisoformat(text).replace(day=1)


def by_line(error: ThemekitError, lines: Sequence[Line]) -> dict[str, Any]:
    """An error as the page tells it, with each line named as she knows it instead of by its number."""
    problems = []
    for problem in error.problems:
        parts, word = problem.field.split("."), problem.field
        if len(parts) > 2 and parts[0] == "kits" and parts[1].isdigit() and int(parts[1]) < len(lines):
            line = lines[int(parts[1])]
            word = f"{line.theme[:60] or 'free choice'}, {' '.join(parts[2:])}"
        problems.append((problem, word))
    # A day of the calendar can be mended only by its kits: theme and day are the calendar's.
    also = {
        f"kits.{n}.{name}": f"{n}-{name if line.own else 'kits'}"
        for n, line in enumerate(lines)
        for name in _TYPED
    }
    form = FormFields("l-", tuple(dict.fromkeys(also.values())), also)
    return {"message": error.message, "short": getattr(error, "short", []), **placed(problems, form)}
