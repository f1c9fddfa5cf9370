"""Sizes, page counts and bytes of every print."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.prints.job import PAPERS, Job, Paper, usual_paper
from api.prints.printing import DOCUMENTS, pdf, slug
from api.prints.typeset import typeset

# Points of 1/72 in, rounded. ISO 216: A4 is 210 × 297 mm. ANSI/ASME Y14.1: size A is 8.5 × 11 in.
SIZES = {"a4": (round(210 / 25.4 * 72), round(297 / 25.4 * 72)), "letter": (612, 792)}
MOST_PAGES = {"card": 1, "label": 2, "sheet": 2, "shopping": 2}


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_page_has_the_size_asked_for(
    job: Callable[..., Job], read: Callable[[bytes], Any], document: str, paper: Paper
) -> None:
    """A4 by ISO 216, Letter by ANSI/ASME Y14.1; no print of a usual batch is longer than it says."""
    assert SIZES["a4"] == (595, 842)
    found = read(pdf(document, job(paper=paper))[0])
    assert set(found.sizes) == {SIZES[paper]}
    assert 1 <= len(found.sizes) <= MOST_PAGES[document]


@pytest.mark.parametrize("document", DOCUMENTS)
def test_the_same_batch_gives_the_same_bytes(
    client: FlaskClient, sketch: Callable[..., Any], document: str
) -> None:
    """Printed twice by address, nothing differs."""
    address = f"/api/v1/batches/{sketch()['id']}/{document}.pdf"
    first, again = client.get(address), client.get(address)
    assert first.status_code == 200
    assert first.data == again.data
    assert first.data != client.get(address + "?paper=a4").data


def test_another_process_gives_the_same_bytes() -> None:
    """No clock, no random numbers and no order of a set get into the file."""
    data = {"paper": "a4", "shelf": "s", "title": "t", "logo": "", "picture": "", "tints": [], "steps": ["a", "b"],
            "numbered": False, "toppings": [], "toppings_title": "", "use_by": "u", "allergens": "",
            "cautions": [], "see_label": "l"}  # fmt: skip
    code = (
        "import hashlib, json, sys; from api.prints.typeset import typeset; "
        "print(hashlib.sha256(typeset('card', json.load(sys.stdin))[0]).hexdigest())"
    )
    here = hashlib.sha256(typeset("card", data)[0]).hexdigest()
    there = subprocess.run(
        [sys.executable, "-c", code],
        input=json.dumps(data),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert there.stdout.strip() == here


@pytest.mark.parametrize(
    ("shelf", "rules", "paper"),
    [
        ({"locale": "en-US"}, "EU", "letter"),
        ({"locale": "fr_CA"}, "EU", "letter"),
        ({"locale": "de-DE", "region": "USA"}, "US", "a4"),
        ({"locale": "en", "region": "Oregon, United States"}, "EU", "letter"),
        ({"region": "Devon", "currency": "GBP"}, "US", "a4"),
        ({"currency": "CAD"}, "GB", "letter"),
        ({}, "US", "letter"),
        ({}, "CA", "letter"),
        ({"locale": None, "region": None, "currency": None}, "GB", "a4"),
    ],
)
def test_the_paper_is_that_of_the_place(shelf: dict[str, str], rules: str, paper: str) -> None:
    """Letter in the US and Canada, else A4."""
    assert usual_paper(shelf, rules) == paper


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("Owl party", "owl-party-3"),
        ("../../etc/passwd", "etc-passwd-3"),
        ('a"; filename="b\r\nX: y', "a-filename-b-x-y-3"),
        ("Fête à Noël", "fete-a-noel-3"),
        ("日本", "batch-3"),
        ("x" * 500, "x" * 40 + "-3"),
    ],
)
def test_the_file_has_a_safe_name(name: str, safe: str) -> None:
    """Letters, digits and hyphens only, whatever the batch is called."""
    assert slug(name, 3) == safe


@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_print_is_shown_in_the_browser(client: FlaskClient, sketch: Callable[..., Any], document: str) -> None:
    """The media type of PDF (RFC 8118), inline, by a name to save it under; documented as such."""
    row = sketch(name='Owl\'s "party"')
    response = client.get(f"/api/v1/batches/{row['id']}/{document}.pdf")
    assert response.mimetype == "application/pdf"
    assert response.data.startswith(b"%PDF-")
    name = f"owl-s-party-{row['id']}-{document}.pdf"
    assert response.headers["Content-Disposition"] == f'inline; filename="{name}"'
    documented = client.get("/api/v1/openapi.json").get_json()["paths"][f"/api/v1/batches/{{id}}/{document}.pdf"]
    assert list(documented["get"]["responses"]["200"]["content"]) == ["application/pdf"]


def test_what_is_asked_for_wrongly_is_told_at_once(
    client: FlaskClient, sketch: Callable[..., Any], refused: Callable[..., Any]
) -> None:
    """Paper, units and unknown fields in one answer; a batch that there is not is not found."""
    address = f"/api/v1/batches/{sketch()['id']}/card.pdf"
    wrong = client.get(address + "?paper=a3&units=stone&size=1&paper=a4")
    refused(wrong, 422, "invalid_value", "paper", "units", "size")
    refused(client.get("/api/v1/batches/999/card.pdf"), 404, "not_found", "id")
