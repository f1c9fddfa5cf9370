"""The page that brings in a list: what its form carries from step to step, and what is refused on the way."""

from __future__ import annotations

import io
import re
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from catalog.store import Store

HERS = "Sprinkle,Type,Colour,Amt left (oz),Best by\nevening sky,nonpareils,#223355,8,2027-04-03\n"


def sent(client: FlaskClient, **form: Any) -> TestResponse:
    return client.post("/shelf/bring", data=form, content_type="multipart/form-data")


def file_of(text: str, name: str = "sprinkles.csv") -> tuple[io.BytesIO, str]:
    return io.BytesIO(text.encode()), name


def carried(answer: TestResponse) -> dict[str, str]:
    """What the shown form would send back when nothing is touched."""
    page = answer.get_data(as_text=True)
    form = {}
    for tag in re.findall(r"<input type=\"hidden\"[^>]*>", page):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        assert name, tag
        assert value, tag
        form[unescape(name[1])] = unescape(value[1])
    for name, options in re.findall(r'<select name="([^"]*)"[^>]*>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        form[name] = unescape(chosen[1]) if chosen else ""
    return {name: value for name, value in form.items() if name not in ("back", "csrf", "eyes")}


def test_a_list_is_shown_then_brought_in_just_so(client: FlaskClient, store: Store, unchanged: Any) -> None:
    with unchanged(store):
        shown = sent(client, sheet=file_of(HERS))
        assert shown.status_code == 200
        assert "it looks like it; please check" in shown.get_data(as_text=True)
    done = sent(client, **carried(shown), step="bring")
    assert (done.status_code, "jars: 1 new" in done.get_data(as_text=True)) == (200, True)


def test_a_choice_made_after_the_look_is_looked_at_again(
    client: FlaskClient, store: Store, unchanged: Any
) -> None:
    form = carried(sent(client, sheet=file_of(HERS)))
    with unchanged(store):
        again = sent(client, **(form | {"unit0.3": "lb"}), step="bring")
    page = again.get_data(as_text=True)
    assert again.status_code == 422
    assert "not what was shown" in page
    assert "3628.739" in page, "eight pounds"
    assert sent(client, **carried(again), step="bring").status_code == 200


def test_another_thing_for_a_sheet_finds_its_columns_anew(client: FlaskClient) -> None:
    form = carried(sent(client, sheet=file_of("Item,Colour,Width (in)\nowl,brown,3\n", "list.csv")))
    assert form["was0"] == "cutters"
    again = carried(sent(client, **(form | {"what0": "none"}), step="try"))
    assert again["was0"] == "none"
    assert carried(sent(client, **(again | {"what0": "cutters"}), step="try"))["field0.2"] == "width_mm"


def test_a_mended_file_keeps_all_choices(client: FlaskClient) -> None:
    form = carried(sent(client, sheet=file_of(HERS.replace("#223355", "bluish"))))
    form |= {"field0.3": "full_g", "unit0.3": "lb", "days": "day first", "blanks": "keep"}
    mended = carried(sent(client, **form, sheet=file_of(HERS), step="try"))
    assert (mended["field0.3"], mended["unit0.3"], mended["days"], mended["blanks"]) == (
        "full_g", "lb", "day first", "keep",
    )  # fmt: skip


@pytest.mark.parametrize(
    "form",
    [
        {}, {"kept": "?"}, {"kept": "AAAA", "kept_name": "a.csv"}, {"kept": "eJwDAAAAAAE=", "kept_name": ""},
        {"ways": "["}, {"ways": '{"days": "never"}'}, {"ways": "[" * 5000},
    ],
)  # fmt: skip
def test_what_the_form_lost_is_told(
    client: FlaskClient, store: Store, unchanged: Any, form: dict[str, str]
) -> None:
    with unchanged(store):
        answer = sent(client, **form, step="bring")
    assert answer.status_code == 422
    assert 'role="alert"' in answer.get_data(as_text=True)


def test_nothing_is_brought_in_unseen(client: FlaskClient, store: Store, unchanged: Any) -> None:
    with unchanged(store):
        for shown in ({}, {"shown": "a.b.c"}):
            assert sent(client, sheet=file_of(HERS), step="bring", **shown).status_code == 422


def test_the_next_list_starts_from_the_columns_chosen(client: FlaskClient) -> None:
    text = "Sprinkle,Type,Colour,Zz\nevening sky,nonpareils,#223355,8\n"
    form = carried(sent(client, sheet=file_of(text)))
    chosen = carried(sent(client, **(form | {"field0.3": "on_hand_g"}), step="try"))
    assert sent(client, **chosen, step="bring").status_code == 200
    page = sent(client, sheet=file_of(text))
    told = page.get_data(as_text=True)
    assert '<span class="dim">as you chose last time</span>' in told
    assert "taken as you chose last time: “Zz”" in told
    form = carried(page)
    assert form["field0.3"] == "on_hand_g"
    # She thinks better of it.
    other = carried(sent(client, **(form | {"field0.3": ""}), step="try"))
    assert other["field0.3"] == ""
    assert sent(client, **other, step="bring").status_code == 200
    assert carried(sent(client, sheet=file_of(text)))["field0.3"] == ""
