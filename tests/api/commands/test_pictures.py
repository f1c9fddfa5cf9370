"""Pictures in files: the page's own drawings, and what cannot be written is told."""

from __future__ import annotations

import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient


def _svg(path: Path) -> str:
    text = path.read_text("utf-8")
    root = ElementTree.fromstring(text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    return text.split("\n", 1)[1].strip()


def test_a_kit_is_drawn_as_on_the_page(themekit, client: FlaskClient, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    done = themekit("ideas", "pirates", "--count", "3", "--picture", tmp_path / "kit.svg")
    assert done.code == 0
    assert "kit-3.svg" in done.out
    page = client.get("/?theme=pirates").get_data(as_text=True)
    shown = re.findall(r'<div class="kitpicture">(<svg.*?</svg>)</div>', page, re.S)
    assert [_svg(tmp_path / f"kit-{n}.svg") for n in (1, 2, 3)] == shown


@pytest.mark.parametrize(("command", "of"), [("ideas", "cookie"), ("palettes", "a*b* plane"), ("trios", "mm")])
def test_one_suggestion_is_one_file_that_says_what_it_shows(  # type: ignore[no-untyped-def]
    themekit, tmp_path: Path, command: str, of: str
) -> None:
    path = tmp_path / "drawn.svg"
    done = themekit(command, "pirates", "--count", "1", "--picture", path, "--json")
    assert done.code == 0
    assert json.loads(done.out)["pictures"] == [str(path)]
    assert of in _svg(path)


@pytest.mark.parametrize("name", ["kit.png", "kit", "no/folder/kit.svg"])
def test_a_picture_that_cannot_be_written_is_refused_before_anything_is_asked(  # type: ignore[no-untyped-def]
    themekit, tmp_path: Path, name: str
) -> None:
    done = themekit("ideas", "pirates", "--picture", tmp_path / name)
    assert done.code != 0
    assert "--picture" in done.err
    assert list(tmp_path.glob("**/*.svg")) == []
