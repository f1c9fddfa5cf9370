"""Batches: what each step changes, what it refuses, and that a step refused changes nothing."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from catalog.batches import Batches, Short
from catalog.errors import NotFound, StaleVersion
from catalog.orders import Orders
from catalog.stock import Stock
from catalog.store import Store
from themekit.errors import InvalidValue
from themekit.values import Shelf

TINTS = ["#2a9d8f", "#e9c46a", "#6b4a2f"]
WHITES = {"pearl": "#fbfaf5", "ivory": "#fff8e7", "snow": "#ffffff", "cream": "#fdf0d0", "black": "#111111"}


def needed(batch: Mapping[str, Any], shelf: Shelf) -> dict[tuple[str, int], float | None]:
    """A level tablespoon of 15 mL for a kit in equal parts of the jars, a box, and gels by recipe."""
    found: dict[tuple[str, int], float | None] = {}
    known = {jar.id: jar for jar in shelf.jars}
    for one in batch["jars"]:
        density = known[one["id"]].density_g_per_ml if one["id"] in known else 1.0
        found["jars", one["id"]] = None if density is None else 15 * density * one["share"] * batch["kits"]
    for tint in batch["tints"]:
        for dose in tint["recipe"]:
            if dose["gel_id"] is not None:
                key = ("gels", dose["gel_id"])
                found[key] = (found.get(key) or 0) + dose["g_per_100g"] * batch["kits"]
    return found | {("boxes", box.id): batch["kits"] for box in shelf.boxes[:1]}


@pytest.fixture
def shelf(store: Store) -> int:
    """Three jars of 100 g, four more whites, an undetermined one, two gels, a cutter and ten boxes."""
    shelf = store.create_shelf("Home").id
    jar = {"kind": "nonpareils", "density_g_per_ml": 1.0, "on_hand_g": 100}
    for name, colour in (("red", "#cc2233"), ("green", "#2a9d8f"), ("blue", "#2233cc")):
        store.create(shelf, "jars", jar | {"name": name, "colours": [{"hex": colour}], "lot": f"L-{name}"})
    for name, colour in WHITES.items():
        store.create(shelf, "jars", jar | {"name": name, "colours": [{"hex": colour}]})
    # Of this kind no weight per spoon is known.
    store.create(
        shelf, "jars", {"name": "silver", "kind": "dragées", "colours": [{"hex": "#c0c0c0"}], "on_hand_g": 50}
    )
    for name, colour in (("teal gel", "#147a70"), ("yellow gel", "#f2c230")):
        gel = {"name": name, "swatch": {"hex": colour}, "dose_g_per_100g": 1, "on_hand_g": 30}
        store.create(shelf, "gels", gel)
    store.create(shelf, "cutters", {"name": "owl"})
    store.create(shelf, "boxes", {"name": "box", "on_hand": 10})
    return shelf


@pytest.fixture
def batches(store: Store) -> Batches:
    return Batches(store, needed)


def ids(store: Store, shelf: int) -> dict[str, int]:
    return {jar.name: jar.id for jar in store.read(shelf).jars}


def idea(store: Store, shelf: int, *jars: str, **more: Any) -> dict[str, Any]:
    """A body of these jars; each takes 5 g a kit when there are three."""
    found = ids(store, shelf)
    body = {"theme": "owl party", "kits": 12, "tints": TINTS, "cutters": [{"id": 1, "cookies": 8}]}
    return body | {"jars": [found[name] for name in jars or ("red", "green", "blue")]} | more


def free(store: Store, shelf: int) -> dict[str, float | None]:
    return {jar.name: jar.on_hand_g for jar in store.read(shelf).jars}


def whole(store: Store, shelf: int) -> Any:
    """All that a refused step must leave as it was."""
    batches = Batches(store, needed).list(shelf, page_size=200)
    return store.records(shelf), free(store, shelf), batches, Stock(store).moves(shelf, page_size=200)


def test_from_sketch_to_sold(store: Store, shelf: int, batches: Batches) -> None:
    stock = Stock(store)
    row = batches.create(shelf, idea(store, shelf))
    assert (row["state"], row["name"], row["version"], row["short"]) == ("sketched", "owl party", 1, [])
    assert [(x["name"], x["needed"], x["held"]) for x in row["stock"] if x["of"] == "jars"] == [
        ("red", 60.0, 0.0), ("green", 60.0, 0.0), ("blue", 60.0, 0.0)]  # fmt: skip
    assert free(store, shelf)["red"] == 100
    row = batches.promise(shelf, row["id"])
    assert row["state"] == "promised"
    assert free(store, shelf)["red"] == 40
    # Ten boxes for twelve kits: what is there is held, the rest is to be bought.
    assert [(x["needed"], x["held"]) for x in row["stock"] if x["of"] == "boxes"] == [(12.0, 10.0)]
    assert row["short"] == []
    moves = stock.moves(shelf)[1]
    row = batches.pack(shelf, row["id"])
    assert row["state"] == "packed"
    assert store.get(shelf, "jars", 1)["on_hand_g"] == 40
    assert store.get(shelf, "jars", 1)["reserved_g"] == 0
    used = stock.moves(shelf, batch=row["id"])[0]
    assert {(m["name"], m["amount"], m["lot"]) for m in used if m["of"] == "jars"} == {
        ("red", -60.0, "L-red"), ("green", -60.0, "L-green"), ("blue", -60.0, "L-blue")}  # fmt: skip
    assert stock.moves(shelf)[1] == moves + len(used)
    row = batches.end(shelf, row["id"], {"sold": 9, "left over": 2, "spoiled": 1})
    assert (row["state"], row["outcome"]["left over"]) == ("sold", 2)
    assert batches.end(shelf, row["id"], {"sold": 9, "left_over": 2, "spoiled": 1}) == row
    assert batches.end(shelf, row["id"], {"left over": 12})["state"] == "left over"
    assert batches.end(shelf, row["id"], {})["state"] == "packed"
    assert stock.balances(shelf) == []


def test_unpacking_brings_all_back(store: Store, shelf: int, batches: Batches) -> None:
    id = batches.create(shelf, idea(store, shelf))["id"]
    before = batches.promise(shelf, id)
    batches.pack(shelf, id)
    assert store.get(shelf, "jars", 1)["last_used"] is not None
    after = batches.unpack(shelf, id)
    assert {**after, "version": 0} == {**before, "version": 0}
    assert store.get(shelf, "jars", 1)["last_used"] is None
    assert batches.unpack(shelf, id) == after
    # And again: only the latest packing is undone.
    batches.pack(shelf, id)
    batches.unpack(shelf, id)
    assert free(store, shelf)["red"] == 40
    assert Stock(store).balances(shelf) == []


def test_dropping_and_removing_let_go(store: Store, shelf: int, batches: Batches) -> None:
    first, second = (batches.create(shelf, idea(store, shelf, kits=8))["id"] for _ in range(2))
    batches.promise_all(shelf, [first, second])
    assert free(store, shelf)["red"] == 20
    dropped = batches.drop(shelf, first)
    assert dropped["state"] == "dropped"
    assert batches.drop(shelf, first) == dropped
    batches.remove(shelf, second)
    assert free(store, shelf)["red"] == 100
    with pytest.raises(NotFound):
        batches.get(shelf, second)
    for act in (batches.promise, batches.pack):
        with pytest.raises(InvalidValue, match="is dropped"):
            act(shelf, first)
    assert batches.list(shelf, state="dropped")[1] == 1


def test_a_step_repeated_changes_nothing_and_answers_alike(store: Store, shelf: int, batches: Batches) -> None:
    body = idea(store, shelf)
    row = batches.create(shelf, body, "create")
    assert batches.create(shelf, body, "create") == row
    assert batches.list(shelf)[1] == 1
    for step in (batches.promise, batches.pack):
        answer = step(shelf, row["id"], step.__name__)
        before = whole(store, shelf)
        assert step(shelf, row["id"], step.__name__) == answer
        assert step(shelf, row["id"]) == answer
        assert whole(store, shelf) == before
    # What was answered once is answered again, whatever came after.
    assert batches.promise(shelf, row["id"], "promise")["state"] == "promised"
    assert batches.get(shelf, row["id"])["state"] == "packed"
    for other in (
        lambda: batches.create(shelf, {**body, "kits": 2}, "create"),
        lambda: batches.pack(shelf, row["id"], "create"),
        lambda: batches.drop(shelf, row["id"], "promise"),
    ):
        with pytest.raises(InvalidValue, match="used for something else"):
            other()


def test_steps_out_of_turn_are_refused(store: Store, shelf: int, batches: Batches) -> None:
    id = batches.create(shelf, idea(store, shelf))["id"]
    for act in (lambda: batches.unpack(shelf, id), lambda: batches.end(shelf, id, {"sold": 1})):
        with pytest.raises(InvalidValue, match="is sketched"):
            act()
    # Packing a sketch promises it first.
    assert batches.pack(shelf, id)["promised_at"] is not None
    for act in (lambda: batches.promise(shelf, id), lambda: batches.drop(shelf, id)):
        with pytest.raises(InvalidValue, match="is packed"):
            act()
    with pytest.raises(InvalidValue, match="packed already"):
        batches.change(shelf, id, {"kits": 3})
    assert batches.change(shelf, id, {"note": "on the top shelf"})["note"] == "on the top shelf"
    for wrong in ("all", None, {"sold": -1}, {"sold": 13}, {"sold": 7, "spoiled": 7}, {"eaten": 1}):
        with pytest.raises(InvalidValue):
            batches.end(shelf, id, wrong)
    with pytest.raises(InvalidValue):
        batches.change(shelf, id, "nothing")


def test_short_tells_what_is_short_and_changes_nothing(store: Store, shelf: int, batches: Batches) -> None:
    found = ids(store, shelf)
    store.change(shelf, "jars", found["green"], {"on_hand_g": None})
    id = batches.create(shelf, idea(store, shelf, kits=21))["id"]
    before = whole(store, shelf)
    for act in (lambda: batches.promise(shelf, id, "key"), lambda: batches.pack(shelf, id)):
        with pytest.raises(Short) as error:
            act()
        told = {one["name"]: (one["need_g"], one["have_g"]) for one in error.value.short}
        assert told == {"red": (105.0, 100.0), "green": (105.0, None), "blue": (105.0, 100.0)}
        assert [p.field for p in error.value.problems] == [f"jars.{found[n]}" for n in ("red", "green", "blue")]
        assert "Count green first" in error.value.problems[1].hint
        assert error.value.code == "short_stock"
        assert whole(store, shelf) == before
    # A refusal does not use the key up.
    batches.change(shelf, id, {"kits": 4, "jars": [found["red"], found["blue"]]})
    assert batches.promise(shelf, id, "key")["state"] == "promised"


def test_two_batches_never_share_a_gram(store: Store, shelf: int, batches: Batches) -> None:
    first = batches.create(shelf, idea(store, shelf, kits=12))["id"]
    second = batches.create(shelf, idea(store, shelf, kits=9))["id"]
    batches.promise(shelf, first)
    with pytest.raises(Short) as error:
        batches.promise(shelf, second)
    assert {(s["need_g"], s["have_g"], s["batch"]) for s in error.value.short} == {(45.0, 40.0, second)}
    # To the last gram.
    batches.change(shelf, second, {"kits": 8})
    batches.promise(shelf, second)
    assert free(store, shelf)["red"] == 0


def test_stand_ins_are_the_nearest_in_look_by_another_library(store: Store, shelf: int, batches: Batches) -> None:
    """Order and distance against the CIEDE2000 of the colour-science package."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

    found = ids(store, shelf)
    store.change(shelf, "jars", found["snow"], {"on_hand_g": 10})
    id = batches.create(shelf, idea(store, shelf, "snow", "red", "blue"))["id"]
    with pytest.raises(Short) as error:
        batches.promise(shelf, id)
    (short,) = error.value.short
    labs = {jar.name: np.array(jar.colours[0].lab) for jar in store.read(shelf).jars}
    whites = [name for name in WHITES if name != "snow"]
    far = {name: float(colour.delta_E(labs["snow"], labs[name], method="CIE 2000")) for name in whites}
    nearest = sorted((name for name in whites if far[name] <= 20), key=far.__getitem__)
    assert len(nearest) == 3
    assert [(s["name"], s["delta_e"]) for s in short["instead"]] == [(n, round(far[n], 1)) for n in nearest]
    assert f"Swap snow for {nearest[0]}" in error.value.problems[0].hint
    # Any of them would do indeed.
    swapped = idea(store, shelf, short["instead"][0]["name"], "red", "blue")["jars"]
    batches.change(shelf, id, {"jars": swapped})
    assert batches.promise(shelf, id)["state"] == "promised"


