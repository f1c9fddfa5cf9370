"""Choices of ideas by shelf on both databases: kept, replaced, forgotten, learned from once."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from catalog import taste as keeping
from catalog.batches import Batches
from catalog.errors import NotFound
from catalog.rows import Record
from catalog.store import Store
from catalog.taste import Tastes
from themekit.errors import InvalidValue
from themekit.suggest import weights as w
from themekit.suggest.taste import NO_TASTE, Choice, learned
from themekit.values import Shelf

Idea = dict[str, Any]
PARTS = {"palette": {"fit": 0.5, "contrast": 0.75}, "trio": {"motif": 0.7}, "idea": {"cutters": 0.25}}


def idea(*tints: str, contrast: float = 0.75, jars: tuple[int, ...] = (1, 2, 3)) -> Idea:
    """An idea as the service gives it, as far as it matters."""
    return {
        "score": 0.6,
        "parts": {"palette": 0.5, "trio": 0.6, "cutters": 0.25},
        "palette": {"parts": {"fit": 0.5, "contrast": contrast}, "tints": [{"hex": t} for t in tints]},
        "trio": {"parts": {"motif": 0.7}, "jars": [{"id": j} for j in jars]},
    }


def said(number: int) -> Record:
    """The number-th of a run of choices: contrast is kept however it fits, its lack passed over."""
    contrast, fit = round(7 * number % 24 / 23, 4), 5 * number % 11 / 10
    good = contrast > 0.5
    given = idea(f"#0000{number:02x}", contrast=contrast)
    given["palette"]["parts"]["fit"] = fit
    return {"what": "kept" if good else "passed over", "idea": given, "theme": f"theme {number % 3}"}


@pytest.fixture
def shelf(store: Store) -> int:
    return store.create_shelf("Home").id


@pytest.fixture
def tastes(store: Store) -> Tastes:
    return Tastes(store)


def test_a_choice_is_kept_and_listed_the_latest_first(tastes: Tastes, shelf: int) -> None:
    first = tastes.record(shelf, {"what": "Kept", "idea": idea("#112233"), "theme": "  owl\n party "})
    tastes.record(shelf, {"what": "passed over", "idea": idea("#445566")})
    rows, total = tastes.list(shelf)
    assert total == 2
    assert [row["what"] for row in rows] == ["passed over", "kept"]
    assert rows[1] == first
    assert first["theme"] == "owl party"
    assert first["batch"] is None
    assert tastes.list(shelf, page=2, page_size=1)[0] == [first]
    assert tastes.counts(shelf) == {"kept": 1, "passed over": 1, "sold out": 0, "left over": 0}


def test_a_change_of_mind_replaces_what_was_said(tastes: Tastes, shelf: int) -> None:
    """The same idea clicked a hundred times counts once; a sale is kept beside it."""
    for _ in range(50):
        tastes.record(shelf, {"what": "kept", "idea": idea("#112233", "#445566"), "theme": "owl"})
        tastes.record(shelf, {"what": "passed over", "idea": idea("#445566", "#112233"), "theme": "Owl"})
    tastes.record(shelf, {"what": "sold out", "idea": idea("#112233", "#445566"), "theme": "owl"})
    assert [row["what"] for row in tastes.list(shelf)[0]] == ["sold out", "passed over"]


def test_nothing_said_is_no_taste(store: Store, tastes: Tastes, shelf: int) -> None:
    assert tastes.taste(shelf) is NO_TASTE
    with store.reading() as session:
        assert session.execute(text("SELECT count(*) FROM tastes")).scalar() == 0


def test_a_taste_is_learned_once_and_kept(
    store: Store, tastes: Tastes, shelf: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(24):
        tastes.record(shelf, said(number))
    made = []

    def counted(choices: list[Choice]) -> Any:
        made.append(len(choices))
        return learned(choices)

    monkeypatch.setattr(keeping, "learned", counted)
    taste = tastes.taste(shelf)
    assert taste == Tastes(store).taste(shelf)
    assert made == [24]
    assert taste.palette.contrast > 1.3 * w.PALETTE.contrast
    assert taste == learned(
        [Choice(s["what"], {"palette": s["idea"]["palette"]["parts"], "trio": {"motif": 0.7},
                            "idea": s["idea"]["parts"]}, s["theme"]) for s in map(said, range(24))]
    )  # fmt: skip
    tastes.record(shelf, said(24))
    assert tastes.taste(shelf).n == 25
    assert made == [24, 25]
    monkeypatch.setattr(keeping, "MODEL", 2)
    tastes.taste(shelf)
    assert made == [24, 25, 25], "another way of learning learns anew"


def test_reset_forgets_everything_of_this_shelf_alone(store: Store, tastes: Tastes, shelf: int) -> None:
    other = store.create_shelf("Other").id
    for number in range(12):
        tastes.record(shelf, said(number))
        tastes.record(other, said(number))
    before = tastes.taste(other)
    assert tastes.reset(shelf) == 12
    assert tastes.taste(shelf) is NO_TASTE
    assert tastes.list(shelf) == ([], 0)
    assert tastes.list(other)[1] == 12
    assert tastes.taste(other) == before
    assert before.n == 12
    assert tastes.reset(shelf) == 0


def test_shelves_that_there_are_not(tastes: Tastes) -> None:
    for call in (tastes.list, tastes.counts, tastes.reset):
        with pytest.raises(NotFound):
            call(77)
    with pytest.raises(NotFound):
        tastes.record(77, said(0))


@pytest.mark.parametrize(
    ("body", "fields"),
    [
        (None, {"choice", "what", "idea"}),
        ({}, {"what", "idea"}),
        ({"what": "liked", "idea": idea("#1")}, {"what"}),
        ({"what": "kept", "idea": []}, {"idea"}),
        ({"what": "kept", "idea": {}}, {"idea"}),
        ({"what": "kept", "idea": {"palette": 3, "trio": {"parts": [1]}}}, {"idea.palette", "idea.trio.parts"}),
        ({"what": "kept", "idea": {"palette": {"parts": {"fit": 1.5}}}}, {"idea.palette.parts.fit"}),
        ({"what": "kept", "idea": {"palette": {"parts": {"fit": float("nan")}}}}, {"idea.palette.parts.fit"}),
        ({"what": "kept", "idea": {"palette": {"parts": {"motif": 1}}}}, {"idea.palette.parts.motif"}),
        ({"what": "kept", "idea": idea("#1"), "theme": 5, "why": 1}, {"theme", "why"}),
    ],
)
def test_every_problem_is_told_and_nothing_kept(tastes: Tastes, shelf: int, body: Any, fields: set[str]) -> None:
    with pytest.raises(InvalidValue) as error:
        tastes.record(shelf, body)
    assert {p.field for p in error.value.problems} == fields
    assert tastes.list(shelf)[1] == 0


@pytest.mark.parametrize(("column", "value"), [("what", "'liked'"), ("key", "''"), ("shelf_id", "77")])
def test_the_database_itself_refuses(store: Store, tastes: Tastes, shelf: int, column: str, value: str) -> None:
    tastes.record(shelf, said(0))
    with pytest.raises(IntegrityError), store._engine.begin() as connection:
        connection.execute(text(f"UPDATE choices SET {column} = {value}"))
    with pytest.raises(IntegrityError), store._engine.begin() as connection:
        connection.execute(text("UPDATE tastes SET revision = 0"))


@pytest.fixture
def ending(store: Store, shelf: int) -> tuple[Batches, int]:
    """Batches whose ends are learned from, and one that is packed."""

    def needed(record: Record, value: Shelf) -> dict[tuple[str, int], float | None]:
        return {}

    def judge(record: Record, value: Shelf) -> tuple[str, dict[str, dict[str, float]]]:
        assert value.id == shelf
        return record["theme"], PARTS

    jar = store.create(shelf, "jars", {"name": "w", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}]})["id"]
    cutter = store.create(shelf, "cutters", {"name": "owl", "width_mm": 80})["id"]
    batches = Batches(store, needed, judge=judge)
    body = {"theme": "owl", "kits": 12, "tints": [{"hex": "#ffffff", "recipe": []}], "jars": [jar],
            "cutters": [{"id": cutter, "cookies": 8}]}  # fmt: skip
    id = batches.create(shelf, body)["id"]
    batches.pack(shelf, id)
    return batches, id


def test_the_end_of_a_batch_is_a_choice(ending: tuple[Batches, int], tastes: Tastes, shelf: int) -> None:
    batches, id = ending
    for counts, what in (
        ({"sold": 6}, None),
        ({"sold": 12}, "sold out"),
        ({"sold": 12}, "sold out"),
        ({"sold": 6, "left over": 3, "marked down": 3}, "left over"),
        ({"sold": 7, "left over": 5}, None),
        ({"spoiled": 12}, None),
        ({"left over": 12}, "left over"),
    ):
        batches.end(shelf, id, counts)
        rows = tastes.list(shelf)[0]
        assert [(row["what"], row["theme"], row["batch"]) for row in rows] == ([(what, "owl", id)] if what else [])
    assert tastes.taste(shelf).n == 1
    assert tastes.reset(shelf) == 1
    assert batches.get(shelf, id)["state"] == "left over", "forgetting touches no batch"


def test_an_end_that_is_refused_is_no_choice(ending: tuple[Batches, int], tastes: Tastes, shelf: int) -> None:
    batches, id = ending
    with pytest.raises(InvalidValue):
        batches.end(shelf, id, {"sold": 13})
    with pytest.raises(NotFound):
        batches.end(shelf, id + 1, {"sold": 1})
    assert tastes.list(shelf)[1] == 0
