"""Orders: what a customer wants by a day. Removing one erases what is personal in it."""

from __future__ import annotations

from flask import Response, url_for
from flask.views import MethodView
from flask_smorest import Blueprint

from api.bodies import Body
from api.reading import json_body, query, query_text, wanted_version
from api.routes.batches import key
from api.routes.documented import ETAG, IF_MATCH, KEY, LOCATION, number_in_query, operation, text_in_query
from api.routes.replies import reply, row_reply
from api.routes.things import USUAL_PAGE_SIZE
from api.schemas.batches import OrderIn, OrderOut, OrderPage
from api.service import service
from api.works import check_needs

blp = Blueprint("orders", __name__, url_prefix="/api/v1/orders", description="What customers want by when")


@blp.route("")
class Orders(MethodView):
    """All orders."""

    @operation(
        200,
        OrderPage,
        "the orders",
        parameters=(
            number_in_query("page", 1, "which page; past the end it is empty"),
            number_in_query("page_size", USUAL_PAGE_SIZE, "how many rows on a page"),
            text_in_query("customer", "only those of this customer"),
        ),
    )
    def get(self) -> Response:
        """List orders by id."""
        asked = Body(query(), ("page", "page_size", "customer"))
        page, page_size = asked.whole("page", 1), asked.whole("page_size", USUAL_PAGE_SIZE)
        customer = query_text(asked, "customer")
        asked.done()
        at = service()
        rows, total = at.orders.list(at.shelf_id, page, page_size, customer)
        return reply({"items": rows, "page": page, "page_size": page_size, "total": total})

    @operation(
        201,
        OrderOut,
        "the new order",
        takes=OrderIn,
        example={"customer": "the owl party", "due": "2026-12-05", "total": "240.00", "deposit": "40.00"},
        headers={**LOCATION, **ETAG},
        parameters=(KEY,),
    )
    def post(self) -> Response:
        """Keep a new order."""
        body, at = json_body(), service()
        check_needs(body)
        row = at.orders.create(at.shelf_id, body, key())
        made = row_reply(row, 201)
        made.headers["Location"] = url_for("orders.One", id=row["id"])
        return made


@blp.route("/<row:id>")
class One(MethodView):
    """One order."""

    @operation(200, OrderOut, "the order", headers=ETAG)
    def get(self, id: int) -> Response:
        """Read an order, with its batches and what the customer had before."""
        at = service()
        return row_reply(at.orders.get(at.shelf_id, id))

    @operation(
        200, OrderOut, "the order as changed", takes=OrderIn, headers=ETAG, errors=(412,), parameters=(IF_MATCH,)
    )
    def patch(self, id: int) -> Response:
        """Change the fields that are named."""
        changes, at = json_body(), service()
        check_needs(changes)
        return row_reply(at.orders.change(at.shelf_id, id, changes, wanted_version()))

    @operation(204, None, "the order is off the list and erased", errors=(412,), parameters=(IF_MATCH,))
    def delete(self, id: int) -> Response:
        """Take an order off the list and erase what is personal in it."""
        at = service()
        at.orders.remove(at.shelf_id, id, wanted_version())
        at.answered.forget(at.shelf_id)
        return Response(status=204)
