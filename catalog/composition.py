"""Allergens, additives and diet: a baker's words to the fixed ones, and never a guess.

References
----------
Allergens: 21 U.S.C. 321(qq) (the US nine); Regulation (EU) 1169/2011, Annex II (the
EU and UK fourteen). E numbers and their names: Regulation (EC) 1333/2008, Annex II
part B; numbers of the Codex Class Names and INS (CXG 36-1989) are the same. Names of
US certified colours: 21 CFR 74 subpart A; of exempt ones: 21 CFR 73 subpart A.
The pairing of US name and E number below is written from memory of these texts.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from catalog.fields import Checks
from themekit.values import ALLERGENS, DIETS

COMPOSITION = ("allergens", "may_contain", "additives", "diet")

_NUTS = ("almond", "hazelnut", "walnut", "cashew", "pecan", "brazil", "pistachio", "macadamia", "queensland")
# "shellfish" may mean either group, so it counts as both.
_ALLERGEN_WORDS: dict[str, tuple[str, ...]] = {
    **{word: (word,) for word in ALLERGENS},
    **dict.fromkeys(("dairy", "milks", "butter", "cream", "lactose", "whey", "casein"), ("milk",)),
    **dict.fromkeys(("eggs", "egg white", "egg whites", "albumen"), ("egg",)),
    **dict.fromkeys(("soya", "soybean", "soybeans", "soy lecithin", "soya lecithin"), ("soy",)),
    **dict.fromkeys(("peanuts", "groundnut", "groundnuts"), ("peanut",)),
    **dict.fromkeys(("tree nuts", "treenut", "treenuts"), ("tree nut",)),
    # In the law's list they are tree nuts; on a baker's list, as in what a parent says, they may be either.
    **dict.fromkeys(("nut", "nuts"), ("peanut", "tree nut")),
    **{f"{nut}{end}": ("tree nut",) for nut in _NUTS for end in ("", "s", " nut", " nuts")},
    **dict.fromkeys(("barley", "rye", "oats", "spelt"), ("gluten",)),
    "wheat flour": ("wheat",),
    **dict.fromkeys(("sesame seed", "sesame seeds"), ("sesame",)),
    **dict.fromkeys(
        ("sulphites", "sulfite", "sulfites", "sulphur dioxide", "sulfur dioxide"), ("sulphite",)
    ),
    **dict.fromkeys(("crustaceans", "crustacean shellfish"), ("crustacean",)),
    **dict.fromkeys(("molluscs", "mollusk", "mollusks"), ("mollusc",)),
    "shellfish": ("crustacean", "mollusc"),
    **dict.fromkeys(("lupine", "lupins"), ("lupin",)),
}  # fmt: skip

_ADDITIVE_NAMES: dict[str, tuple[str, ...]] = {
    "E100": ("curcumin", "turmeric"),
    "E101": ("riboflavin", "riboflavins"),
    "E102": ("tartrazine", "yellow 5"),
    "E104": ("quinoline yellow",),
    "E110": ("sunset yellow", "sunset yellow fcf", "yellow 6"),
    "E120": ("carmine", "carmines", "cochineal", "carminic acid", "cochineal extract"),
    "E122": ("azorubine", "carmoisine"),
    "E123": ("amaranth",),
    "E124": ("ponceau 4r", "cochineal red a"),
    "E127": ("erythrosine", "red 3"),
    "E129": ("allura red", "allura red ac", "red 40"),
    "E131": ("patent blue v",),
    "E132": ("indigotine", "indigo carmine", "blue 2"),
    "E133": ("brilliant blue", "brilliant blue fcf", "blue 1"),
    "E140": ("chlorophyll", "chlorophylls", "chlorophyllins"),
    "E141": ("copper chlorophyll", "copper chlorophyllin"),
    "E143": ("fast green", "fast green fcf", "green 3"),
    "E150a": ("plain caramel",),
    "E150d": ("sulphite ammonia caramel",),
    "E151": ("brilliant black", "brilliant black bn", "brilliant black pn", "black pn"),
    "E153": ("vegetable carbon", "vegetable black"),
    "E155": ("brown ht",),
    "E160a": ("carotene", "carotenes", "beta-carotene", "beta carotene"),
    "E160b": ("annatto", "bixin", "norbixin", "annatto extract"),
    "E160c": ("paprika", "paprika extract", "paprika oleoresin", "capsanthin"),
    "E161b": ("lutein",),
    "E162": ("beetroot red", "betanin", "beet red", "dehydrated beets"),
    "E163": ("anthocyanin", "anthocyanins", "grape skin extract"),
    "E170": ("calcium carbonate",),
    "E171": ("titanium dioxide",),
    "E172": ("iron oxide", "iron oxides", "iron oxides and hydroxides"),
    "E173": ("aluminium", "aluminum"),
    "E174": ("silver",),
    "E175": ("gold",),
    "E322": ("lecithin", "lecithins"),
    "E330": ("citric acid",),
    "E414": ("gum arabic", "acacia gum"),
    "E415": ("xanthan gum", "xanthan"),
    "E422": ("glycerol", "glycerin", "glycerine"),
    "E555": ("potassium aluminium silicate", "mica"),
    "E901": ("beeswax", "white beeswax"),
    "E903": ("carnauba wax",),
    "E904": ("shellac", "confectioner's glaze", "confectioners glaze"),
}
_BY_NAME = {name: code for code, names in _ADDITIVE_NAMES.items() for name in names}
_NUMBER = re.compile(r"(?:e|ins)[ -]?(\d{3,4})[ ]?([a-z]?)(?:[ ]?\(([ivx]+)\))?", re.IGNORECASE)
_BARE_NUMBER = re.compile(r"(\d{3})([a-z]?)", re.IGNORECASE)


#: Allergens that are of animals, and those that are flesh: what a diet cannot hold.
_FLESH = ("fish", "crustacean", "mollusc")
_NOT_IN_DIET = {"vegan": ("milk", "egg", *_FLESH), "vegetarian": _FLESH}
_HOLDS = {True: "neither", False: "vegetarian or neither"}


def allergen(word: str) -> tuple[str, ...]:
    """The fixed allergen words that a baker's word stands for; empty where unknown."""
    return _ALLERGEN_WORDS.get(" ".join(word.casefold().split()), ())


