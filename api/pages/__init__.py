"""The page: server-rendered places over the same questions and the same store as the API."""

from __future__ import annotations

from flask import Blueprint


def places() -> tuple[Blueprint, ...]:
    """The places of the page, each a blueprint of its own."""
    from api.pages import (
        batches,
        bringing,
        compare,
        ideas,
        idle,
        kit,
        making,
        many,
        orders,
        place,
        reply,
        season,
        shelf,
        taste,
        week,
    )

    mine = (
        batches,
        bringing,
        compare,
        ideas,
        idle,
        kit,
        making,
        many,
        orders,
        place,
        reply,
        season,
        shelf,
        taste,
        week,
    )
    return tuple(one.blp for one in mine)