def test_what_stands_in_suffices_for_its_own_weight(store: Store, shelf: int, batches: Batches) -> None:
    found = ids(store, shelf)
    store.change(shelf, "jars", found["snow"], {"on_hand_g": 10})
    # Half as heavy a spoonful: 30 g do where 60 g of the other would.
    store.change(shelf, "jars", found["cream"], {"on_hand_g": 30, "density_g_per_ml": 0.5})
    store.change(shelf, "jars", found["ivory"], {"on_hand_g": 80, "density_g_per_ml": 2})
    other = batches.create(shelf, idea(store, shelf, "pearl"))["id"]
    batches.change(shelf, other, {"kits": 6})
    id = batches.create(shelf, idea(store, shelf, "snow", "red", "blue"))["id"]
    with pytest.raises(Short) as error:
        batches.promise_all(shelf, [other, id])
    # Pearl is free as yet, but the other batch of the same call takes 90 g of it.
    assert [(s["name"], s["have_g"]) for s in error.value.short[0]["instead"]] == [("cream", 30.0)]


def test_a_jar_without_density_is_told_clearly(store: Store, shelf: int, batches: Batches) -> None:
    row = batches.create(shelf, idea(store, shelf, "silver", "red", "blue"))
    assert [x["needed"] for x in row["stock"] if x["name"] == "silver"] == [None]
    with pytest.raises(Short) as error:
        batches.promise(shelf, row["id"])
    (short,) = error.value.short
    assert (short["name"], short["need_g"], short["have_g"]) == ("silver", None, 50.0)
    assert "enter its density" in error.value.problems[0].hint
    # The amount is worked out anew when the shelf has changed.
    store.change(shelf, "jars", ids(store, shelf)["silver"], {"density_g_per_ml": 0.4})
    assert batches.promise(shelf, row["id"])["stock"][0]["needed"] == 24.0


