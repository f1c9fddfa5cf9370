"""Words of the page: nothing of a caution is left out, and what it holds is escaped."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient

from api.pages.base import cautions
from themekit.make.cautions import RAW_EGG, RAW_FLOUR, SHARED_KITCHEN

LINES = (
    RAW_EGG,
    RAW_FLOUR,
    SHARED_KITCHEN,
    "Contains egg (dough and icing); gluten (dough); milk (dough).",
    "Small hard pieces: pearls. Not for under 4 (American Academy of Pediatrics, Pediatrics 125(3):601, 2010).",
    "Contains nut (mix <b>1</b> & more).",
)


@pytest.mark.parametrize("line", LINES)
def test_every_word_of_a_caution_stays_in_sight(line: str) -> None:
    plain = re.sub(r"<[^>]+>", "", str(cautions([line])))
    for entity, sign in (("&lt;", "<"), ("&gt;", ">"), ("&amp;", "&"), ("&#39;", "'"), ("&#34;", '"')):
        plain = plain.replace(entity, sign)
    assert plain == line


def test_where_a_caution_is_from_stands_small_and_allergens_do_not() -> None:
    assert 'class="source"' in cautions([LINES[4]])
    assert 'class="source"' not in cautions([LINES[3]])


def test_ideas_say_needs_with_names_and_what_was_understood(client: FlaskClient) -> None:
    page = client.get("/?theme=owl+party,+14+kits,+the+youngest+is+2,+no+orange,+no+soy").get_data(as_text=True)
    assert re.search(r"<summary>Who eats it, and how many: 14 kits, no soy, youngest 2</summary>", page)
    assert re.search(r"</svg> no orange</span>", page)
    assert "avoid colours" not in page
    name = client.get("/api/v1/jars/1").get_json()["name"]
    page = client.get("/?theme=owl+party&use=1").get_data(as_text=True)
    assert f">use up {name}</span>" in page
    assert f"checked> use up {name}</label>" in page


def test_a_message_calls_a_field_by_its_label(client: FlaskClient) -> None:
    page = client.post("/orders", data={"total": "much"}).get_data(as_text=True)
    assert '<a href="#o-total">Price agreed</a>: <strong>much</strong>' in page


def test_guesses_names_and_what_was_left_out_are_told_plainly(client: FlaskClient) -> None:
    """A slip that was mended is perhaps so; no key of ours stands among the words."""
    page = client.get("/?theme=owl+party+with+a+piratte,+no+nuts,+no+jimmies.+Thanks,+Ottoline").get_data(
        as_text=True
    )
    assert re.search(r"“piratte” perhaps as pirate", page)
    assert "“ottoline” as a name" in page
    assert "jars that hold or may hold peanut (" in page
    assert "skip jars" not in page
