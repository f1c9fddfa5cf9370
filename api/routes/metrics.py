"""Counts and times for those who look after the service."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api.routes.documented import operation
from api.upkeep.metrics import MEDIA
from api.upkeep.watching import metrics as counted

blp = Blueprint("metrics", __name__, url_prefix="/api/v1/metrics", description="Counts and times")


@blp.route("")
@operation(200, None, "in Prometheus' text format, of all processes together", media="text/plain")
def metrics() -> Response:
    """Requests, times and memory, by route pattern; nothing of what anyone asked."""
    return Response(counted().text(), content_type=MEDIA)