def test_a_change_of_mind_is_checked_whole(store: Store, shelf: int, batches: Batches) -> None:
    found = ids(store, shelf)
    id = batches.create(shelf, idea(store, shelf))["id"]
    row = batches.promise(shelf, id)
    # Its own grams count as free for it: 19 kits need 95 g of 100.
    row = batches.change(shelf, id, {"kits": 19}, row["version"])
    assert (free(store, shelf)["red"], row["state"]) == (5, "promised")
    before = whole(store, shelf)
    with pytest.raises(StaleVersion):
        batches.change(shelf, id, {"kits": 2}, row["version"] - 1)
    for change in ({"kits": 21}, {"jars": [found["silver"], found["red"]]}, {"kits": 21, "note": "more"}):
        with pytest.raises(Short):
            batches.change(shelf, id, change)
    for change in ({"kits": 0}, {"jars": [999]}, {"order": 5}, {"due": "soon"}):
        with pytest.raises(InvalidValue):
            batches.change(shelf, id, change)
    assert whole(store, shelf) == before
    # A swapped jar lets go of the old one.
    row = batches.change(shelf, id, {"jars": [found["pearl"], found["green"], found["blue"]]})
    assert {n: f for n, f in free(store, shelf).items() if n in ("red", "pearl", "green")} == {
        "red": 100, "pearl": 5, "green": 5}  # fmt: skip
    assert Stock(store).balances(shelf) == []


