"""A kit that is made already has the parts that its idea had, up to the rounding of colours in hex."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from catalog.lexicon import lexicon
from themekit.suggest.ideas import Suggester
from themekit.suggest.judged import judged, theme_name
from themekit.values import Needs, Shelf

Ask = Callable[..., Suggester]


@pytest.mark.parametrize("text", ["owl party in teal and gold", "paris", "rainbow", "lemonade stand, no nuts"])
def test_a_made_kit_is_judged_as_its_idea_was(suggester: Ask, demo: Shelf, text: str) -> None:
    asking = suggester(text)
    for idea in asking.ideas(3).ideas:
        tints = [t.hex for t in idea.palette.palette.tints]
        jars = [j.id for j in idea.trio.trio.jars]
        cutters = {c.cutter.id: c.cookies for c in idea.cutters}
        parts = judged(asking.asked, demo, lexicon(), tints, jars, cutters)
        assert set(parts["palette"]) == set(idea.palette.palette.parts) - {"ease"}
        for name, value in parts["palette"].items():
            assert value == pytest.approx(idea.palette.palette.parts[name], abs=0.01)
        if not idea.fallback:
            assert set(parts["trio"]) == set(idea.trio.trio.parts) - {"stock"}
            for name, value in parts["trio"].items():
                assert value == pytest.approx(idea.trio.trio.parts[name], abs=0.01)
        assert parts["idea"]["cutters"] == pytest.approx(idea.parts["cutters"], abs=0.01)


def test_what_cannot_be_told_is_left_out(suggester: Ask, demo: Shelf) -> None:
    asked = suggester("owl party").asked
    assert judged(asked, demo, lexicon(), ["#ffffff"], [1, 2], {}) == {}
    tints = ["#ffffff", "#2a9d8f", "#6b4a2f"]
    gone = max(j.id for j in demo.jars) + 1
    assert set(judged(asked, demo, lexicon(), tints, [1, 2, gone], {gone: 8})) == {"palette"}
    bound = suggester("owl party", needs=Needs(avoid_allergens=("milk",), youngest_age=1)).asked
    jars = [j.id for j in demo.jars[:3]]
    assert judged(bound, demo, lexicon(), tints, jars, {}) == judged(asked, demo, lexicon(), tints, jars, {})


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("owl party for Mia, 12 kits, no milk, ring 555 1234", "owl"),
        ("flying bats for Mia", "bat"),
        ("teal and gold for Mia Example", "teal gold"),
        ("for Mia Example 12", ""),
    ],
)
def test_a_theme_is_named_without_the_customer(suggester: Ask, text: str, name: str) -> None:
    assert theme_name(suggester(text).asked) == name
