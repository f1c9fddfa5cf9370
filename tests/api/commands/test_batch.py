"""`themekit batch`: what it tells people and programs, step by step."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from pypdf import PdfReader

from api import questions

Run = Callable[..., Any]


def flat(text: str) -> str:
    """Told text in one line."""
    return " ".join(text.split())


def test_a_batch_from_the_idea_to_the_packed_kit(themekit: Run) -> None:
    """Make, list, show, promise, pack, unpack and drop, each told with the batch's name and state."""
    made = themekit("batch", "make", "owl party", "--kits", 4, "--due", "2099-12-05")
    assert (made.code, made.err) == (0, "")
    assert made.out.startswith("Batch 1, owl party: 4 kits, pick-up 2099-12-05, sketched.\n")
    assert "2099-12-04: fill the cups, bag the cookies, pack the kits" in flat(made.out)
    assert "1: owl party, 4 kits, sketched, pick-up 2099-12-05" in flat(themekit("batch", "list").out)
    for step, state in (
        ("promise", "promised"), ("promise", "promised"), ("pack", "packed"), ("unpack", "promised"),
        ("drop", "dropped"),
    ):  # fmt: skip
        done = themekit("batch", step, 1)
        assert (done.code, done.err) == (0, "")
        assert done.out.startswith(f"Batch 1, owl party: 4 kits, pick-up 2099-12-05: {state}.\n")
    assert "sketched" not in themekit("batch", "list", "--state", "dropped").out
    assert "There are no batches" in themekit("batch", "list", "--state", "packed").out


def test_json_is_what_the_service_answers(themekit: Run, client: FlaskClient) -> None:
    """The same rows and the same work, by command and by address."""

    def told(*arguments: object) -> Any:
        done = themekit("batch", *arguments, "--json")
        assert (done.code, done.err) == (0, "")
        return json.loads(done.out)

    made = told("make", "owl party", "--kits", 3)
    assert made == client.get("/api/v1/batches/1").get_json()
    listed, served = told("list"), client.get("/api/v1/batches?page_size=200").get_json()
    assert listed == served
    # The address's day is that of the tests; without a pick-up nothing depends on it.
    assert told("show", 1) == client.get("/api/v1/batches/1/work").get_json()
    assert told("promise", 1) == client.get("/api/v1/batches/1").get_json()


def test_the_idea_chosen_is_the_one_that_ideas_shows(themekit: Run) -> None:
    """Number two of both is the same three jars."""
    ideas = json.loads(themekit("ideas", "owl party", "--kits", 2, "--json").out)["ideas"]
    made = json.loads(themekit("batch", "make", "owl party", "--kits", 2, "--idea", 2, "--json").out)
    assert [jar["id"] for jar in made["jars"]] == [jar["id"] for jar in ideas[1]["trio"]["jars"]]
    assert [t["hex"] for t in made["tints"]] == [t["hex"] for t in ideas[1]["palette"]["tints"]]


def test_needs_and_kits_read_from_the_words_go_with_the_batch(themekit: Run) -> None:
    """A customer's sentence sets kits, allergens and age; options add to them."""
    made = json.loads(
        themekit("batch", "make", "owl party for 6 kids, nut free, age 3", "--diet", "vegan", "--json").out
    )
    assert made["kits"] == 6
    needs = made["needs"]
    assert sorted(needs["avoid_allergens"]) == ["peanut", "tree nut"]
    assert (needs["youngest_age"], needs["diet"]) == (3, "vegan")


def test_what_is_not_kept_leads(themekit: Run) -> None:
    """The standing dough is not vegan, and that comes first; cautions and what is missing come last."""
    themekit("batch", "make", "owl party", "--diet", "vegan")
    shown = themekit("batch", "show", 1).out
    assert shown.splitlines()[1].startswith("NOT KEPT: The dough does not keep “vegan”")
    order = [
        "NOT KEPT",
        "In each kit:",
        "Icing, ",
        "Dough, ",
        "Packing:",
        "Cost:",
        "Label:",
        "Take care:",
        "Not known:",
    ]
    places = [shown.index(title) for title in order]
    assert places == sorted(places)


@pytest.mark.parametrize("document", ["card", "label", "sheet", "shopping"])
def test_a_document_is_written(themekit: Run, tmp_path: Path, document: str) -> None:
    """A4 of ISO 216 and Letter of ANSI/ASME Y14.1, in points."""
    themekit("batch", "make", "owl party", "--name", "Owls 🦉")
    for paper, size in (("a4", (595, 842)), ("letter", (612, 792))):
        file = tmp_path / f"{document}-{paper}.pdf"
        # In any case, as other words are.
        done = themekit("batch", "print", 1, document, file, "--paper", paper.upper())
        assert (done.code, done.err) == (0, "")
        assert f"Wrote the {document} to" in done.out
        assert "🦉 (U+1F989)" in done.out
        box = PdfReader(io.BytesIO(file.read_bytes())).pages[0].mediabox
        assert (round(box.width), round(box.height)) == size