def test_a_count_below_what_is_promised_flags_the_latest_batches(
    store: Store, shelf: int, batches: Batches
) -> None:
    made = {
        due: batches.create(shelf, idea(store, shelf, kits=6, due=due))["id"]
        for due in ("2026-12-10", None, "2026-12-05")
    }
    batches.promise_all(shelf, list(made.values()))
    before = {due: batches.get(shelf, id) for due, id in made.items()}
    Stock(store).record(shelf, {"jar": 1, "kind": "counted", "grams": 50})
    after = {due: batches.get(shelf, id) for due, id in made.items()}
    held = {due: [x["held"] for x in row["stock"] if x["name"] == "red"] for due, row in after.items()}
    assert held == {"2026-12-05": [30.0], "2026-12-10": [20.0], None: [0.0]}
    assert {due: [x["name"] for x in row["short"]] for due, row in after.items()} == {
        "2026-12-05": [], "2026-12-10": ["red"], None: ["red"]}  # fmt: skip
    # Whoever read a batch before must read it again.
    assert [after[d]["version"] - before[d]["version"] for d in made] == [1, 1, 0]
    with pytest.raises(Short) as error:
        batches.pack(shelf, made["2026-12-10"])
    assert [(s["need_g"], s["have_g"]) for s in error.value.short] == [(30.0, 20.0)]
    # A short batch can still have its day and words changed.
    batches.change(shelf, made[None], {"note": "ask her for gold instead"})
    # What comes in goes to those who were promised it, not to the next who asks.
    Stock(store).record(shelf, {"jar": 1, "kind": "bought", "grams": 35})
    late = batches.create(shelf, idea(store, shelf, kits=1))["id"]
    with pytest.raises(Short):
        batches.promise(shelf, late)
    assert batches.get(shelf, made["2026-12-10"])["short"] == []
    assert batches.pack(shelf, made["2026-12-10"])["state"] == "packed"
    assert Stock(store).balances(shelf) == []


