"""The weeks' sheet: batches due together as one plan of work."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from flask.testing import FlaskClient

Sketch = Callable[..., dict[str, Any]]
Reads = Callable[[bytes], Any]


def test_batches_due_together_are_one_dough(client: FlaskClient, sketch: Sketch, read: Reads) -> None:
    """The flour of both together, on the day of the earlier; each colour by batch; hours against capacity."""
    rows = [sketch(name="Owls"), sketch(name="More owls", kits=6, due="2026-12-06")]
    flour = [
        ingredient["g"]
        for row in rows
        for ingredient in client.get(f"/api/v1/batches/{row['id']}/dough").get_json()["dough"]["ingredients"]
        if ingredient["name"] == "wheat flour"
    ]
    text = read(client.get("/api/v1/batches/weeks.pdf").data).text
    assert "Dough, Wed 2 Dec: Owls and More owls" in text
    told = re.search(r"wheat flour (\d+) g", text)
    assert told
    # Each of the two was rounded to whole grams by itself.
    assert abs(int(told[1]) - sum(flour)) <= 1
    assert re.search(r"Week 49, from Mon 30 Nov 2026 [\d.]+ h of 20 h", text)
    assert "More owls is baked with the others on Wed 2 Dec 2026" in text
    tint = client.get(f"/api/v1/batches/{rows[0]['id']}/contents").get_json()["contents"]["icing"][0]["tint"][
        "name"
    ]
    assert f"{tint}, Owls" in text
    assert f"{tint}, More owls" in text


def test_a_week_that_is_too_full_leads(client: FlaskClient, sketch: Sketch, read: Reads) -> None:
    """More hours than she has are told before the days."""
    sketch(kits=400)
    page = " ".join(read(client.get("/api/v1/batches/weeks.pdf").data).pages[0].split())
    assert page.index("First put right") < page.index("That week is full") < page.index("Week 48")


def test_weeks_past_batches_dropped_and_batches_without_a_day_are_left_out(
    client: FlaskClient, sketch: Sketch, read: Reads
) -> None:
    """Only what is still to be made, from the day named."""
    sketch(name="Without a day", due=None)
    client.post(f"/api/v1/batches/{sketch(name='Dropped')['id']}/drop")
    sketch(name="Twice")
    sketch(name="Twice", due="2026-12-19")
    text = read(client.get("/api/v1/batches/weeks.pdf").data).text
    assert "Without a day" not in text
    assert "Dropped" not in text
    assert text.index("Twice (3)") < text.index("Twice (4)")
    later = read(client.get("/api/v1/batches/weeks.pdf?from=2026-12-14").data).text
    assert "Week 49" not in later
    assert "Week 51" in later


def test_without_batches_that_is_said(client: FlaskClient, read: Reads, refused: Callable[..., Any]) -> None:
    """One page, not none; a day that is none is refused with what else is wrong."""
    assert "No batch with a pick-up day" in read(client.get("/api/v1/batches/weeks.pdf").data).text
    wrong = client.get("/api/v1/batches/weeks.pdf?from=soon&paper=a3&what=x")
    refused(wrong, 422, "invalid_value", "from", "paper", "what")
