"""A batch's prints: card, label, bench sheet and shopping list as PDF."""

from __future__ import annotations

from typing import Any

from flask import Response
from flask.views import MethodView
from flask_smorest import Blueprint

from api.bodies import Body
from api.reading import query
from api.routes.documented import choice_in_query, operation
from api.service import service

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


def _print(name: str, about: str) -> None:
    """The address of one document."""

    @blp.route(f"/<row:id>/{name}.pdf", endpoint=name)
    class Print(MethodView):
        @operation(
            200,
            None,
            about,
            media=PDF,
            headers=_NOT_PRINTED,
            parameters=(
                choice_in_query("paper", _PAPERS, "the paper; of none what is usual where the shelf is"),
                choice_in_query("units", _UNITS, "the units of amounts; of none metric"),
            ),
        )
        def get(self, id: int) -> Response:
            # The compiler of prints is loaded by the first that is asked for.
            from api.prints.printing import printed

            asked = Body(query(), ("paper", "units"))
            chosen: dict[str, Any] = {
                field: asked.checks.choice(field, asked.raw.get(field), allowed)
                for field, allowed in (("paper", _PAPERS), ("units", _UNITS))
            }
            asked.done()
            at = service()
            batch = at.batches.get(at.shelf_id, id)
            made = printed(at.store, at.shelf_id, batch, at.today(), name, **chosen)
            response = Response(made.data, mimetype=PDF)
            response.headers["Content-Disposition"] = f'inline; filename="{made.file}"'
            if made.not_printed:
                response.headers["Not-Printed"] = " ".join(f"U+{ord(sign):04X}" for sign in made.not_printed)
            return response

    Print.__doc__ = about


for _name, _about in _ABOUT.items():
    _print(_name, _about)