@pytest.mark.parametrize("imported", [False, True])
def test_a_slip_put_right_leaves_no_batch_short(
    store: Store, shelf: int, batches: Batches, imported: bool
) -> None:
    made = [batches.create(shelf, idea(store, shelf, kits=kits, due=f"2026-12-0{kits}"))["id"] for kits in (9, 8)]
    batches.promise_all(shelf, made)
    for grams, short in ((10, [True, True]), (60, [True, False]), (100, [False, False])):
        if imported:
            store.load(shelf, {"jars": [{"name": "red", "on_hand_g": grams}]})
        else:
            store.change(shelf, "jars", 1, {"on_hand_g": grams})
        assert [bool(batches.get(shelf, id)["short"]) for id in made] == short
        assert Stock(store).balances(shelf) == []
    # What another batch lets go of helps as well.
    store.change(shelf, "jars", 1, {"on_hand_g": 60})
    batches.drop(shelf, made[1])
    assert batches.get(shelf, made[0])["short"] == []


def test_all_are_promised_or_none(store: Store, shelf: int, batches: Batches) -> None:
    made = [batches.create(shelf, idea(store, shelf, kits=kits))["id"] for kits in (10, 11, 25, 2)]
    before = whole(store, shelf)
    with pytest.raises(Short) as error:
        batches.promise_all(shelf, made)
    # All that lack are told, not only the first.
    assert {s["batch"] for s in error.value.short} == {made[1], made[2]}
    assert whole(store, shelf) == before
    with pytest.raises(NotFound):
        batches.promise_all(shelf, [made[0], 999])
    assert whole(store, shelf) == before
    rows = batches.promise_all(shelf, [made[0], made[3], made[0]])
    assert [row["state"] for row in rows] == ["promised"] * 3
    assert free(store, shelf)["red"] == 40
    assert batches.promise_all(shelf, []) == []


