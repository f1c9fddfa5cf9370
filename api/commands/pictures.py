"""Pictures of an answer as SVG files: the same drawings as on the page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from themekit.errors import InvalidValue, Problem

if TYPE_CHECKING:
    from themekit.values import Shelf

Json = dict[str, Any]


def path_for(file: str | None) -> Path | None:
    """The file that was named; None where none was. Raises `InvalidValue` for one that is no .svg."""
    if file is None:
        return None
    path = Path(file)
    problems = []
    if path.suffix.lower() != ".svg":
        problems.append(Problem("--picture", file, "a file that ends in .svg", "Name it so; it is drawn as SVG."))
    elif not path.parent.is_dir():
        problems.append(Problem("--picture", file, "a file in a folder that is there", "Make the folder first."))
    if problems:
        raise InvalidValue("The picture cannot be written there.", problems)
    return path


def written(path: Path, drawings: Iterable[str]) -> list[str]:
    """Write drawings to `path`, or numbered beside it where there are several; the files' names.

    Raises `InvalidValue` where one cannot be written.
    """
    drawn = list(drawings)
    names = [path] if len(drawn) == 1 else [path.with_stem(f"{path.stem}-{n}") for n in range(1, len(drawn) + 1)]
    for name, svg in zip(names, drawn, strict=True):
        try:
            name.write_text(f'<?xml version="1.0" encoding="UTF-8"?>\n{svg}\n', "utf-8")
        except OSError as error:
            problem = Problem("--picture", str(name), "a file that can be written", "Choose another place.")
            raise InvalidValue("The picture could not be written.", [problem]) from error
    return [str(name) for name in names]


def told(files: Sequence[str]) -> list[str]:
    """A line on where the pictures are."""
    return [f"Drawn: {', '.join(files)}"] if files else []


def kits(answer: Json, theme: str, shelf: Shelf) -> list[str]:
    """Each idea's kit from above, as the page of ideas shows it."""
    from api.pages.pictures import kit_of_idea, picture_of

    return [
        str(picture_of(kit_of_idea(idea, theme, shelf), f"k{number}", f"Idea {number} from above"))
        for number, idea in enumerate(answer["ideas"], 1)
    ]


def palettes(answer: Json) -> list[str]:
    """Each palette on the a*b* plane with its lightness bar."""
    from themekit.draw.charts import palette_chart
    from themekit.values import Tint

    return [
        palette_chart([Tint(tuple(t["lab"]), t["hex"], t["name"], ()) for t in one["tints"]], (), f"p{number}")
        for number, one in enumerate(answer["palettes"], 1)
    ]


def trios(answer: Json, shelf: Shelf) -> list[str]:
    """Each trio's grains on a millimetre rule."""
    from themekit.draw.rule import grain_rule

    jars = {jar.id: jar for jar in shelf.jars}
    return [
        grain_rule([jars[jar["id"]] for jar in one["jars"]], f"r{number}")
        for number, one in enumerate(answer["trios"], 1)
    ]
