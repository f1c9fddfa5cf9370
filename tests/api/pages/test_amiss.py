"""What is wrong with a form stands beside its fields: marked, described, linked from above, the first in focus."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from flask.testing import FlaskClient

from api.pages.amiss import FormFields, placed
from themekit.errors import Problem


class Elements(HTMLParser):
    """All elements of a page with their attributes, and the text of each that has an id."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.text: dict[str, str] = {}
        self._open: list[tuple[str, str]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        self.found.append((tag, told))
        if tag not in ("input", "br", "img", "meta", "link"):
            self._open.append((tag, told.get("id", "")))

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        for _, id in self._open:
            if id:
                self.text[id] = self.text.get(id, "") + data


#: A form, what is typed that cannot be, and the ids of its fields in the order of the page.
FORMS = [
    ("/orders", {"customer": "x", "total": "eighty", "time": "noon"}, ["o-time", "o-total"]),
    ("/orders", {"total": "1", "deposit": "2"}, ["o-deposit"]),
    ("/shelf/jars/new", {"name": "", "kind": "nothing known"}, ["f-name", "f-kind", "f-colours"]),
    (
        "/shelf/jars/1",
        {"name": "x", "kind": "jimmies", "colours": "#ffffff", "grain_mm": "long", "best_before": "soon"},
        ["f-best_before", "f-grain_mm"],
    ),
    ("/shelf/cutters/new", {"name": "x", "width_mm": "wide"}, ["f-width_mm"]),
    ("/shelf/gels/new", {"name": "x", "swatch": "reddish"}, ["f-swatch", "f-dose_g_per_100g"]),
    ("/shelf/boxes/new", {"name": "x", "length_mm": "-1"}, ["f-length_mm"]),
    ("/shelf/jars/1/count", {"kind": "counted", "amount": "much", "note": "by hand"}, ["n-amount"]),
    ("/shelf/jars/many", {"name": "x", "kind": "jimmies"}, ["q-colours"]),
    ("/shelf/place", {"name": "x", "currency": "much", "locale": "nowhere"}, ["p-currency", "p-locale"]),
    ("/shelf/bring", {}, ["sheet"]),
    (
        "/season",
        {"theme": ["owls", ""], "date": ["", "soon"], "kits": ["many", "2"], "own": ["1", "1"]},
        ["l-0-kits", "l-1-date"],
    ),
    ("/?theme=owl&kits=0&age=200", None, ["i-age", "i-kits"]),
    ("/idle?days=99999", None, ["days"]),
]


@pytest.mark.parametrize(("address", "data", "ids"), FORMS, ids=[f"{a} {' '.join(i)}" for a, _, i in FORMS])
def test_each_problem_stands_beside_its_field(
    client: FlaskClient, address: str, data: dict[str, str] | None, ids: list[str]
) -> None:
    page = Elements((client.get(address) if data is None else client.post(address, data=data)).text)
    marked = [told for _, told in page.found if told.get("aria-invalid") == "true"]
    assert [told["id"] for told in marked] == ids
    assert [told["id"] for told in marked if "autofocus" in told] == ids[:1]
    for told in marked:
        assert page.text[told["aria-describedby"]].strip()
    links = [told["href"] for tag, told in page.found if tag == "a" and told.get("href", "").startswith("#")]
    assert set(links) >= {f"#{id}" for id in ids}
    every = [told["id"] for _, told in page.found if "id" in told]
    assert len(every) == len(set(every)), "an id is there twice"


def test_what_was_typed_of_a_count_is_not_lost(client: FlaskClient) -> None:
    sent = {"kind": "bought", "way": "gross", "amount": "much", "note": "by hand"}
    page = Elements(client.post("/shelf/jars/1/count", data=sent).text)
    values = {told["name"]: told.get("value") for tag, told in page.found if tag == "input" and "name" in told}
    assert (values["amount"], values["note"]) == ("much", "by hand")
    chosen = [told.get("value") for tag, told in page.found if tag == "option" and "selected" in told]
    assert "gross" in chosen


def test_a_batch_tells_its_own_beside_them(client: FlaskClient) -> None:
    found = re.search(r'href="/kit\?([^"]+)"', client.get("/?theme=owl").text)
    assert found is not None
    sent = [pair.split("=", 1) for pair in found[1].replace("&amp;", "&").split("&")]
    kit: dict[str, list[str]] = {}
    for name, value in sent:
        kit.setdefault(name, []).append(value.replace("%3A", ":").replace("+", " "))
    made = client.post("/batches", data=kit | {"kits": ["2"], "due": ["no day"]})
    assert [t["id"] for _, t in Elements(made.text).found if "aria-invalid" in t] == ["m-due"]
    made = client.post("/batches", data=kit | {"kits": ["2"]})
    assert made.status_code == 303, made.text
    batch = made.headers["Location"]
    version = re.search(r'name="version" value="(\d+)"', client.get(batch).text)
    assert version is not None
    changed = client.post(f"{batch}/change", data={"version": version[1], "name": "x", "kits": "0", "due": "soon"})
    page = Elements(changed.text)
    assert [t["id"] for _, t in page.found if "aria-invalid" in t] == ["b-kits", "b-due"]
    ticked = client.post(f"{batch}/promise", data={"version": version[1]})
    marked = [t["id"] for _, t in Elements(ticked.text).found if "aria-invalid" in t]
    assert "promise-dayless" in marked
    client.post(f"{batch}/pack", data={"version": version[1]})


def test_a_wrong_cell_of_a_sheet_leads_to_its_column(client: FlaskClient) -> None:
    from io import BytesIO

    rows = b"Sprinkle,Type,Colour,Best by\nnew one,nonpareils,bluish,soon\n"
    page = Elements(client.post("/shelf/bring", data={"sheet": (BytesIO(rows), "mine.csv")}).text)
    marked = [told for _, told in page.found if told.get("aria-invalid") == "true"]
    assert [told["id"] for told in marked] == ["field0.2", "field0.3"]
    assert "bluish" in page.text[marked[0]["aria-describedby"]]
    links = [told["href"] for tag, told in page.found if tag == "a" and told.get("href", "").startswith("#")]
    assert {"#field0.2", "#field0.3"} <= set(links)


def test_a_problem_is_placed_by_its_last_known_name() -> None:
    form = FormFields("x-", ("kits", "left over"), {"date": "kits"})
    assert [form.element(path) for path in ("kits", "order.kits", "kits.0", "date", "left over", "note")] == [
        "x-kits", "x-kits", "x-kits", "x-kits", "x-left-over", "",
    ]  # fmt: skip
    told = placed([(Problem("left over", 1, "0"), "a"), (Problem("kits", 1, "0"), "b")], form)
    assert told["first"] == "x-kits"
