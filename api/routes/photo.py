"""A jar's colours from a photo."""

from __future__ import annotations

from flask import Response, request
from flask.views import MethodView
from flask_smorest import Blueprint
from marshmallow import fields
from werkzeug.exceptions import RequestEntityTooLarge

from api.photos import MOST_BYTES, colours_of
from api.reading import NotMultipart
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.base import Strict, hex_out, lab_out, sentences, share, told
from themekit.errors import InvalidValue, Problem

blp = Blueprint("photo", __name__, url_prefix="/api/v1/jars", description="Colours from photos")


class ColourRead(Strict):
    """One colour of the photo."""

    lab = lab_out()
    hex = hex_out()
    name = fields.String(required=True)
    share = share("its part of what was read", required=True)


class PhotoRead(Strict):
    """What a photo shows."""

    colours = fields.List(fields.Nested(ColourRead), required=True)
    sureness = share("0 for not at all, 1 for sure", required=True)
    warnings_ = sentences("what to do better")
    warnings_.data_key = "warnings"
    balanced_by = fields.String(required=True, allow_none=True, metadata=told("white paper, grey card or null"))


_BODY = {
    "required": True,
    "content": {
        "multipart/form-data": {
            "schema": {
                "type": "object",
                "required": ["photo"],
                "additionalProperties": False,
                "properties": {
                    "photo": {"type": "string", "format": "binary", "description": "JPEG, PNG, WebP or HEIC"},
                    "white": {"type": "string", "description": "x,y,width,height of white paper, in pixels"},
                },
            }
        }
    },
}


@blp.route("/photo")
class Photo(MethodView):
    """A photo of a jar, or of sprinkles on a plate."""

    @operation(200, PhotoRead, "its colours with shares", errors=(400, 413, 415))
    @blp.doc(requestBody=_BODY)
    def post(self) -> Response:
        """Read colours off a photo; nothing of it is kept."""
        request.max_content_length = MOST_BYTES + 10_000
        if (request.content_length or 0) > request.max_content_length:
            raise RequestEntityTooLarge
        if request.mimetype != "multipart/form-data":
            raise NotMultipart.of(request.mimetype)
        given = request.files.get("photo")
        if given is None:
            problem = Problem("photo", None, "a file in multipart/form-data", "Send the photo as the field photo.")
            raise InvalidValue("There is no photo.", [problem])
        data = given.read()
        given.close()
        return reply(colours_of(data, request.form.get("white")))
