"""The page: server-rendered places over the same questions and the same store as the API."""

from __future__ import annotations

from flask import Blueprint


def places() -> tuple[Blueprint, ...]:
    """The places of the page, each a blueprint of its own."""
    from api.pages import batches, ideas, idle, kit, orders, reply, season, shelf, week

    return (batches.blp, ideas.blp, idle.blp, kit.blp, orders.blp, reply.blp, season.blp, shelf.blp, week.blp)
