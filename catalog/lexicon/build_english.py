"""List the English words that the word vectors leave out, so that none is taken for a typo.

Source: WordNet 3.0 (Princeton University), the lemmas of its index files and their irregular
forms, of one word in plain letters; only the machine's own copy (Debian's wordnet-base) is
needed:

    python -m catalog.lexicon.build_english [--wordnet FOLDER]
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from catalog.lexicon.build_words import HERE

_PARTS = ("noun", "verb", "adj", "adv")
#: Shorter words are never mended.
_PLAIN = re.compile(r"[a-z]{4,}")


def english_words(wordnet: Path) -> list[str]:
    """Every plain word of WordNet with four letters and more, sorted."""
    files = [wordnet / f"index.{part}" for part in _PARTS] + [wordnet / f"{part}.exc" for part in _PARTS]
    words = {
        line.split(" ", 1)[0]
        for file in files
        for line in file.read_text("latin-1").splitlines()
        if not line.startswith(" ")
    }
    return sorted(word for word in words if _PLAIN.fullmatch(word))


def main() -> None:
    """Write english.txt."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--wordnet", type=Path, default=Path("/usr/share/wordnet"))
    known = set((HERE / "vectors" / "words.txt").read_text("utf-8").splitlines())
    words = [word for word in english_words(parser.parse_args().wordnet) if word not in known]
    (HERE / "english.txt").write_text("\n".join(words) + "\n", "utf-8")


if __name__ == "__main__":
    main()
