"""Fuzzing led by coverage: `python tests/fuzz/fuzz.py photo 300` for 300 seconds, or any other entry.

Needs the extra `fuzz`. It ends at the first input that is neither read nor refused in plain
words, takes more than 5 s or makes the program larger than 512 MB, and leaves it in a file.
"""

from __future__ import annotations

import faulthandler
import sys
import tempfile
import time
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parent))

with atheris.instrument_imports(include=["api", "catalog", "themekit", "openpyxl", "PIL"]):
    import entries
    import openpyxl  # noqa: F401
    import PIL.Image  # noqa: F401

    import catalog.bringing
    import catalog.sheets  # noqa: F401


def one(name: str, data: bytes) -> None:
    """One input: five seconds of the processor, where the alarm of thirty by the clock is for what hangs."""
    begun = time.process_time()
    entries.enter(name, data)
    assert time.process_time() - begun < 5, "too slow"


def main() -> None:
    """Run one entry for some seconds, from its good inputs."""
    name, seconds = sys.argv[1], sys.argv[2]
    faulthandler.enable()
    with tempfile.TemporaryDirectory() as folder:
        for number, data in enumerate(entries.seeds(name)):
            (Path(folder) / str(number)).write_bytes(data)
            # Libraries are loaded at the first use, which takes longer than an input may.
            entries.enter(name, data)
        arguments = [
            sys.argv[0], folder, f"-max_total_time={seconds}", "-timeout=30", "-rss_limit_mb=512",
            "-seed=20261125", "-max_len=20000", "-print_final_stats=1",
        ]  # fmt: skip
        atheris.Setup(arguments, lambda data: one(name, data))
        atheris.Fuzz()


if __name__ == "__main__":
    main()