def additive(word: str) -> str:
    """The canonical E number of an additive where it is known, else the word as entered.

    Understands "e 129", "INS 129", "Red 40", "FD&C Red No. 40", "Red 40 Lake" and the
    names of Annex II; an E number that is not in the table is only tidied ("e 999" → "E999").
    """
    entered = " ".join(word.split())
    coded = _NUMBER.fullmatch(entered)
    if coded:
        digits, letter, roman = coded.groups()
        return f"E{digits}{letter.lower()}" + (f"({roman.lower()})" if roman else "")
    bare = _BARE_NUMBER.fullmatch(entered)
    if bare and f"E{bare[1]}{bare[2].lower()}" in _ADDITIVE_NAMES:
        return f"E{bare[1]}{bare[2].lower()}"
    name = entered.casefold().replace("’", "'")
    name = re.sub(r"^fd ?& ?c ", "", name)
    name = re.sub(r"\bno\.? ?(?=\d)", "", name)
    name = re.sub(r"#(?=\d)", "", name)
    name = re.sub(r" (aluminum |aluminium )?lake$", "", name)
    return _BY_NAME.get(" ".join(name.split()), entered)


def check_composition(
    checks: Checks, record: Mapping[str, Any], within: str = "", only: tuple[str, ...] = COMPOSITION
) -> dict[str, Any]:
    """Clean allergens, may_contain, additives and diet; None stays unknown, [] stays none."""
    clean: dict[str, Any] = {}
    for field in only:
        value, path = record.get(field), within + field
        if field == "diet":
            clean[field] = checks.choice(path, value, DIETS)
        elif field == "additives":
            words = checks.words(path, value)
            clean[field] = None if words is None else list(dict.fromkeys(map(additive, words)))
        else:
            clean[field] = _allergens(checks, path, value)
    _check_diet(checks, clean, within)
    return clean


def _check_diet(checks: Checks, clean: Mapping[str, Any], within: str) -> None:
    """A diet that an allergen entered beside it rules out is a slip in one of the two."""
    diet = clean.get("diet")
    against = [a for a in clean.get("allergens") or () if a in _NOT_IN_DIET.get(diet or "", ())]
    if against:
        checks.wrong(
            within + "diet",
            diet,
            f"a diet that may hold {' and '.join(against)}: " + _HOLDS[against[0] in _FLESH],
            "Look at the label again: change the diet, or take out the allergen; what only may be in it belongs "
            "in may_contain.",
        )


def _allergens(checks: Checks, path: str, value: Any) -> list[str] | None:
    words = checks.words(path, value)
    if words is None:
        return None
    found: set[str] = set()
    for word in words:
        known = allergen(word)
        if not known:
            near = get_close_matches(word.casefold(), _ALLERGEN_WORDS, n=2)
            hint = f"Did you mean {' or '.join(near)}?" if near else "Choose the nearest, or leave it out."
            checks.wrong(path, word, "any of " + ", ".join(ALLERGENS), hint)
        found.update(known)
    return [word for word in ALLERGENS if word in found]
