"""What card, label, bench sheet and shopping list say, read back from the PDF."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from flask.testing import FlaskClient
from pypdf import PdfReader

from api.prints.job import Job
from api.prints.printing import pdf

Sketch = Callable[..., dict[str, Any]]
Reads = Callable[[bytes], Any]


def sized(data: bytes) -> list[tuple[float, str, str]]:
    """Every piece of text with its size in points and its font, by pypdf."""
    found: list[tuple[float, str, str]] = []

    def visit(text: str, matrix: list[float], text_matrix: list[float], font: Any, size: float) -> None:
        if text.strip():
            scale = abs(matrix[3] or 1) * abs(text_matrix[3] or 1)
            found.append((round(size * scale, 2), (font or {}).get("/BaseFont", ""), text.strip()))

    for page in PdfReader(io.BytesIO(data)).pages:
        page.extract_text(visitor_text=visit)
    return found


def test_the_card_has_all_that_a_guest_needs(job: Callable[..., Job], read: Reads) -> None:
    """Kit, colours, how to, toppings, when to use it by, allergens and the label; on each of four cards."""
    made = job()
    found = read(pdf("card", made)[0])
    for words in (
        "Owl party", "Marlow Lane", "Knead each icing bag", "Cut off the tip", "teal nonpareils, gold star quins",
        "Use it up by Wed 16 Dec 2026.", "Contains: Milk, Eggs, Wheat, Soybeans.", "see the label",
        *(tint.name for tint in made.work.order.kit.tints),
    ):  # fmt: skip
        assert found.text.count(words) >= 4, words


def test_the_card_has_her_own_words(client: FlaskClient, sketch: Sketch, read: Reads) -> None:
    """Directions of a batch go before the default; placeholders are filled in, other braces are left."""
    text = "Hello {kit} from {shelf}: {cookies} cookies in {colours}.\nBy {use_by}, {toppings}! {nobody} {} {kit"
    row = sketch(settings={"label": {"directions": text}})
    found = read(client.get(f"/api/v1/batches/{row['id']}/card.pdf").data)
    assert "Hello Owl party from demo: 8 cookies in" in found.text
    assert "By Wed 16 Dec 2026, teal nonpareils, gold star quins and mini white chips!" in found.text
    assert "{nobody} {} {kit" in found.text
    assert "Knead" not in found.text


def test_a_card_without_a_day_leaves_room_to_write_one(
    sketch: Sketch, job: Callable[..., Job], read: Reads
) -> None:
    """Nothing is made up where the day of packing is not known."""
    found = read(pdf("card", job(sketch(due=None)))[0])
    assert "Use it up by: ______" in found.text
    assert "2026" not in found.text


def test_small_hard_pieces_are_told_on_the_card(
    client: FlaskClient, sketch: Sketch, job: Callable[..., Job], read: Reads
) -> None:
    """Choking is a caution for whoever decorates, so it goes with the kit."""
    rows = client.get("/api/v1/jars?page_size=200").get_json()["items"]
    pearls = next(row for row in rows if "pearls" in row["name"] and row["hard_small_pieces"])
    found = read(pdf("card", job(sketch(jars=[pearls["id"]])))[0])
    assert f"Small hard or sticky pieces: {pearls['name']}. Not for children under 4" in found.text


@pytest.mark.parametrize(("rules", "bold"), [("US", False), ("EU", True)])
def test_the_label_emphasises_as_its_rules_ask(
    sketch: Sketch, job: Callable[..., Job], read: Reads, rules: str, bold: bool
) -> None:
    """Regulation (EU) No 1169/2011, Article 21(1)(b): allergens stand out in the list, here in bold type.

    In the US a statement after the list names them (21 U.S.C. 343(w)(1)(A)).
    """
    data = pdf("label", job(sketch(settings={"label": {"jurisdiction": rules}})))[0]
    fonts = {"Bold" in font for _, font, text in sized(data) if re.fullmatch(r"wheat|egg,|egg", text)}
    assert fonts == ({True} if bold else set())
    text = read(data).text
    assert ("Contains: Milk, Eggs, Wheat, Soybeans." in text) is not bold
    assert text.index("Ingredients: cookies (") < text.index("icing (") < text.index("teal nonpareils")
    assert ("NET WT" in text) is not bold
    assert "For the baker, not for sticking" in text
    assert "check the local code" in text


def test_small_letters_of_the_label_are_large_enough(sketch: Sketch, job: Callable[..., Job]) -> None:
    """x-height of 1.2 mm at least (Regulation (EU) No 1169/2011, Article 13(2)), on the label itself.

    The x-height of the font, 0.536 of its size, is that of its OS/2 table (sxHeight 536 of 1000), from memory.
    """
    found = sized(pdf("label", job())[0])
    ingredients = [size for size, _, text in found if "nonpareils (" in text or "meringue powder" in text]
    assert ingredients
    assert min(ingredients) * 0.536 / 72 * 25.4 >= 1.2


def test_a_label_with_unknown_allergens_is_not_to_be_used(
    client: FlaskClient, sketch: Sketch, job: Callable[..., Job], read: Reads
) -> None:
    """The label, the card and the bench sheet say so, and never that the kit is without an allergen."""
    row = sketch()
    jar = client.get(f"/api/v1/jars/{row['jars'][0]['id']}")
    changed = client.patch(
        f"/api/v1/jars/{row['jars'][0]['id']}", json={"allergens": None}, headers={"If-Match": jar.headers["ETag"]}
    )
    assert changed.status_code == 200
    made = job(row)
    for document, words in (
        ("label", "Not to be used yet: the allergens of teal nonpareils are not entered"),
        ("card", "Allergens are not all entered yet: not to be used."),
        ("sheet", "First put right – Not to be used yet: the allergens of teal nonpareils"),
    ):
        text = read(pdf(document, made)[0]).text
        assert words in text, document
        assert not re.search(r"\bsafe\b|allergen-free|free from", text)


def test_needs_that_are_not_kept_lead_the_bench_sheet(
    sketch: Sketch, job: Callable[..., Job], read: Reads
) -> None:
    """What the kit breaks comes before any amount."""
    made = job(sketch(needs={"diet": "vegan"}))
    assert made.work.breaks
    page = " ".join(read(pdf("sheet", made)[0]).pages[0].split())
    assert page.index(made.work.breaks[0][:40]) < page.index("Days") < page.index("wheat flour")


def test_the_bench_sheet_can_be_read_at_arms_length(job: Callable[..., Job]) -> None:
    """Text of 12 pt and figures of 14 pt at least, but for the line at the foot of the page."""
    made = job()
    found = [(size, text) for size, _, text in sized(pdf("sheet", made)[0])]
    foot = [text for size, text in found if size < 9]
    assert all("page" in text or "Owl party" in text for text in foot)
    assert min(size for size, _ in found if size >= 9) >= 12
    dough = f"{made.work.dough.dough_g} g"
    assert min(size for size, text in found if dough in text) >= 14


def test_the_bench_sheet_has_the_figures_of_the_work(job: Callable[..., Job], read: Reads) -> None:
    """Dough, icing, doses in the order to mix, toppings, goods, box, weight, cautions: as they were worked out."""
    made = job()
    work, found = made.work, read(pdf("sheet", made)[0])
    assert len(found.pages) <= 2
    told = [f"{i.g} g" for i in work.dough.ingredients]
    told += [dose.gel for colour in work.icing.colours for dose in colour.doses]
    told += [p.jar.name for p in work.contents.toppings] + [line.what for line in work.contents.goods]
    assert work.packing.in_stock is not None
    told += [work.packing.in_stock.box.name, work.packing.weight.words, f"{work.dough.baking.loads} oven loads"]
    for words in told:
        assert "".join(words.split()) in found.packed, words
    order = [found.text.index(f"{n}. {work.icing.colours[place].name}") for n, place in
             enumerate(work.icing.mix_order, 1)]  # fmt: skip
    assert order == sorted(order)
    for caution in work.cautions:
        assert "".join(caution.text.split()) in found.packed


def test_a_crowded_batch_still_goes_on_two_pages(
    client: FlaskClient, sketch: Sketch, job: Callable[..., Job], read: Reads
) -> None:
    """Twenty cutters, six colours, nine jars: lists are cut with a count, then type gets smaller."""
    cutters = client.get("/api/v1/cutters?page_size=200").get_json()["items"][:20]
    jars = client.get("/api/v1/jars?page_size=200").get_json()["items"][:3]
    made = job(
        sketch(
            cutters=[{"id": c["id"], "cookies": 1} for c in cutters],
            jars=[j["id"] for j in jars],
            tints=["#088f7f", "#dfb03b", "#875e34", "#d7263d", "#f29ab5", "#7a4f9e"],
        )
    )
    found = read(pdf("sheet", made)[0])
    assert len(found.pages) == 2
    for cutter in cutters:
        assert "".join(cutter["name"].split()) in found.packed


def test_the_shopping_list_buys_first(job: Callable[..., Job], read: Reads) -> None:
    """What to buy comes before what is there, with packs, price and a sum that says it may grow."""
    made = job()
    work, text = made.work, read(pdf("shopping", made)[0]).text
    buy = [line for line in work.shopping.lines if line.status == "buy"]
    enough = [line for line in work.shopping.lines if line.status == "enough"]
    assert buy
    assert enough
    assert text.index("To buy") < text.index(buy[0].name) < text.index("Enough on the shelf")
    assert text.index("Enough on the shelf") < text.rindex(enough[-1].name)
    assert f"In all at least {work.shopping.total}" in text


def test_units_may_be_those_of_the_us(job: Callable[..., Job], read: Reads) -> None:
    """Ounces of NIST Handbook 44, App. C (28.349523125 g); gel doses stay as a scale shows them."""
    made = job(system="US")
    flour = next(i.g for i in made.work.dough.ingredients if i.name == "wheat flour")
    sheet = read(pdf("sheet", made)[0])
    found = re.search(r"wheat flour (?:(\d+) lb )?(\d+)?(?: ?(1/4|1/2|3/4))? ?oz", sheet.text)
    assert found
    parts = {None: 0.0, "1/4": 0.25, "1/2": 0.5, "3/4": 0.75}
    ounces = 16 * int(found[1] or 0) + int(found[2] or 0) + parts[found[3]]
    assert ounces * 28.349523125 == pytest.approx(flour, abs=28.35 / 4 + 0.1)
    doses = [dose.text.split(" (")[0] for colour in made.work.icing.colours for dose in colour.doses]
    assert all("".join(d.split()) in sheet.packed for d in doses)


def test_a_box_that_does_not_do_leads_the_sheet(job: Callable[..., Job], read: Reads) -> None:
    """Without a box that the kit goes into there is no picture, and the advice leads."""
    made = job()
    packing = replace(
        made.work.packing, best=None, in_stock=None, advice=("The kit goes into none of the boxes.",)
    )
    found = read(pdf("sheet", replace(made, work=replace(made.work, packing=packing)))[0])
    page = " ".join(found.pages[0].split())
    assert page.index("The kit goes into none of the boxes.") < page.index("Days")
    assert "on the floor" not in found.text
