"""The routes, one file per subject."""

from __future__ import annotations

from flask_smorest import Blueprint

from api.routes import (
    batches,
    health,
    ideas,
    idle,
    metrics,
    moves,
    orders,
    palettes,
    photo,
    prints,
    requests,
    season,
    sheets,
    shelf,
    taste,
    themes,
    things,
    trios,
)

#: In the order of the documentation.
BLUEPRINTS: tuple[Blueprint, ...] = (
    health.blp,
    metrics.blp,
    shelf.blp,
    sheets.blp,
    themes.blp,
    palettes.blp,
    trios.blp,
    ideas.blp,
    requests.blp,
    taste.blp,
    season.blp,
    idle.blp,
    photo.blp,
    *things.BLUEPRINTS,
    batches.blp,
    prints.blp,
    moves.blp,
    orders.blp,
)
