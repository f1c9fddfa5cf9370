"""POST /ideas on 300 jars, 60 cutters and 14 gels, five ideas, warm, beside what it is made of.

Run: python tests/bench/bench_ideas.py

Prints medians and ratios of one run: the whole request, the engine calls it makes (the
same searches, called alone), an empty route of the same service, and the same request to
a shelf that has learned from sixty choices.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
from flask.testing import FlaskClient

from api.app import create_app
from catalog.demo import create_demo
from catalog.lexicon import lexicon
from catalog.store import Store
from catalog.taste import Tastes
from themekit.suggest.asked import ask
from themekit.suggest.ideas import Idea, Suggester
from themekit.suggest.palettes import PaletteSearch
from themekit.suggest.trios import TrioSearch

TODAY = date(2026, 11, 25)
THEMES = ("woodland animals", "owls in teal and gold", "paris", "strawberry", "night sky", "safari in earth tones")
ROUNDS = 5


def shelf_of(store: Store, jars: int) -> int:
    """A shelf grown from the demo shelf: jars with shifted colours until there are so many."""
    demo = create_demo(store, TODAY)
    records = store.records(demo.id)
    draw = np.random.default_rng(7)
    more = []
    for number in range(jars):
        jar = dict(records["jars"][number % len(records["jars"])])
        colours = []
        for colour in jar["colours"]:
            lab = np.array(colour["lab"]) + draw.normal(0, 6, 3) * (number >= len(records["jars"]))
            colours.append(
                {"lab": [float(np.clip(lab[0], 5, 97)), float(lab[1]), float(lab[2])], "share": colour["share"]}
            )
        more.append(jar | {"name": f"jar {number}", "colours": colours})
    made = store.create_shelf("bench", records={**records, "jars": more, "cutters": records["cutters"][:60]})
    return made.id


def median_ms(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


def teach(client: FlaskClient) -> int:
    """Keep ideas of much contrast, pass over the others; returns how many choices there are."""
    count = 0
    for theme in THEMES:
        for idea in client.post("/api/v1/ideas", json={"theme": theme, "count": 10}).json["ideas"]:
            kept = idea["palette"]["parts"]["contrast"] > 0.6
            body = {"what": "kept" if kept else "passed over", "idea": idea, "theme": theme}
            count = client.post("/api/v1/taste", json=body).json["choices"]
    return count


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        store = Store(f"sqlite:///{Path(folder) / 'bench.db'}")
        shelf_id = shelf_of(store, 300)
        app = create_app(store, shelf="bench", today=lambda: TODAY)
        client = app.test_client()
        shelf, words = store.read(shelf_id), lexicon()
        whole, engine = [], []
        for theme in THEMES:
            body = {"theme": theme, "count": 5}
            assert client.post("/api/v1/ideas", json=body).status_code == 200  # warm
            whole.append(median_ms(lambda body=body: client.post("/api/v1/ideas", json=body)))
            suggester = Suggester(ask(theme, shelf, words), shelf, words, TODAY)
            found = suggester.ideas(5).ideas
            palettes, trios = suggester.palette_search(), suggester.trio_search()

            def calls(
                palettes: PaletteSearch = palettes, trios: TrioSearch = trios, found: tuple[Idea, ...] = found
            ) -> None:
                for at, idea in enumerate(found):
                    palettes.best(1, [i.palette.palette for i in found[:at]])
                    trios.best(1, idea.palette.palette.labs, [i.trio.trio for i in found[:at]])

            engine.append(median_ms(calls))
        taught_id = store.create_shelf("taught", records=store.records(shelf_id)).id
        taught = create_app(store, shelf="taught", today=lambda: TODAY).test_client()
        choices = teach(taught)
        learned = []
        for theme in THEMES:
            body = {"theme": theme, "count": 5}
            times = []
            for one in (taught, client):
                assert one.post("/api/v1/ideas", json=body).status_code == 200
                times.append(median_ms(lambda one=one, body=body: one.post("/api/v1/ideas", json=body)))
            learned.append(times[0] / times[1])
        tastes = Tastes(store)
        known = median_ms(lambda: tastes.taste(taught_id))
        empty = median_ms(lambda: client.get("/api/v1/health"))
        asked, made = statistics.median(whole), statistics.median(engine)
        print(f"POST /ideas, 300 jars, 60 cutters, 14 gels, five ideas: {asked:.0f} ms, median of {len(THEMES)}")
        print(f"engine calls alone: {made:.0f} ms; whole / engine = {asked / made:.2f} (target at most 2)")
        ratio = statistics.median(learned)
        print(f"with a taste of {choices} choices: {ratio:.2f} times without, reading it {known:.2f} ms of that")
        print(f"an empty route (health): {empty:.2f} ms; whole / empty = {asked / empty:.0f}")
        store.close()


if __name__ == "__main__":
    main()
