"""Fuzzing led by coverage: `python tests/fuzz/fuzz.py photo 300` for 300 seconds, or any other entry.

Needs the extra `fuzz`. It ends at the first input that is neither read nor refused in plain
words, takes more than 5 s or makes the program larger than 512 MB, and leaves it in a file.
"""

from __future__ import annotations

import faulthandler
import sys
import tempfile
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


def main() -> None:
    """Run one entry for some seconds, from its good inputs."""
    name, seconds = sys.argv[1], sys.argv[2]
    faulthandler.enable()
    with tempfile.TemporaryDirectory() as folder:
        for number, data in enumerate(entries.seeds(name)):
            (Path(folder) / str(number)).write_bytes(data)
        arguments = [
            sys.argv[0], folder, f"-max_total_time={seconds}", "-timeout=5", "-rss_limit_mb=512", "-seed=20261125",
            "-max_len=20000", "-print_final_stats=1",
        ]  # fmt: skip
        atheris.Setup(arguments, lambda data: entries.enter(name, data) and None)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