def test_the_document_is_what_the_service_sends(themekit: Run, client: FlaskClient, tmp_path: Path) -> None:
    """Byte for byte."""
    themekit("batch", "make", "owl party")
    done = themekit("batch", "print", 1, "label", tmp_path / "label.pdf", "--units", "us", "--json")
    served = client.get("/api/v1/batches/1/label.pdf?units=us").data
    assert (tmp_path / "label.pdf").read_bytes() == served
    assert json.loads(done.out) == {"file": str(tmp_path / "label.pdf"), "bytes": len(served), "not_printed": []}


def test_the_weeks_are_written(themekit: Run, tmp_path: Path) -> None:
    """All batches that have a day, as one plan; a day that is none is told."""
    themekit("batch", "make", "owl party", "--due", "2099-12-05")
    done = themekit("batch", "week", tmp_path / "weeks.pdf")
    assert (done.code, done.err) == (0, "")
    assert "Wrote the work of the weeks to" in done.out
    assert "owl party" in PdfReader(tmp_path / "weeks.pdf").pages[0].extract_text()
    done = themekit("batch", "week", tmp_path / "none.pdf", "--from", "soon", "--paper", "a3")
    assert done.code == 2
    assert "--from (from): got 'soon'" in flat(done.err)
    assert "--paper (paper): got 'a3'" in flat(done.err)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("make",), "TEXT (theme)"),
        (("make", "owl party", "--idea", "0"), "--idea (idea): got '0'; allowed: a whole number from 1 to 20"),
        (("make", "owl party", "--due", "tomorrow"), "--due (due): got 'tomorrow'"),
        (("make", "owl party", "--kits", "many"), "--kits (kits): got 'many'"),
        (("make", "owl party", "--kits", "5000"), "from 1 to 1,000"),
        (("show", "owl"), "id: got 'owl'; allowed: the id of a batch. See themekit batch list."),
        (("show", "7"), "There is no such batch."),
        (("promise", "0"), "There is no such batch."),
        (("print", "7", "card", "x.pdf"), "There is no such batch."),
        (("list", "--state", "lost"), "--state (state): got 'lost'"),
        (("bake", "1"), "one of the commands drop, list, make, pack, print, promise, show, unpack, week"),
    ],
)
def test_what_cannot_be_done_is_told(themekit: Run, arguments: tuple[str, ...], told: str) -> None:
    """Exit code 2, nothing on stdout, the field and what is allowed on stderr."""
    done = themekit("batch", *arguments)
    assert (done.code, done.out) == (2, "")
    assert told in flat(done.err)


def test_an_idea_that_there_is_not_is_told(themekit: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where fewer ideas are given than asked for, no batch is made of another one."""
    asked = questions.ideas

    def few(*arguments: Any) -> Any:
        answer = asked(*arguments)
        return answer | {"ideas": answer["ideas"][:2]}

    monkeypatch.setattr(questions, "ideas", few)
    done = themekit("batch", "make", "owl party", "--idea", 3)
    assert (done.code, done.out) == (2, "")
    assert "--idea (idea): got 3; allowed: one of the 2 ideas that there are" in flat(done.err)
    assert "There are no batches" in themekit("batch", "list").out


def test_what_cannot_be_printed_is_told(themekit: Run, tmp_path: Path) -> None:
    """Document, paper and units at once; a folder that is not there; and nothing half written."""
    themekit("batch", "make", "owl party")
    done = themekit("batch", "print", 1, "poster", tmp_path / "x.pdf", "--paper", "a3", "--units", "stone")
    assert done.code == 2
    for field in ("document: got 'poster'", "--paper (paper): got 'a3'", "--units (units): got 'stone'"):
        assert field in flat(done.err)
    assert list(tmp_path.iterdir()) == [path for path in tmp_path.iterdir() if path.suffix != ".pdf"]
    done = themekit("batch", "print", 1, "card", tmp_path / "none" / "x.pdf")
    assert done.code == 2
    assert "The file could not be written." in done.err


def test_too_little_in_a_jar_is_told_with_what_would_do(themekit: Run) -> None:
    """A thousand kits are more than any jar holds: code 2, as JSON with the service's list of what is short."""
    themekit("batch", "make", "owl party", "--kits", 1000)
    done = themekit("batch", "promise", 1, "--json")
    assert done.code == 2
    error = json.loads(done.out)["error"]
    assert error["code"] == "short_stock"
    assert {"jar", "need_g", "have_g", "instead"} <= set(error["short"][0])
    assert "sketched" in themekit("batch", "list").out
