"""Load the distilled word-piece vectors; NOTICE beside them names origin and licence."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from io import BytesIO

import numpy as np

from themekit.suggest.meaning import Meaning, WordSet

_FOLDER = files(__package__).joinpath("vectors")


@cache
def load_meaning() -> Meaning:
    """The built-in word meaning, read once per process."""
    about = json.loads(_FOLDER.joinpath("about.json").read_text("utf-8"))
    vectors = np.load(BytesIO(_FOLDER.joinpath("vectors.npy").read_bytes()), allow_pickle=False)
    place: dict[str, int] = {}
    row = 0
    for line in _FOLDER.joinpath("pieces.txt").read_text("utf-8").splitlines():
        if line[0] == "+":
            place[line[1:]] = row
            row += 1
        else:
            place[line[1:]] = -1
    words = np.frombuffer(_FOLDER.joinpath("words.bin").read_bytes(), np.uint8)
    silent = np.frombuffer(_FOLDER.joinpath("silent.bin").read_bytes(), "<u4")
    return Meaning(place, vectors, float(about["scale"]), WordSet(words), frozenset(silent.tolist()))
