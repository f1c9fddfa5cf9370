"""The store behaves the same on SQLite and on PostgreSQL."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from decimal import Decimal

import pytest
from sqlalchemy import select

from catalog import changes
from catalog.absorption import model_version
from catalog.errors import NameTaken, NotFound, ShelfUnclear, StaleVersion
from catalog.store import Store
from catalog.tables import GelTable
from themekit.errors import InvalidValue

JAR = {"name": "bright white", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}]}
FULL_JAR = {
    "name": "sea mix",
    "kind": "Hundreds and Thousands",
    "colours": [{"hex": "#ff0000", "share": 0.6}, {"lab": [30, 20, -140], "share": 0.4}],
    "texture": {"form": "sphere", "grain_mm": 1.25, "finish": "pearl", "hardness": "crisp"},
    "density_g_per_ml": 0.812345,
    "on_hand_g": 123.456,
    "best_before": "2027-03-31",
    "last_used": "2026-11-01",
    "price_per_kg": 12.3456,
    "allergens": ["soya", "dairy"],
    "may_contain": [],
    "additives": ["Red 40", "e 171"],
    "diet": "Vegetarian",
    "motifs": ["Shell", "wave"],
    "hard_small_pieces": True,
    "melts_in_heat": False,
    "lot": "L-7",
}
OTHERS = {
    "cutters": {"name": "owl", "motifs": ["owl"], "colours": [{"hex": "#8b5e3c"}], "width_mm": 74.5,
                "height_mm": 86, "thickness_mm": 6, "thin_parts": False},
    "gels": {"name": "super red", "swatch": {"hex": "#d8474f"}, "dose_g_per_100g": 1.5,
             "max_g_per_100g": 4, "allergens": [], "may_contain": [], "additives": ["E129"],
             "diet": "vegan", "natural": False, "on_hand_g": 62, "price_per_kg": 98},
    "boxes": {"name": "square box", "length_mm": 229, "width_mm": 229, "height_mm": 64, "window": True,
              "on_hand": 42, "price": 0.85},
    "supplies": {"name": "satin ribbon", "kind": "ribbon", "unit": "m", "on_hand": 34.5, "pack_size": 25,
                 "pack_price": 5.5, "allergens": None, "may_contain": None},
    "themes": {"name": "harbour day", "aliases": ["boat day"], "motifs": ["boat"], "months": [7, 8],
               "anchors": [{"hex": "#1f3a6e", "weight": 0.75}, {"hex": "#f6f4ee", "weight": 0.25}]},
}  # fmt: skip


@pytest.fixture
def shelf(store: Store) -> int:
    return store.create_shelf("Home").id


def test_a_jar_of_name_kind_and_colour_is_usable_and_says_what_was_filled(store: Store, shelf: int) -> None:
    jar = store.create(shelf, "jars", JAR)
    assert (jar["id"], jar["version"]) == (1, 1)
    assert jar["texture"] == {"form": "sphere", "grain_mm": 1.5, "finish": "matte", "hardness": "crisp"}
    assert jar["density_g_per_ml"] == 0.9
    assert jar["defaults"] == [
        "texture.form", "texture.grain_mm", "texture.finish", "texture.hardness", "density_g_per_ml",
        "hard_small_pieces", "melts_in_heat",
    ]  # fmt: skip
    unknown = ("allergens", "may_contain", "additives", "diet", "on_hand_g", "price_per_kg", "best_before")
    assert all(jar[field] is None for field in unknown)


def test_a_full_jar_comes_back_as_entered(store: Store, shelf: int) -> None:
    made = store.create(shelf, "jars", FULL_JAR)
    assert made == store.get(shelf, "jars", made["id"])
    json.dumps(made, allow_nan=False)
    assert made["colours"] == [
        {"lab": [53.23, 80.11, 67.22], "hex": "#ff0000", "share": 0.6},
        {"lab": [30.0, 20.0, -140.0], "hex": made["colours"][1]["hex"], "share": 0.4},
    ]
    expected = FULL_JAR | {
        "id": made["id"], "version": 1, "kind": "nonpareils", "colours": made["colours"],
        "allergens": ["milk", "soy"], "additives": ["E129", "E171"], "diet": "vegetarian",
        "motifs": ["shell", "wave"], "defaults": [], "full_g": None, "empty_jar_g": None,
        "reserved_g": 0.0, "uncertain_g": 0.0,
    }  # fmt: skip
    assert made == expected


@pytest.mark.parametrize("resource", OTHERS)
def test_other_things_come_back_as_entered(store: Store, shelf: int, resource: str) -> None:
    made = store.create(shelf, resource, OTHERS[resource])
    assert made == store.get(shelf, resource, 1)
    plain = {f: v for f, v in OTHERS[resource].items() if f not in ("colours", "swatch", "anchors")}
    assert {f: made[f] for f in plain} == plain


def test_read_gives_the_whole_shelf_as_values(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", FULL_JAR)
    for resource, record in OTHERS.items():
        store.create(shelf, resource, record)
    store.set_recipes(shelf, {"dough": {"allergens": ["milk", "wheat"], "diet": "vegetarian"}})
    value = store.read(shelf)
    jar, gel, theme = value.jars[0], value.gels[0], value.themes[0]
    assert jar.colours[0].lab == (53.23, 80.11, 67.22)
    assert (jar.best_before, jar.last_used) == (date(2027, 3, 31), date(2026, 11, 1))
    assert jar.price_per_kg == Decimal("12.3456")
    assert jar.composition.allergens == ("milk", "soy")
    assert jar.composition.may_contain == ()
    assert value.cutters[0].width_mm == 74.5
    assert (len(gel.k), gel.natural, gel.max_g_per_100g) == (31, False, 4)
    assert [a.weight for a in theme.anchors] == [0.75, 0.25]
    assert theme.own
    assert value.dough.allergens == ("milk", "wheat")
    assert value.dough.additives is None
    assert value.icing.diet is None


def test_read_is_kept_until_the_shelf_changes(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", JAR)
    first = store.read(shelf)
    assert store.read(shelf) is first
    revision = store.revision(shelf)
    store.change(shelf, "jars", 1, {"on_hand_g": 5})
    assert store.revision(shelf) == revision + 1
    assert store.read(shelf).jars[0].on_hand_g == 5
    assert first.jars[0].on_hand_g is None


def test_only_so_many_shelves_are_kept_each_its_own(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("catalog.whole_shelves._SHELVES_KEPT", 3)
    made = [
        sqlite_store.create_shelf(f"shelf {n}", records={"cutters": [{"name": f"owl {n}"}]}).id for n in range(6)
    ]
    for _ in range(2):
        for n, shelf in enumerate(made):
            assert [c.name for c in sqlite_store.read(shelf).cutters] == [f"owl {n}"]
            assert len(sqlite_store._kept) <= 3


def test_every_sort_of_change_raises_the_revision_and_no_other_does(store: Store, shelf: int) -> None:
    seen = [store.revision(shelf)]
    for act in (
        lambda: store.create(shelf, "jars", JAR),
        lambda: store.change(shelf, "jars", 1, {"lot": "x"}),
        lambda: store.load(shelf, {"cutters": [{"name": "owl"}]}),
        lambda: store.set_recipes(shelf, {"icing": {"diet": "vegan"}}),
        lambda: store.remove(shelf, "jars", 1),
    ):
        act()
        seen.append(store.revision(shelf))
    assert seen == sorted(set(seen))
    store.change(shelf, "cutters", 1, {"name": "owl"})
    store.load(shelf, {"cutters": [{"name": "owl"}]})
    store.set_recipes(shelf, {"icing": {"diet": "vegan"}})
    store.list(shelf, "jars")
    store.read(shelf)
    assert store.revision(shelf) == seen[-1]
    assert store.get(shelf, "cutters", 1)["version"] == 1


def test_change_touches_only_what_is_named_and_null_forgets(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", FULL_JAR)
    changed = store.change(shelf, "jars", 1, {"texture": {"finish": "matte"}, "density_g_per_ml": None})
    assert changed["texture"] == {"form": "sphere", "grain_mm": 1.25, "finish": "matte", "hardness": "crisp"}
    assert changed["density_g_per_ml"] == 0.9
    assert changed["defaults"] == ["density_g_per_ml"]
    assert (changed["version"], changed["lot"]) == (2, "L-7")


def test_a_stale_version_changes_nothing(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", JAR)
    store.change(shelf, "jars", 1, {"lot": "new"}, version=1)
    with pytest.raises(StaleVersion) as caught:
        store.change(shelf, "jars", 1, {"lot": "newer"}, version=1)
    assert caught.value.problems[0].got == 1
    with pytest.raises(StaleVersion):
        store.remove(shelf, "jars", 1, version=1)
    assert store.get(shelf, "jars", 1)["lot"] == "new"
    store.remove(shelf, "jars", 1, version=2)


def test_of_writers_with_one_version_exactly_one_wins(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", JAR)

    def write(number: int) -> bool:
        try:
            store.change(shelf, "jars", 1, {"on_hand_g": number}, version=1)
        except StaleVersion:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(write, range(1, 17))) == 1
    assert store.get(shelf, "jars", 1)["version"] == 2


def test_a_writer_waits_for_another_of_the_same_shelf(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", JAR)
    with ThreadPoolExecutor(1) as pool, store.writing(shelf) as (_, held):
        waiting = pool.submit(store.change, shelf, "jars", 1, {"lot": "second"})
        with pytest.raises(TimeoutError):
            waiting.result(timeout=0.3)
        # Reading goes on meanwhile.
        assert store.get(shelf, "jars", 1)["lot"] is None
        held.revision += 1
    assert waiting.result(timeout=10)["lot"] == "second"


def test_of_makers_with_one_name_exactly_one_wins(store: Store, shelf: int) -> None:
    def make(_: int) -> bool:
        try:
            store.create(shelf, "jars", JAR)
        except NameTaken:
            return False
        return True

    def make_shelf(_: int) -> bool:
        try:
            store.create_shelf("Second")
        except NameTaken:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(make, range(16))) == 1
        assert sum(pool.map(make_shelf, range(16))) == 1


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Sea Mix", "sea mix"),
        ("Straße", "STRASSE"),
        ("caf\u00e9", "cafe\u0301"),
        ("ΣΊΣΥΦΟΣ", "σίσυφος"),
        ("plain", "  plain  "),
    ],
)
def test_names_are_unique_by_case_folded_nfc(store: Store, shelf: int, first: str, second: str) -> None:
    store.create(shelf, "jars", JAR | {"name": first})
    with pytest.raises(NameTaken) as caught:
        store.create(shelf, "jars", JAR | {"name": second})
    assert caught.value.problems[0].field == "name"
    store.create(shelf, "jars", JAR | {"name": "other"})
    with pytest.raises(NameTaken):
        store.change(shelf, "jars", 2, {"name": second})
    store.change(shelf, "jars", 1, {"name": second})
    store.create(shelf, "cutters", {"name": first})


def test_the_database_itself_holds_names_unique(store: Store, shelf: int) -> None:
    from sqlalchemy import text
    from sqlalchemy.exc import IntegrityError

    store.create(shelf, "cutters", {"name": "owl"})
    twin = (
        "INSERT INTO cutters (shelf_id, name, name_key, version, motifs, colours) "
        "VALUES (1, 'OWL', 'owl', 1, '[]', '[]')"
    )
    with pytest.raises(IntegrityError), store._engine.begin() as connection:
        connection.execute(text(twin))


def test_a_name_is_free_again_once_its_row_is_removed(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", JAR)
    store.remove(shelf, "jars", 1)
    with pytest.raises(NotFound):
        store.get(shelf, "jars", 1)
    assert store.create(shelf, "jars", JAR)["id"] == 2
    assert store.list(shelf, "jars")[1] == 1
    assert [jar.id for jar in store.read(shelf).jars] == [2]


def test_two_shelves_never_see_each_other(store: Store, shelf: int) -> None:
    other = store.create_shelf("Market stall").id
    jar = store.create(other, "jars", JAR)["id"]
    store.set_recipes(other, {"dough": {"diet": "vegan"}})
    for act in (
        lambda: store.get(shelf, "jars", jar),
        lambda: store.change(shelf, "jars", jar, {"lot": "x"}),
        lambda: store.remove(shelf, "jars", jar),
    ):
        with pytest.raises(NotFound):
            act()
    assert store.list(shelf, "jars") == ([], 0)
    assert store.read(shelf).jars == ()
    assert store.recipes(shelf)["dough"]["diet"] is None
    mine = store.create(shelf, "jars", JAR)
    assert mine["id"] != jar
    store.load(shelf, {"jars": []}, replace=True)
    assert store.list(shelf, "jars")[1] == 0
    assert store.list(other, "jars")[1] == 1
    assert store.get(other, "jars", jar)["version"] == 1


def test_pages_by_id_and_past_the_end(store: Store, shelf: int) -> None:
    store.load(shelf, {"cutters": [{"name": f"cutter {i}"} for i in range(7)]})
    assert [row["id"] for row in store.list(shelf, "cutters", 2, 3)[0]] == [4, 5, 6]
    assert store.list(shelf, "cutters", 2**31 - 1, 200) == ([], 7)
    for page, size in ((0, 50), (1, 0), (1, 201), (-1, 5), (True, 5), ("1", 5)):
        with pytest.raises(InvalidValue):
            store.list(shelf, "cutters", page, size)  # type: ignore[arg-type]


@pytest.mark.parametrize("id", [0, -1, 2**31, 2**63, 10**30, True, "1", None, 1.0])
def test_an_impossible_id_is_not_found(store: Store, shelf: int, id: object) -> None:
    store.create(shelf, "jars", JAR)
    with pytest.raises(NotFound):
        store.get(shelf, "jars", id)  # type: ignore[arg-type]
    with pytest.raises(NotFound):
        store.revision(id if id is not True else 99)  # type: ignore[arg-type]


def test_load_creates_changes_and_keeps(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", FULL_JAR)
    jars = [{"name": "SEA MIX", "on_hand_g": 7}, JAR]
    counts = store.load(shelf, {"jars": jars, "recipes": [{"name": "Dough", "allergens": ["milk"]}]})
    assert (counts["jars"].created, counts["jars"].changed, counts["jars"].kept) == (1, 1, 0)
    assert counts["recipes"].changed == 1
    sea = store.get(shelf, "jars", 1)
    assert (sea["name"], sea["on_hand_g"], sea["lot"], sea["version"]) == ("SEA MIX", 7, "L-7", 2)
    assert store.load(shelf, {"jars": jars})["jars"].kept == 2
    assert store.recipes(shelf)["dough"]["allergens"] == ["milk"]
    assert store.load(shelf, {"jars": [JAR]}, replace=True)["jars"].removed == 1
    assert [row["name"] for row in store.list(shelf, "jars")[0]] == ["bright white"]


def test_load_tells_all_problems_and_changes_nothing(store: Store, shelf: int) -> None:
    store.create(shelf, "jars", JAR)
    revision = store.revision(shelf)
    with pytest.raises(InvalidValue) as caught:
        store.load(
            shelf,
            {
                "jars": [
                    JAR | {"lot": "changed"},
                    JAR | {"name": "good"},
                    JAR | {"name": "Good", "on_hand_g": -1},
                    {"name": "bare"},
                    "not a record",
                ],
                "cutters": [{"name": "owl", "width_mm": 2000}],
                "recipes": [{"name": "glaze"}, {"name": "dough", "diet": "paleo"}],
                "boxes": "none",
            },
        )
    assert [p.field for p in caught.value.problems] == [
        "jars.2.on_hand_g", "jars.2.name", "jars.3.kind", "jars.3.colours", "jars.4.record",
        "cutters.0.width_mm", "recipes.0.name", "recipes.1.diet", "boxes",
    ]  # fmt: skip
    assert store.list(shelf, "jars")[1] == 1
    assert store.get(shelf, "jars", 1)["lot"] is None
    assert store.list(shelf, "cutters")[1] == 0
    assert store.revision(shelf) == revision


def test_a_gel_that_cannot_tint_stops_a_load_too(store: Store, shelf: int) -> None:
    gels = [OTHERS["gels"], {"name": "glowing", "swatch": {"lab": [97, -20, 95]}, "dose_g_per_100g": 1}]
    with pytest.raises(InvalidValue) as caught:
        store.load(shelf, {"gels": gels})
    assert caught.value.problems[0].field == "gels.1.swatch"
    assert store.list(shelf, "gels")[1] == 0


def test_a_white_gel_is_kept_outside_the_mixing_model(store: Store, shelf: int) -> None:
    store.create(shelf, "gels", {"name": "white", "swatch": {"hex": "#ffffff"}, "dose_g_per_100g": 1})
    assert store.read(shelf).gels[0].k == ()


def test_absorption_of_an_older_model_is_worked_out_again(
    store: Store, shelf: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as older:
        older.setattr(changes, "model_version", lambda: 0)
        older.setattr(changes, "absorption", lambda record: [9.0] * 31)
        store.create(shelf, "gels", OTHERS["gels"])
    fresh = store.read(shelf).gels[0].k
    assert len(fresh) == 31
    assert max(fresh) < 9
    with store.reading() as session:
        assert session.scalars(select(GelTable.k_model)).all() == [model_version()]
        assert session.scalars(select(GelTable.k)).all() == [list(fresh)]


def test_recipes_change_by_field_and_tell_all_problems(store: Store, shelf: int) -> None:
    store.set_recipes(shelf, {"dough": {"allergens": ["butter", "egg"], "additives": []}})
    after = store.set_recipes(shelf, {"dough": {"diet": "vegetarian"}, "icing": {"allergens": []}})
    assert after == store.recipes(shelf)
    assert after["dough"] == {
        "allergens": ["milk", "egg"], "may_contain": None, "additives": [], "diet": "vegetarian",
    }  # fmt: skip
    with pytest.raises(InvalidValue) as caught:
        store.set_recipes(shelf, {"dough": {"allergens": "milk", "sugar": 1}, "filling": {}, "icing": 3})
    fields = [p.field for p in caught.value.problems]
    assert fields == ["dough.sugar", "dough.allergens", "filling", "icing"]
    assert store.recipes(shelf) == after


def test_which_shelf_is_meant(store: Store) -> None:
    with pytest.raises(NotFound):
        store.shelf_named()
    demo = store.create_shelf("demo")
    assert store.shelf_named() == demo
    own = store.create_shelf("Kitchen")
    assert store.shelf_named() == own
    assert store.shelf_named(" KITCHEN ") == own
    assert store.shelf_named("Demo") == demo
    store.create_shelf("Market")
    with pytest.raises(ShelfUnclear) as caught:
        store.shelf_named()
    assert "Kitchen" in caught.value.problems[0].allowed
    assert "Market" in caught.value.problems[0].allowed
    with pytest.raises(NotFound) as missing:
        store.shelf_named("Garage")
    assert "Kitchen" in missing.value.problems[0].allowed


def test_shelves_are_checked_and_unique(store: Store) -> None:
    made = store.create_shelf(" Küche ", currency="EUR", locale="de-DE", region="Bavaria")
    assert (made.name, made.currency, made.locale, made.region) == ("Küche", "EUR", "de-DE", "Bavaria")
    assert store.shelves() == [made]
    with pytest.raises(NameTaken):
        store.create_shelf("KU\u0308CHE")
    with pytest.raises(InvalidValue) as caught:
        store.create_shelf("", currency="euro", locale="x" * 36)
    assert {p.field for p in caught.value.problems} == {"name", "currency", "locale"}
    with pytest.raises(InvalidValue):
        store.create_shelf("New", records={"jars": [{"name": "bare"}]})
    assert len(store.shelves()) == 1


def test_an_unknown_resource_is_told(store: Store, shelf: int) -> None:
    for act in (
        lambda: store.list(shelf, "spoons"),
        lambda: store.create(shelf, "spoons", {}),
        lambda: store.load(shelf, {"spoons": []}),
        lambda: store.get(shelf, "recipes", 1),
    ):
        with pytest.raises(InvalidValue, match="no such resource"):
            act()


def test_other_scripts_and_emoji_survive(store: Store, shelf: int) -> None:
    for number, name in enumerate(("星の砂糖", "מחית", "🦉 owl 👩‍🍳", "Ünïcödé", "'; DROP TABLE jars; --"), 1):
        assert store.create(shelf, "jars", JAR | {"name": name})["name"] == name
        assert store.get(shelf, "jars", number)["name"] == name
    with pytest.raises(InvalidValue):
        store.create(shelf, "jars", JAR | {"name": "half \ud800 pair"})
