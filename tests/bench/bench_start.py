"""A cold `themekit ideas` against the time to import the libraries that it needs.

    python tests/bench/bench_start.py

Each is a process of its own, timed from outside, in turn; medians. The libraries are
those outside the standard library of which the command imports anything, found by asking
it. Compiled files are kept, as an installed package has them; the database is up to date.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from table import Row, main

ROUNDS = 15
COMMAND = ("-m", "api.commands.main", "ideas", "owl party", "--shelf", "demo")
#: Modules of the libraries that are imported in one process; named by what our code imports.
LIBRARIES = (
    "click",
    "numpy",
    "platformdirs",
    "sqlalchemy",
    "sqlalchemy.orm",
    "sqlalchemy.dialects.sqlite.pysqlite",
)
_OURS = ("api", "catalog", "themekit", "__main__")
_FOUND = (
    "import sys\nfrom api.commands.main import run\nrun(['ideas', 'owl party', '--shelf', 'demo'])\n"
    "found = {name.partition('.')[0] for name in sys.modules} - set(sys.stdlib_module_names)\n"
    f"print(*sorted(name for name in found - set({_OURS!r}) if name[0] != '_'), file=sys.stderr)\n"
)
_STAGES = """
import sys, time
from datetime import date
times = [("", time.perf_counter())]
def mark(what):
    times.append((what, time.perf_counter()))
import {libraries}
mark("libraries")
from api import questions
from catalog.store import Store
from catalog import lexicon
from themekit.suggest.asked import ask
from themekit.suggest.ideas import Suggester
mark("own modules")
store = Store(sys.argv[1])
shelf = store.read(store.shelf_named("demo").id)
mark("shelf read")
known = lexicon.lexicon()
mark("lexicon")
asked = ask("owl party", shelf, known)
mark("phrase")
suggester = Suggester(asked, shelf, known, date.today())
suggester.tints()
mark("tints")
suggester.ideas(5)
mark("five ideas")
for (_, start), (what, end) in zip(times, times[1:]):
    print(what, end - start)
"""


def run(environment, *arguments):
    """Seconds of one process, and what it wrote to stdout and stderr."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, *arguments], env=environment, capture_output=True, text=True, check=True
    )
    return time.perf_counter() - start, done


def rows(quick):
    """The command against its imports, and the stages of it."""
    with tempfile.TemporaryDirectory() as folder:
        kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "THEMEKIT_"))}
        url = f"sqlite:///{folder}/shelf.db"
        environment = kept | {"PYTHONPYCACHEPREFIX": f"{folder}/compiled", "THEMEKIT_DATABASE": url,
                              "PYTHONPATH": str(Path(__file__).parents[2])}  # fmt: skip
        imports = ("-c", f"import {', '.join(LIBRARIES)}")
        stages = ("-c", _STAGES.format(libraries=", ".join(LIBRARIES)), url)
        for arguments in (COMMAND, imports, stages):
            run(environment, *arguments)
        _, found = run(environment, "-c", _FOUND)
        command, libraries, parts = [], [], {}
        for _ in range(2 if quick else ROUNDS):
            command.append(1000 * run(environment, *COMMAND)[0])
            libraries.append(1000 * run(environment, *imports)[0])
            for line in run(environment, *stages)[1].stdout.splitlines():
                what, _, seconds = line.rpartition(" ")
                parts.setdefault(what, []).append(1000 * float(seconds))
        ours, theirs = statistics.median(command), statistics.median(libraries)
        note = f"imports {found.stderr.strip()}"
        yield Row("themekit ideas, cold", ours, "ms", "importing its libraries", theirs, 1.5, note=note)
        for what, spent in parts.items():
            yield Row(f"of that: {what}", statistics.median(spent), "ms", "importing its libraries", theirs)


if __name__ == "__main__":
    main(rows, __doc__)
