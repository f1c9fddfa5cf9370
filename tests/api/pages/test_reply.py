"""A customer's message on the page, read with the whole lexicon: the same fields give the same answer."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any

import pytest
from flask.testing import FlaskClient

import catalog.lexicon
from themekit.values import Lexicon

MESSAGES = (
    "Hi! I'd love 10 kits for my son's 3rd birthday on 12 December, he is mad about dinosaurs. Thanks, Tilda",
    "Hello, twelve boxes for a baby shower, soft grey and yellow please, no nuts. Best wishes, Maren",
    "Could you make 20 kits for our school fair? Something with foxes and owls, nothing pink.",
    "My daughter Lily turns 6 and loves unicorns and rainbows, no blue please. 8 kits, gluten free",
    "Need 6 retirement kits for a beekeeper by Friday, vegetarian please",
    "Wedding in navy, rust and cream, 40 kits, no glitter and no titanium dioxide please",
    "first birthday, under the sea, no sharks, 5 sets, the youngest is one",
    "A space party for nine children aged 5 to 7, dairy free, without nonpareils",
    "halloween but not scary, no black, 15 kits with 6 cookies each",
    "Graduation of our cousin Rose, green and gold, no artificial colours, 25 boxes for 19 June",
)


class Fields(HTMLParser):
    """What a form of the page would send, and the kits that stand in it."""

    def __init__(self, html: str, form: str) -> None:
        super().__init__()
        self.form, self.on, self.area, self.select = form, False, "", ""
        self.sent: list[tuple[str, str]] = []
        self.kits: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.on = at.get("id") == self.form
        if not self.on:
            return
        if tag == "input" and at.get("name") == "chosen":
            self.kits.append(at["value"])
        if tag == "textarea":
            self.area = at["name"]
            self.sent.append((self.area, ""))
        if tag == "select":
            self.select = at["name"]
        if tag == "option" and "selected" in at:
            self.sent.append((self.select, ""))
            self.area = self.select
        ticked = at.get("type") not in ("radio", "checkbox") or "checked" in at
        if tag == "input" and at.get("name") and ticked:
            self.sent.append((at["name"], at.get("value", "on")))

    def handle_endtag(self, tag: str) -> None:
        if tag in ("textarea", "option"):
            self.area = ""
        if tag == "form":
            self.on = False

    def handle_data(self, data: str) -> None:
        if self.on and self.area:
            self.sent[-1] = (self.area, self.sent[-1][1] + data)

    def data(self, **more: str) -> dict[str, Any]:
        """The fields as a form sends them, with `more`."""
        found: dict[str, Any] = {}
        for name, value in self.sent:
            found.setdefault(name, []).append(value)
        return found | more


@pytest.fixture(scope="module", autouse=True)
def small_lexicon() -> Lexicon:
    """The whole lexicon here, for messages as people write them."""
    return catalog.lexicon.lexicon()


def told(html: str) -> list[str]:
    """The kits as they are told: cookies, prices and what they contain."""
    return re.findall(r"<p>(?:Sells at|No price).*?</p>", html, re.DOTALL)


def letter(html: str) -> str:
    return next(value for name, value in Fields(html, "take").sent if name == "reply")


@pytest.mark.parametrize("text", MESSAGES)
def test_what_was_read_answered_unchanged_gives_the_very_same_kits(client: FlaskClient, text: str) -> None:
    first = client.get("/reply", query_string={"text": text}).get_data(as_text=True)
    form = Fields(first, "take")
    assert len(form.kits) == 3
    again = client.post("/reply", data=form.data(step="answer"), follow_redirects=True).get_data(as_text=True)
    assert Fields(again, "take").kits == form.kits
    assert told(again) == told(first)
    # Keeping it with nothing chosen shows the place once more, with the same kits too.
    kept = client.post("/reply", data=form.data()).get_data(as_text=True)
    assert "No kit was chosen." in kept or "The order has no name." in kept
    assert Fields(kept, "take").kits == form.kits


def test_what_is_put_right_counts_although_the_message_says_otherwise(client: FlaskClient) -> None:
    first = client.get("/reply", query_string={"text": MESSAGES[0]}).get_data(as_text=True)
    form = Fields(first, "take")
    assert "× number plaque" in letter(first)
    changed = form.data(step="answer", kits="", age="", date="")
    again = client.post("/reply", data=changed, follow_redirects=True).get_data(as_text=True)
    asked = Fields(again, "take").data()
    assert (asked["kits"], asked["age"], asked["date"]) == ([""], [""], [""])
    assert "How many kits would you like?" in letter(again)
    other = client.post("/reply", data=form.data(step="answer", theme="owls"), follow_redirects=True)
    assert "dinosaur" not in letter(other.get_data(as_text=True))


def test_the_letter_is_to_the_customer_in_plain_words(client: FlaskClient) -> None:
    text = (
        "Hi, 12 christmas kits please, nothing pink, no nuts, the youngest is two. Last time my cloth had stains. "
        "What do they cost? Best wishes, Tilda"
    )
    html = client.get("/reply", query_string={"text": text}).get_data(as_text=True)
    told_ = letter(html)
    assert told_.strip().startswith("Hello Tilda,")
    assert "not to use pink, that the youngest is 2" in told_
    assert "Academy" not in told_
    assert "(size from" not in told_
    assert "stains" not in told_
    assert Fields(html, "take").data()["customer"] == ["Tilda"]
    assert "customer=Tilda" in html
