"""The ledger: its lines, and entering or undoing one; where a maker's lot went."""

from __future__ import annotations

from flask import Response
from flask.views import MethodView
from flask_smorest import Blueprint

from api.bodies import Body
from api.reading import json_body, query, query_text
from api.routes.batches import key
from api.routes.documented import KEY, number_in_query, operation, text_in_query
from api.routes.replies import reply
from api.routes.things import USUAL_PAGE_SIZE
from api.schemas.batches import MoveIn, MoveOut, MovePage, RecallOut
from api.service import service
from catalog.lookup import LARGEST_ID

blp = Blueprint("moves", __name__, url_prefix="/api/v1", description="The ledger of the shelf's stock")
_ITEMS = {"jar": "jars", "gel": "gels", "box": "boxes", "supply": "supplies"}


@blp.route("/moves")
class Moves(MethodView):
    """The lines of the ledger."""

    @operation(
        200,
        MovePage,
        "the moves",
        parameters=(
            number_in_query("page", 1, "which page; past the end it is empty"),
            number_in_query("page_size", USUAL_PAGE_SIZE, "how many rows on a page"),
            *(text_in_query(word, f"only those of this {word}", "integer") for word in (*_ITEMS, "batch")),
            text_in_query("lot", "only those of this maker's lot"),
        ),
    )
    def get(self) -> Response:
        """List moves by id, oldest first."""
        asked = Body(query(), ("page", "page_size", *_ITEMS, "batch", "lot"))
        page, page_size = asked.whole("page", 1), asked.whole("page_size", USUAL_PAGE_SIZE)
        ids = {
            word: asked.checks.whole(word, asked.raw.get(word), least=1, most=LARGEST_ID)
            for word in (*_ITEMS, "batch")
        }
        named = [word for word in _ITEMS if ids[word] is not None]
        if len(named) > 1:
            asked.checks.wrong(named[1], ids[named[1]], "one item", f"Ask for {named[0]} or {named[1]}.")
        lot = query_text(asked, "lot")
        asked.done()
        at = service()
        item = (_ITEMS[named[0]], int(ids[named[0]] or 0)) if named else None
        rows, total = at.stock.moves(at.shelf_id, item, ids["batch"], lot, page, page_size)
        return reply({"items": rows, "page": page, "page_size": page_size, "total": total})

    @operation(
        201,
        MoveOut,
        "the new line of the ledger",
        takes=MoveIn,
        example={"jar": 1, "kind": "used", "grams": 20},
        parameters=(KEY,),
    )
    def post(self) -> Response:
        """Enter a move, or undo one; a count writes the difference to what stood before."""
        body, at = json_body(), service()
        return reply(at.stock.record(at.shelf_id, body, key()), 201)


@blp.route("/recall")
class Recall(MethodView):
    """Where a maker's lot went."""

    @operation(
        200,
        RecallOut,
        "every jar, batch and order that the lot went into",
        parameters=(text_in_query("lot", "the maker's lot", required=True),),
    )
    def get(self) -> Response:
        """Trace a lot."""
        asked = Body(query(), ("lot",))
        lot = query_text(asked, "lot", required=True)
        asked.done()
        at = service()
        return reply(at.orders.recall(at.shelf_id, lot or ""))
