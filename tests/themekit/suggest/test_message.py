"""Who signed a message, whether it asks for the price, and which wishes were not understood."""

from __future__ import annotations

import pytest

from themekit.suggest.message import asks_price, signed_by, unclear
from themekit.suggest.reply import Facts, Offer, reply


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("12 owl kits please. Best wishes, Tilda", "Tilda"),
        ("12 owl kits please.\nThanks,\nTilda Moor", "Tilda Moor"),
        ("Owls please! Many thanks from Maren x", "Maren"),
        ("Kind regards\nJules\n", "Jules"),
        ("Thanks, could you do owls for Rose?", ""),
        ("We love Owls", ""),
        ("Best wishes, Tilda. P.S. no pink", ""),
        ("owls, thanks", ""),
        ("", ""),
    ],
)
def test_a_name_under_a_message(text: str, name: str) -> None:
    assert signed_by(text) == name


def test_a_question_of_price() -> None:
    assert asks_price("How much would ten be?")
    assert asks_price("what is the price")
    assert not asks_price("ten kits with owls, much love")


def test_only_a_whole_wish_that_nothing_was_understood_of_is_asked_about() -> None:
    text = "Ten owl kits please, last time the red left stains. Could the lids be frobbed? Owls with glorp please"
    assert unclear(text, ["stains", "frobbed", "glorp"], ["owl", "owls", "red"]) == ("Could the lids be frobbed",)


def test_the_letter_greets_notes_and_promises_the_price_that_was_asked_for() -> None:
    offer = Offer(("red",), ("red sugar",), False, (("owl", 8),), price="4.00 a kit", contains=("milk",))
    facts = Facts(("owl",), 6, None, avoid=("egg",), to="Tilda", age=3, unwanted=("pink",), price_asked=True)
    text = reply(facts, [offer], ())
    assert text.startswith("Hello Tilda,\n")
    assert "I have noted not to use pink, that the youngest is 3 and that egg should be left out." in text
    assert "4.00 a kit." in text
    assert "as soon as I have worked it out" not in text
    later = Offer(("red",), ("red sugar",), False, (("owl", 8),))
    assert "I will tell you the price as soon as I have worked it out." in reply(facts, [later], ())
    plain = reply(Facts(("owl",), 6, None), [later], ())
    assert plain.startswith("Hello,\n")
    assert "noted" not in plain
    assert "the price" not in plain
