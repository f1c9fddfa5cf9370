"""A batch on the demo shelf, worked out, and PDFs read back with pypdf, which did not write them."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any, NamedTuple

import pytest
from flask.testing import FlaskClient
from pypdf import PdfReader

from api.prints.job import Job
from api.works import batches_of, work_of
from catalog.store import Store

TODAY = date(2026, 11, 25)
DUE = "2026-12-05"
Json = dict[str, Any]


class Read(NamedTuple):
    """What a PDF shows: text of each page, the same without blanks, and page sizes in points."""

    pages: list[str]
    sizes: list[tuple[int, int]]

    @property
    def text(self) -> str:
        """All text with single blanks."""
        return " ".join(" ".join(self.pages).split())

    @property
    def packed(self) -> str:
        """All text without blanks and line ends, where a narrow column breaks words."""
        return packed(" ".join(self.pages))


def packed(text: str) -> str:
    """A text without blanks."""
    return "".join(text.split()).replace("\u200b", "")


@pytest.fixture
def read() -> Callable[[bytes], Read]:
    """Read a PDF back."""

    def back(data: bytes) -> Read:
        reader = PdfReader(io.BytesIO(data))
        sizes = [(round(float(p.mediabox.width)), round(float(p.mediabox.height))) for p in reader.pages]
        return Read([page.extract_text() for page in reader.pages], sizes)

    return back


@pytest.fixture
def sketch(client: FlaskClient) -> Callable[..., Json]:
    """Sketch a batch from the demo shelf: owls and stars, three colours, three jars."""

    def make(**more: Any) -> Json:
        def ids(what: str, *names: str) -> list[int]:
            rows = client.get(f"/api/v1/{what}?page_size=200").get_json()["items"]
            return [next(row["id"] for row in rows if row["name"] == name) for name in names]

        owl, star = ids("cutters", "owl", "star")
        # Bought gels, whose allergens are entered; kitchen powders' are not.
        gels = zip(ids("gels", "teal", "lemon yellow", "chocolate brown"), (1.3, 0.8, 1.6), strict=True)
        recipes = [[{"gel_id": id, "g_per_100g": grams}] for id, grams in gels]
        body = {
            "theme": "owl party",
            "name": "Owl party",
            "kits": 12,
            "due": DUE,
            "tints": [
                {"hex": colour, "recipe": recipe}
                for colour, recipe in zip(("#088f7f", "#f5d33f", "#875e34"), recipes, strict=True)
            ],
            "jars": ids("jars", "teal nonpareils", "gold star quins", "mini white chips"),
            "cutters": [{"id": owl, "cookies": 5}, {"id": star, "cookies": 3}],
        }
        response = client.post("/api/v1/batches", json=body | more)
        assert response.status_code == 201, response.get_json()
        row: Json = response.get_json()
        return row

    return make


@pytest.fixture
def job(store: Store, sketch: Callable[..., Json]) -> Callable[..., Job]:
    """A job as the address of a print makes it, with other fields of the job, kit or label where named."""

    def make(batch: Json | None = None, **more: Any) -> Job:
        row = batch or sketch()
        shelf = store.shelf_named(None)
        work = work_of(store, shelf.id, batches_of(store).get(shelf.id, row["id"]), TODAY)
        order = work.order
        for part, names in (("kit", ("tints", "toppings", "cuts")), ("label", ("directions", "picture"))):
            chosen = {name: more.pop(name) for name in names if name in more}
            if part == "kit":
                order = replace(order, kit=replace(order.kit, **chosen))
            else:
                settings = order.settings
                order = replace(order, settings=replace(settings, label=replace(settings.label, **chosen)))
        made = Job(replace(work, order=order), "Marlow Lane", row["name"], work.missing)
        return replace(made, **more)

    return make