def test_another_shelfs_batch_is_not_found(store: Store, shelf: int, batches: Batches) -> None:
    id = batches.create(shelf, idea(store, shelf))["id"]
    other = store.create_shelf("Other").id
    for act in (
        lambda: batches.get(other, id),
        lambda: batches.change(other, id, {"kits": 1}),
        lambda: batches.promise(other, id),
        lambda: batches.promise_all(other, [id]),
        lambda: batches.pack(other, id),
        lambda: batches.unpack(other, id),
        lambda: batches.drop(other, id),
        lambda: batches.end(other, id, {"sold": 1}),
        lambda: batches.remove(other, id),
        lambda: batches.get(shelf, 2**70),
        lambda: batches.list(77),
    ):
        with pytest.raises(NotFound):
            act()
    assert batches.list(other) == ([], 0)
    # Nor can a batch be made of another shelf's things.
    body = idea(store, shelf, tints=[{"hex": "#2a9d8f", "recipe": [{"gel_id": 1, "g_per_100g": 1}]}])
    order = Orders(store).create(shelf, {})["id"]
    with pytest.raises(InvalidValue) as error:
        batches.create(other, body | {"order": order})
    fields = {problem.field for problem in error.value.problems}
    assert fields == {"jars.0", "jars.1", "jars.2", "cutters.0.id", "tints.0.recipe.0.gel_id", "order"}


@pytest.mark.parametrize("kits", [None, 0, -3, 2.5, "12", True, 1_000_000, float("inf"), 1001])
def test_impossible_counts_of_kits(store: Store, shelf: int, batches: Batches, kits: Any) -> None:
    with pytest.raises(InvalidValue) as error:
        batches.create(shelf, idea(store, shelf, kits=kits))
    assert [problem.field for problem in error.value.problems] == ["kits"]
    assert batches.create(shelf, idea(store, shelf, kits=1000))["kits"] == 1000


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"jars": [1, 1], "tints": ["teal"], "cutters": [{"id": 1}], "serve": "thrown", "shade": 1, "due": "x"},
         {"jars.1", "tints.0", "cutters.0.cookies", "serve", "shade", "due"}),
        ({"jars": [], "tints": [], "cutters": []}, {"jars", "tints", "cutters"}),
        ({"jars": "red", "tints": 7, "cutters": {"id": 1}}, {"jars", "tints", "cutters"}),
        ({"jars": [True, "1", 10**30]}, {"jars.0", "jars.1", "jars.2"}),
        ({"jars": [{"id": 1, "share": 0.5}, {"id": 2, "share": 0.1}]}, {"jars"}),
        ({"jars": [{"id": 1, "share": 1}, {"id": 2}]}, {"jars"}),
        ({"jars": [{"id": 1, "share": 1}, {"id": 2, "share": 0}]}, {"jars"}),
        ({"cutters": [{"id": 1, "cookies": 60}, {"id": 1, "cookies": 50}, 3]}, {"cutters.1.id", "cutters.2"}),
        ({"cutters": [{"id": [], "cookies": 101}]}, {"cutters.0.id", "cutters.0.cookies"}),
        ({"tints": [{"hex": "#2a9d8f", "recipe": [{"gel": [], "g_per_100g": 1}, 5, {"gel_id": True},
                                                  {"gel_id": 1}, {"gel_id": 1, "g_per_100g": 51}]}]},
         {"tints.0.recipe.0.gel_id", "tints.0.recipe.1", "tints.0.recipe.2.gel_id",
          "tints.0.recipe.3.g_per_100g", "tints.0.recipe.4.g_per_100g"}),
        ({"idea": 3, "needs": [], "settings": {"no such": {}}, "name": "x" * 121, "order": "a"},
         {"idea", "needs", "settings.no such", "name", "order"}),
    ],
)  # fmt: skip
def test_a_wrong_body_lists_every_problem(
    store: Store, shelf: int, batches: Batches, changes: dict[str, Any], wrong: set[str]
) -> None:
    with pytest.raises(InvalidValue) as error:
        batches.create(shelf, idea(store, shelf, **changes))
    found = {problem.field for problem in error.value.problems}
    assert wrong <= found
    assert {field.split(".")[0] for field in found} == {field.split(".")[0] for field in wrong}
    assert batches.list(shelf) == ([], 0)


