"""The shelf itself: its name, money and place, and the standing dough and icing."""

from __future__ import annotations

from flask import Response
from flask.views import MethodView
from flask_smorest import Blueprint

from api.reading import json_body, wanted_version
from api.routes.documented import ETAG, IF_MATCH, operation
from api.routes.replies import reply, row_reply
from api.schemas.batches import SettingsOut
from api.schemas.things import ShelfIn, ShelfOut
from api.service import service
from api.works import plain, settings_of
from themekit.make.settings import rules

blp = Blueprint("shelf", __name__, url_prefix="/api/v1/shelf", description="The shelf itself")


@blp.route("")
class Shelf(MethodView):
    """The shelf that is served."""

    @operation(200, ShelfOut, "the shelf", headers=ETAG)
    def get(self) -> Response:
        """The shelf and what its standing recipes hold."""
        at = service()
        return row_reply(at.store.shelf_record(at.shelf_id))

    @operation(
        200,
        ShelfOut,
        "the shelf as changed",
        takes=ShelfIn,
        example={"currency": "EUR", "dough": {"allergens": ["milk", "egg", "wheat", "gluten"]}},
        headers=ETAG,
        errors=(412,),
        parameters=(IF_MATCH,),
    )
    def patch(self) -> Response:
        """Change what is named; null makes a field unknown."""
        changes, at = json_body(), service()
        return row_reply(at.store.change_shelf(at.shelf_id, changes, wanted_version()))


@blp.route("/settings")
class Settings(MethodView):
    """Settings of kits: every default that can be changed, and what it is on this shelf."""

    @operation(200, SettingsOut, "every setting with its default, range and source")
    def get(self) -> Response:
        """List the settings; PATCH /api/v1/shelf changes them."""
        at = service()
        now = settings_of(at.store.shelf_record(at.shelf_id)["settings"], None)
        items = [
            {
                "group": group,
                "name": name,
                "about": rule.about,
                "value": plain(getattr(getattr(now, group), name)),
                "default": plain(default),
                "unit": rule.unit,
                "least": rule.least,
                "most": rule.most,
                "choices": list(rule.choices),
                "source": rule.source,
            }
            for group, named in rules().items()
            for name, (default, rule) in named.items()
        ]
        return reply({"items": items})
