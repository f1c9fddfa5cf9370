"""The invented demo shelf as files: well formed, honest, and showing every feature.

Read with the csv module, so that a fault in the loader cannot hide a fault in the data.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections import Counter
from datetime import date, timedelta
from math import atan2, degrees
from pathlib import Path

import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.values import ALLERGENS, DIETS, FINISHES, FORMS, HARDNESSES

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "catalog" / "demo"
COMPOSITION = ["allergens", "may_contain", "additives", "diet"]
HEADERS = {
    "jars": [
        "name", "kind", "colours", "form", "grain_mm", "finish", "hardness", "density_g_per_ml", "on_hand_g",
        "best_before", "last_used", "price_per_kg", *COMPOSITION, "motifs", "hard_small_pieces",
        "melts_in_heat", "lot",
    ],
    "cutters": ["name", "motifs", "colours", "width_mm", "height_mm", "thickness_mm", "thin_parts"],
    "gels": [
        "name", "swatch", "dose_g_per_100g", "max_g_per_100g", "additives", "allergens", "may_contain",
        "diet", "natural", "on_hand_g", "price_per_kg",
    ],
    "boxes": ["name", "length_mm", "width_mm", "height_mm", "window", "on_hand", "price"],
    "supplies": [
        "name", "kind", "unit", "on_hand", "pack_size", "pack_price", "allergens", "may_contain",
    ],
    "themes": ["name", "aliases", "anchors", "motifs", "months"],
    "recipes": ["name", *COMPOSITION],
}  # fmt: skip
COUNTS = {
    "jars": (65, 80), "cutters": (55, 70), "gels": (14, 14), "boxes": (4, 4), "supplies": (20, 30),
    "themes": (3, 4), "recipes": (2, 2),
}  # fmt: skip
HEX = re.compile(r"#[0-9a-f]{6}")
# Colours certified one by one in the United States (21 CFR 74, subpart A) by their E numbers,
# and titanium dioxide (21 CFR 73.575); the pairing is from memory.
SYNTHETIC = {"E102", "E110", "E127", "E129", "E132", "E133", "E143", "E171"}


def read(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(path.read_text("utf-8").splitlines()))


def rows(name: str) -> list[dict[str, str]]:
    return read(DEMO / f"{name}.csv")


def listed(cell: str) -> list[str]:
    """The entries of a list; none for a blank cell and for "none" alike."""
    return [] if cell in ("", "none") else cell.split("|")


def weighted(cell: str) -> list[tuple[str, float]]:
    parts = [part.split(" ") for part in listed(cell)]
    return [(part[0], float(part[1]) if len(part) == 2 else 1.0) for part in parts]


def reference_day() -> date:
    found = re.findall(r"^Reference day: (\S+)$", (DEMO / "ABOUT.md").read_text("utf-8"), re.MULTILINE)
    assert len(found) == 1
    return date.fromisoformat(found[0])


JARS = rows("jars")
KINDS = {row["name"]: row for row in read(ROOT / "catalog" / "lexicon" / "kinds.csv")}
MANY_COLOURED = [jar for jar in JARS if "|" in jar["colours"]]


def jars_where(field: str, value: str) -> list[str]:
    return [jar["name"] for jar in JARS if jar[field] == value]


@pytest.mark.parametrize("name", HEADERS)
def test_each_file_is_plain_csv_of_the_agreed_shape(name: str) -> None:
    raw = (DEMO / f"{name}.csv").read_bytes()
    assert not raw.startswith(b"\xef\xbb\xbf")
    assert b"\r" not in raw
    assert raw.endswith(b"\n")
    table = list(csv.reader(raw.decode("utf-8").splitlines(), strict=True))
    assert table[0] == HEADERS[name]
    assert {len(row) for row in table} == {len(HEADERS[name])}
    assert all(cell == cell.strip() for row in table for cell in row)
    low, high = COUNTS[name]
    assert low <= len(table) - 1 <= high
    names = Counter(unicodedata.normalize("NFC", row[0]).casefold() for row in table[1:])
    assert names.most_common(1)[0][1] == 1
    assert "" not in names


@pytest.mark.parametrize("jar", JARS, ids=lambda jar: jar["name"])
def test_each_jar_is_well_formed(jar: dict[str, str]) -> None:
    assert jar["kind"] in KINDS
    colours = weighted(jar["colours"])
    assert colours
    assert all(HEX.fullmatch(colour) for colour, _ in colours)
    assert len({colour for colour, _ in colours}) == len(colours)
    assert sum(share for _, share in colours) == pytest.approx(1, abs=1e-9)
    assert jar["form"] in ("", *FORMS)
    assert jar["finish"] in ("", *FINISHES)
    assert jar["hardness"] in ("", *HARDNESSES)
    for field in ("grain_mm", "density_g_per_ml", "on_hand_g", "price_per_kg"):
        assert jar[field] == "" or float(jar[field]) > 0
    for field in ("best_before", "last_used"):
        assert jar[field] == "" or date.fromisoformat(jar[field])
    for field in ("hard_small_pieces", "melts_in_heat"):
        assert jar[field] in ("", "yes", "no")
    if jar["density_g_per_ml"]:
        kind = KINDS[jar["kind"]]
        assert float(kind["density_low"]) <= float(jar["density_g_per_ml"]) <= float(kind["density_high"])
    assert jar["last_used"] <= reference_day().isoformat()


@pytest.mark.parametrize("name", ["jars", "gels", "recipes", "supplies"])
def test_compositions_use_the_fixed_words_and_do_not_contradict_themselves(name: str) -> None:
    for row in rows(name):
        contains, may = listed(row["allergens"]), listed(row["may_contain"])
        assert set(contains + may) <= set(ALLERGENS), row["name"]
        assert not set(contains) & set(may), row["name"]
        additives = listed(row.get("additives", ""))
        assert all(re.fullmatch(r"E\d{3}[a-z]?", one) for one in additives), row["name"]
        diet = row.get("diet", "")
        assert diet in ("", *DIETS)
        # Carmine (E120) is made of insects, shellac (E904) by them; milk and eggs are not vegan.
        if diet == "vegan":
            assert not {"E120", "E904"} & set(additives), row["name"]
            assert not {"milk", "egg"} & set(contains), row["name"]
        if diet == "vegetarian":
            assert "E120" not in additives, row["name"]


def test_jars_that_tell_tales_of_their_content_declare_it() -> None:
    """What a name plainly says is in a jar stands among its allergens."""
    must = {"peanut": "peanut", "cookie": "wheat", "cereal": "gluten", "chocolate": "soy"}
    for jar in JARS:
        for word, allergen in must.items():
            if word in jar["name"]:
                assert allergen in listed(jar["allergens"]), jar["name"]
        if "marshmallow" in jar["name"]:
            assert jar["diet"] == "neither"  # set with gelatine
        if "natural colour" in jar["name"]:
            assert not SYNTHETIC & set(listed(jar["additives"]))


def test_many_jars_are_many_coloured_and_the_rest_go_round_the_colour_wheel() -> None:
    assert len(MANY_COLOURED) >= 10
    single = [jar["colours"].split()[0] for jar in JARS if jar not in MANY_COLOURED]
    labs = hex_to_lab(single)
    chroma = (labs[:, 1] ** 2 + labs[:, 2] ** 2) ** 0.5
    sectors = {
        int(degrees(atan2(b, a)) % 360 // 30) for (_, a, b), c in zip(labs.tolist(), chroma, strict=True) if c > 20
    }
    assert sectors == set(range(12))
    assert labs[:, 0].min() < 15
    assert labs[:, 0].max() > 96


def test_colours_are_honest_for_their_names() -> None:
    """A single-coloured jar lies near what people call by the colour in its name.

    Source: the public colour-naming survey in tests/reference/colour_survey.csv. Its colours
    are of a screen, purer than sugar can be, so "near" is ΔE00 20; red and orange lie 25 apart.
    """
    survey = {row["name"]: row["hex"] for row in read(ROOT / "tests" / "reference" / "colour_survey.csv")}
    checked = 0
    for jar in JARS:
        words = re.findall(r"[a-z]+", jar["name"])
        spans = [" ".join(words[i:j]) for i in range(len(words)) for j in range(i + 1, len(words) + 1)]
        named = [span for span in spans if span in survey]
        if named and jar not in MANY_COLOURED:
            longest = max(named, key=lambda span: (span.count(" "), len(span)))
            apart = float(delta_e_2000(hex_to_lab(jar["colours"]), hex_to_lab(survey[longest])))
            assert apart <= 20, (jar["name"], longest, apart)
            checked += 1
    assert checked >= 35


def test_the_shelf_shows_every_kind_of_blank_and_date() -> None:
    today = reference_day()
    bare = [jar for jar in JARS if {f for f, cell in jar.items() if cell} == {"name", "kind", "colours"}]
    assert bare
    assert len(jars_where("allergens", "")) >= 3
    assert len([j for j in JARS if j["allergens"] == "none" and j["may_contain"] == ""]) >= 2
    assert jars_where("on_hand_g", "")
    assert jars_where("price_per_kg", "")
    assert len([j for j in JARS if j["on_hand_g"] and float(j["on_hand_g"]) < 15]) >= 3
    dated = {j["name"]: date.fromisoformat(j["best_before"]) for j in JARS if j["best_before"]}
    soon = timedelta(days=60)
    assert len([n for n, day in dated.items() if today <= day <= today + soon]) >= 3
    assert [n for n, day in dated.items() if day < today]
    used = [date.fromisoformat(j["last_used"]) for j in JARS if j["last_used"]]
    assert len([day for day in used if today - day > timedelta(days=330)]) >= 3
    assert len([day for day in used if today - day < timedelta(days=60)]) >= 20
    # Where the kind has a default, most jars leave the texture to it, and some do not.
    assert 3 <= len([j for j in JARS if j["grain_mm"]]) <= len(JARS) / 2


def test_the_shelf_shows_the_needs_that_customers_have() -> None:
    contained = {one for jar in JARS for one in listed(jar["allergens"])}
    assert {"milk", "soy", "wheat", "peanut"} <= contained
    assert {"milk", "tree nut"} <= {one for jar in JARS for one in listed(jar["may_contain"])}
    assert {"vegan", "vegetarian", "neither", ""} == {jar["diet"] for jar in JARS}
    additives = {one for jar in JARS for one in listed(jar["additives"])}
    assert {"E102", "E110", "E127", "E129", "E133", "E171", "E120", "E904"} <= additives
    assert len(jars_where("additives", "none")) >= 3
    assert len(jars_where("hard_small_pieces", "yes")) >= 3
    assert {"heart", "star", "snowflake", "leaf", "pumpkin", "bat", "fish"} <= {
        motif for jar in JARS for motif in listed(jar["motifs"])
    }
    beyond = {"mini chips", "shredded coconut", "marshmallow bits", "cereal balls", "crushed candy"}
    assert beyond <= {jar["kind"] for jar in JARS}


def test_gels_are_dosed_within_their_limits_and_two_are_natural() -> None:
    gels = rows("gels")
    natural = [gel for gel in gels if gel["natural"] == "yes"]
    assert len(natural) == 2
    for gel in gels:
        assert HEX.fullmatch(gel["swatch"])
        assert gel["natural"] in ("yes", "no")
        assert 0.1 <= float(gel["dose_g_per_100g"]) <= 1.5
        assert gel["max_g_per_100g"] == "" or float(gel["max_g_per_100g"]) >= float(gel["dose_g_per_100g"])
        has_synthetic = bool(SYNTHETIC & set(listed(gel["additives"])))
        assert has_synthetic is (gel["natural"] == "no")
    assert len([gel for gel in gels if gel["allergens"] == ""]) == 1


def test_cutters_have_real_sizes_and_motifs_for_many_occasions() -> None:
    cutters = rows("cutters")
    for cutter in cutters:
        assert all(HEX.fullmatch(colour) for colour in listed(cutter["colours"]))
        assert cutter["thin_parts"] in ("", "yes", "no")
        assert all(re.fullmatch(r"[a-z]+( [a-z]+)?", motif) for motif in listed(cutter["motifs"]))
        for field in ("width_mm", "height_mm"):
            assert cutter[field] == "" or 25 <= float(cutter[field]) <= 120
        assert cutter["thickness_mm"] == "" or 3 <= float(cutter["thickness_mm"]) <= 10
    motifs = {motif for cutter in cutters for motif in listed(cutter["motifs"])}
    assert len(motifs) >= 50
    assert {"owl", "ship", "dinosaur", "rocket", "unicorn", "snowflake", "ghost", "truck"} <= motifs
    minis = [c for c in cutters if c["width_mm"] and max(float(c["width_mm"]), float(c["height_mm"])) <= 45]
    assert len(minis) >= 3
    assert [c for c in cutters if c["width_mm"] == ""]


def test_boxes_and_supplies_are_measured_in_known_units() -> None:
    for box in rows("boxes"):
        assert all(40 <= float(box[f"{side}_mm"]) <= 400 for side in ("length", "width", "height"))
        assert box["window"] in ("yes", "no")
        assert int(box["on_hand"]) >= 0
        assert float(box["price"]) > 0
    supplies = {row["name"]: row for row in rows("supplies")}
    assert {row["unit"] for row in supplies.values()} <= {"g", "ml", "piece", "m"}
    assert all(float(row["pack_size"]) > 0 and float(row["pack_price"]) > 0 for row in supplies.values())
    assert supplies["unsalted butter"]["allergens"] == "milk"
    assert "wheat" in listed(supplies["plain wheat flour"]["allergens"])


def test_standing_recipes_declare_what_butter_dough_and_meringue_icing_hold() -> None:
    """Regulation (EU) 1169/2011, Annex II, and 21 U.S.C. 321(qq) name milk, egg and wheat."""
    recipes = {row["name"]: row for row in rows("recipes")}
    assert set(recipes) == {"dough", "icing"}
    assert {"milk", "egg", "wheat"} <= set(listed(recipes["dough"]["allergens"]))
    assert listed(recipes["icing"]["allergens"]) == ["egg"]


def test_own_themes_are_whole_and_the_scenario_is_marked_as_invented() -> None:
    for theme in rows("themes"):
        anchors = weighted(theme["anchors"])
        assert 3 <= len(anchors) <= 8
        assert all(HEX.fullmatch(colour) for colour, _ in anchors)
        assert sum(weight for _, weight in anchors) == pytest.approx(1, abs=1e-9)
        assert 4 <= len(listed(theme["motifs"])) <= 12
        assert all(1 <= int(month) <= 12 for month in listed(theme["months"]))
    assert "invented" in (DEMO / "ABOUT.md").read_text("utf-8")
    for path in (p for p in DEMO.iterdir() if p.is_file()):
        assert not re.search(r"garden|spring", path.read_text("utf-8"), re.IGNORECASE), path.name
