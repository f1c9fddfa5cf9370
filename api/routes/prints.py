"""A batch's prints: card, label, bench sheet and shopping list as PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Response
from flask.views import MethodView
from flask_smorest import Blueprint

from api.bodies import Body
from api.reading import query
from api.routes.documented import choice_in_query, operation, text_in_query
from api.service import service

if TYPE_CHECKING:
    from api.prints.printing import Printed

blp = Blueprint("prints", __name__, url_prefix="/api/v1/batches", description="What is printed of a batch, as PDF")

PDF = "application/pdf"
#: Each document with what it is.
_ABOUT = {
    "card": "directions for whoever decorates, four cards to a page with cut marks",
    "label": "labels with ingredients and allergens, with cut marks, and the baker's notes on them",
    "sheet": "the bench sheet on at most two pages: what to mix, weigh, bake and pack",
    "shopping": "the shopping list, with boxes to tick",
}
_PAPERS, _UNITS = ("a4", "letter"), ("metric", "us")
_NOT_PRINTED = {
    "Not-Printed": {
        "description": "code points that no font of ours has; printed as replacement characters",
        "schema": {"type": "string"},
    }
}


_ASKED = (
    choice_in_query("paper", _PAPERS, "the paper; of none what is usual where the shelf is"),
    choice_in_query("units", _UNITS, "the units of amounts; of none metric"),
)


def _reply(made: Printed) -> Response:
    """A PDF to be shown, with a name to save it under."""
    response = Response(made.data, mimetype=PDF)
    response.headers["Content-Disposition"] = f'inline; filename="{made.file}"'
    if made.not_printed:
        response.headers["Not-Printed"] = " ".join(f"U+{ord(sign):04X}" for sign in made.not_printed)
    return response


def _print(name: str, about: str) -> None:
    """The address of one document."""

    @blp.route(f"/<row:id>/{name}.pdf", endpoint=name)
    class Print(MethodView):
        @operation(200, None, about, media=PDF, headers=_NOT_PRINTED, parameters=_ASKED)
        def get(self, id: int) -> Response:
            # The compiler of prints is loaded by the first that is asked for.
            from api.prints.printing import printed

            asked = Body(query(), ("paper", "units"))
            chosen = _chosen(asked)
            asked.done()
            at = service()
            batch = at.batches.get(at.shelf_id, id)
            return _reply(printed(at.store, at.shelf_id, batch, at.today(), name, **chosen))

    Print.__doc__ = about


def _chosen(asked: Body) -> dict[str, Any]:
    """Paper and units, where they are named."""
    return {
        field: asked.checks.choice(field, asked.raw.get(field), allowed)
        for field, allowed in (("paper", _PAPERS), ("units", _UNITS))
    }


for _name, _about in _ABOUT.items():
    _print(_name, _about)


@blp.route("/weeks.pdf")
class Weeks(MethodView):
    """The work of all batches that are sketched or promised, week by week."""

    @operation(
        200,
        None,
        "one plan of work: days, hours against capacity, shared dough and white icing",
        media=PDF,
        headers=_NOT_PRINTED,
        parameters=(
            text_in_query("from", "weeks before this day, YYYY-MM-DD, are left out; of none today"),
            *_ASKED,
        ),
    )
    def get(self) -> Response:
        """Print the weeks' work."""
        from api.prints.printing import printed_weeks

        asked = Body(query(), ("from", "paper", "units"))
        chosen = _chosen(asked)
        start = asked.checks.day("from", asked.raw.get("from"))
        asked.done()
        at = service()
        return _reply(printed_weeks(at.store, at.shelf_id, at.today(), start, **chosen))
