"""The built-in tables are whole: forms, counts, unique names, and motifs that have colours."""

from __future__ import annotations

from collections import Counter

import pytest

from catalog.lexicon import kinds, lexicon, staples
from themekit.suggest.lookup import lookup_for
from themekit.suggest.words import key_of
from themekit.values import FINISHES, FORMS, HARDNESSES

#: Shapes and plain words that have no colour of their own.
COLOURLESS = {"circle", "square", "cup", "wish", "jar", "palette", "pot"}
GROUPS = {
    "holidays", "seasons", "life", "parties", "nature", "animals", "places", "food", "work", "sport", "school",
    "colours", "moods",
}  # fmt: skip


def test_at_least_three_hundred_themes_in_every_group() -> None:
    counts = Counter(t.group for t in lexicon().themes)
    assert sum(counts.values()) >= 300
    assert set(counts) == GROUPS
    assert min(counts.values()) >= 10


def test_themes_are_well_formed() -> None:
    for theme in lexicon().themes:
        assert 3 <= len(theme.anchors) <= 8, theme.name
        assert sum(a.weight for a in theme.anchors) == pytest.approx(1), theme.name
        assert 4 <= len(theme.motifs) <= 12, theme.name
        assert len(set(theme.motifs)) == len(theme.motifs), theme.name
        assert all(1 <= month <= 12 for month in theme.months), theme.name


def test_names_and_aliases_lead_to_one_theme_each() -> None:
    keys = Counter(key for t in lexicon().themes for key in {key_of(n) for n in (t.name, *t.aliases)})
    assert not [key for key, count in keys.items() if count > 1 or not key]


def test_anchors_differ_from_theme_to_theme() -> None:
    seen = Counter(frozenset(a.lab for a in t.anchors) for t in lexicon().themes)
    assert max(seen.values()) <= 2


def test_motifs_are_things_with_colours() -> None:
    things = lookup_for(lexicon()).things
    lacking = {m for t in lexicon().themes for m in t.motifs if key_of(m) not in things}
    assert lacking <= COLOURLESS


def test_things_and_colour_words_have_one_key_each() -> None:
    things = Counter(key for t in lexicon().things for key in {key_of(n) for n in (t.name, *t.aliases)})
    assert not [key for key, count in things.items() if count > 1]
    assert len(lexicon().things) >= 700
    assert len(lexicon().colour_words) >= 900
    assert 60 <= len(lexicon().colour_basics) <= 120


def test_kinds_hold_trade_words_only_and_never_allergens() -> None:
    assert len(kinds()) >= 25
    for kind in kinds():
        assert kind.texture.form in FORMS
        assert kind.texture.finish in FINISHES
        assert kind.texture.hardness in HARDNESSES
        assert kind.source
        if kind.density_g_per_ml is not None:
            assert kind.density_low is not None
            assert kind.density_high is not None
            assert kind.density_low <= kind.density_g_per_ml <= kind.density_high
        assert not hasattr(kind, "allergens")


@pytest.mark.parametrize(
    ("kind", "density", "source"),
    [
        ("mini chips", 0.731, "USDA SR28 NDB 19080, mini: 173 g a cup"),
        ("mini marshmallows", 0.211, "USDA SR28 NDB 19116: 50 g a cup"),
        ("shredded coconut", 0.393, "USDA SR28 NDB 12179: 93 g a cup"),
    ],
)
def test_densities_as_the_household_weights(kind: str, density: float, source: str) -> None:
    """Grams a cup over 236.588 mL; no closer than the 7 % by which those weights differ among themselves."""
    found = {k.name: k for k in kinds()}[kind]
    assert found.density_g_per_ml == pytest.approx(density, rel=0.07), source


def test_staples_leave_allergens_unknown() -> None:
    assert staples()
    for staple in staples():
        assert staple.id < 0
        assert staple.composition.allergens is None
        assert len(staple.k) == 31
