"""Load the distilled word vectors; NOTICE beside them names origin and licence."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from io import BytesIO

import numpy as np

from themekit.suggest.meaning import Meaning

_FOLDER = files(__package__).joinpath("vectors")


@cache
def load_meaning() -> Meaning:
    """The built-in word meaning, read once per process."""
    vectors = np.load(BytesIO(_FOLDER.joinpath("vectors.npy").read_bytes()), allow_pickle=False)
    words = _FOLDER.joinpath("words.txt").read_text("utf-8").splitlines()
    return Meaning(dict(zip(words, range(len(vectors)), strict=True)), vectors)