def test_a_whole_idea_is_taken_as_the_service_gave_it(store: Store, shelf: int, batches: Batches) -> None:
    body = {
        "kits": 2,
        "idea": {
            "score": 0.8,
            "palette": {"tints": [{"hex": "#2A9D8F", "recipe": [{"gel_id": 1, "g_per_100g": 1}]}]},
            "trio": {"serve": "mixed", "jars": [{"id": 1, "share": 0.5}, {"id": 2, "share": 0.503}]},
            "cutters": [{"id": 1, "cookies": 8}],
        },
    }  # fmt: skip
    row = batches.create(shelf, body)
    assert row["tints"] == [{"hex": "#2a9d8f", "recipe": [{"gel": "teal gel", "gel_id": 1, "g_per_100g": 1.0}]}]
    assert (row["serve"], row["theme"], row["kits"]) == ("mixed", "kit", 2)
    assert sum(jar["share"] for jar in row["jars"]) == pytest.approx(1, abs=1e-12)
    for wrong in (None, 3, "idea", []):
        with pytest.raises(InvalidValue):
            batches.create(shelf, wrong)


def test_what_is_promised_cannot_be_archived_and_what_is_gone_must_be_swapped(
    store: Store, shelf: int, batches: Batches
) -> None:
    found = ids(store, shelf)
    tint = {"hex": "#2a9d8f", "recipe": [{"gel_id": 1, "g_per_100g": 0.5}]}
    id = batches.create(shelf, idea(store, shelf, tints=[tint]))["id"]
    batches.promise(shelf, id)
    for resource, row in (("jars", found["red"]), ("gels", 1), ("boxes", 1)):
        with pytest.raises(InvalidValue, match="promised"):
            store.remove(shelf, resource, row)
    batches.drop(shelf, id)
    sketch = batches.create(shelf, idea(store, shelf, tints=[tint]))["id"]
    store.remove(shelf, "jars", found["red"])
    store.remove(shelf, "gels", 1)
    with pytest.raises(InvalidValue) as error:
        batches.promise(shelf, sketch)
    assert {problem.field for problem in error.value.problems} == {"jars.0", "tints.0.recipe.0.gel_id"}
    assert batches.get(shelf, sketch)["jars"][0]["name"] == "red"
    # Words can be changed all the same, and a swap mends it.
    assert [j["name"] for j in batches.change(shelf, sketch, {"note": "wait"})["jars"]] == ["red", "green", "blue"]
    with pytest.raises(InvalidValue):
        batches.change(shelf, sketch, {"kits": 3})
    batches.change(shelf, sketch, {"jars": [found["green"], found["blue"]], "tints": ["#2a9d8f"]})
    assert batches.promise(shelf, sketch)["state"] == "promised"


def test_a_maker_s_lot_is_found_after_the_jar_has_another(store: Store, shelf: int, batches: Batches) -> None:
    found, orders = ids(store, shelf), Orders(store)
    order = orders.create(shelf, {"customer": "Ann", "contact": "ann@example.org"})["id"]
    made = [batches.create(shelf, idea(store, shelf, kits=k, order=o))["id"] for k, o in ((4, order), (3, None))]
    for id in made:
        batches.pack(shelf, id)
    batches.unpack(shelf, made[1])
    planned = orders.recall(shelf, "L-red")
    assert [b["id"] for b in planned["promised"]] == [made[1]]
    batches.drop(shelf, made[1])
    store.change(shelf, "jars", found["red"], {"lot": "L-new"})
    told = orders.recall(shelf, " L-red ")
    assert [b["id"] for b in told["batches"]] == [made[0]]
    assert (told["jars"], told["promised"]) == ([found["red"]], [])
    assert told["orders"] == [{"id": order, "customer": "Ann", "contact": "ann@example.org", "due": None}]
    # A lot that only stands on the shelf is found too.
    assert orders.recall(shelf, "L-new")["jars"] == [found["red"]]
    assert orders.recall(shelf, "L-new")["batches"] == []
    other = store.create_shelf("Other").id
    assert orders.recall(other, "L-red")["batches"] == []
    for wrong in ("", "a\x00b", None):
        with pytest.raises(InvalidValue):
            orders.recall(shelf, wrong)
