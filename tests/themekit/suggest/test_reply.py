"""The letter: plain to a customer, nothing twice, each allergen answered and none promised."""

from __future__ import annotations

from dataclasses import replace

import pytest

from themekit.suggest.needs import Unmet
from themekit.suggest.reply import SHARED_KITCHEN, Facts, Offer, reply

OFFER = Offer(("red", "white"), ("red sugar",), False, (("owl", 8),), contains=("egg", "milk"), traces=("soy",))
FACTS = Facts(("owl",), 6, None, avoid=("egg", "sesame"))
UNMET = (Unmet("no egg", "dough", "contains egg"), Unmet("no egg", "icing", "contains egg"))


def test_what_is_not_met_is_told_plainly_and_once() -> None:
    text = reply(FACTS, [OFFER], UNMET)
    assert "I cannot promise “no egg”: the dough and the icing contain egg." in text
    assert "shelf" not in text
    mixed = (
        UNMET[0],
        Unmet("no egg", "icing", "has no allergens entered"),
        Unmet("vegan", "dough", "is not vegan"),
    )
    told = reply(FACTS, [OFFER], mixed)
    assert "“no egg”: the dough contains egg and the icing has no allergens entered." in told
    assert "I cannot promise “vegan”: the dough is not vegan." in told


def test_each_allergen_that_was_asked_is_answered() -> None:
    """Kept as far as the labels tell, or not known; words of a promise never stand there."""
    kept = reply(FACTS, [OFFER], UNMET)
    assert "You asked for no sesame: I left it out as far as the labels tell." in kept
    untold = reply(FACTS, [replace(OFFER, untold=("red sugar",))], UNMET)
    assert "whether there are traces in red sugar is not known" in untold
    unknown = reply(FACTS, [replace(OFFER, unknown=("red sugar",))], UNMET)
    assert "red sugar still have to be read from the label. So I cannot tell yet about sesame." in unknown
    assert "sesame" not in reply(replace(FACTS, avoid=("egg",)), [OFFER], UNMET)
    wheat = reply(replace(FACTS, avoid=("gluten",)), [replace(OFFER, contains=("wheat",))], ())
    assert "no gluten" not in wheat
    for text in (kept, untold, unknown):
        assert SHARED_KITCHEN in text
        assert "free" not in text
        assert "safe" not in text


def test_nothing_is_said_twice() -> None:
    others = [OFFER, OFFER, replace(OFFER, contains=("egg", "milk", "wheat"))]
    text = reply(FACTS, others, UNMET, notes=("Small pieces: a. Mind.", "Small pieces: a. Mind."))
    assert text.count("Small pieces") == 1
    assert "All of them contain egg and milk. Kit 3 also contains wheat." in text
    assert "All of them may contain traces of soy." in text
    assert text.count("traces of soy") == 1
    apart = reply(FACTS, [replace(OFFER, traces=()), OFFER, OFFER], UNMET)
    assert "Kits 2 and 3 may contain traces of soy." in apart


@pytest.mark.parametrize(
    ("themes", "told"),
    [((), "thank you for asking: 6 kits."), (("owl", "birthday"), "asking about “owl” and “birthday”: 6 kits.")],
)
def test_themes_are_told_by_their_names(themes: tuple[str, ...], told: str) -> None:
    assert told in reply(replace(FACTS, themes=themes), [OFFER], ())


def test_the_letter_is_signed_only_with_a_name() -> None:
    assert reply(FACTS, [OFFER], ()).endswith("Kind regards\n")
    assert reply(FACTS, [OFFER], (), "Anna").endswith("Kind regards\nAnna\n")
