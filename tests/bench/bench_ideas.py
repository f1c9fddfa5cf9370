"""POST /ideas on 300 jars, 60 cutters and 14 gels, five ideas, warm, beside what it is made of.

Run: python tests/bench/bench_ideas.py

Medians of one run: the whole request, the engine calls it makes (the same searches, called
alone), an empty route of the same service, the same request to a shelf that has learned from
sixty choices, and to shelves of more jars.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
from flask.testing import FlaskClient

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from table import Row, main, median_ms

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


def shelf_of(store: Store, jars: int, name: str = "bench") -> int:
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
    made = store.create_shelf(name, records={**records, "jars": more, "cutters": records["cutters"][:60]})
    return made.id


def teach(client: FlaskClient) -> int:
    """Keep ideas of much contrast, pass over the others; returns how many choices there are."""
    count = 0
    for theme in THEMES:
        for idea in client.post("/api/v1/ideas", json={"theme": theme, "count": 10}).json["ideas"]:
            kept = idea["palette"]["parts"]["contrast"] > 0.6
            body = {"what": "kept" if kept else "passed over", "idea": idea, "theme": theme}
            count = client.post("/api/v1/taste", json=body).json["choices"]
    return count


def rows(quick: bool) -> Iterator[Row]:
    """A whole request on 300 jars against its parts, and its growth from 100 jars on."""
    themes, rounds = (THEMES[:1], 1) if quick else (THEMES, ROUNDS)
    with tempfile.TemporaryDirectory() as folder:
        store = Store(f"sqlite:///{Path(folder) / 'bench.db'}")
        shelf_id = shelf_of(store, 300)
        client = create_app(store, shelf="bench", today=lambda: TODAY).test_client()
        shelf, words = store.read(shelf_id), lexicon()

        def asked(client: FlaskClient, theme: str) -> float:
            body = {"theme": theme, "count": 5}
            assert client.post("/api/v1/ideas", json=body).status_code == 200
            return median_ms(lambda: client.post("/api/v1/ideas", json=body), rounds)

        whole, engine = [], []
        for theme in themes:
            whole.append(asked(client, theme))
            suggester = Suggester(ask(theme, shelf, words), shelf, words, TODAY)
            found = suggester.ideas(5).ideas
            palettes, trios = suggester.palette_search(), suggester.trio_search()

            def calls(
                palettes: PaletteSearch = palettes, trios: TrioSearch = trios, found: tuple[Idea, ...] = found
            ) -> None:
                for at, idea in enumerate(found):
                    palettes.best(1, [i.palette.palette for i in found[:at]])
                    trios.best(1, idea.palette.palette.labs, [i.trio.trio for i in found[:at]])

            engine.append(median_ms(calls, rounds))
        what, ms = "POST /ideas, five ideas", statistics.median(whole)
        yield Row(what, ms, "ms", "its engine calls alone", statistics.median(engine), 2, size="300 jars")
        empty = median_ms(lambda: client.get("/api/v1/health/alive"), 20 * rounds)
        yield Row(what, ms, "ms", "an empty route", empty, size="300 jars")
        taught_id = store.create_shelf("taught", records=store.records(shelf_id)).id
        taught = create_app(store, shelf="taught", today=lambda: TODAY).test_client()
        choices = teach(taught)
        both = [(asked(taught, theme), asked(client, theme)) for theme in themes]
        with_, without = (statistics.median(one) for one in zip(*both, strict=True))
        tastes = Tastes(store)
        known = median_ms(lambda: tastes.taste(taught_id), rounds)
        note = f"{choices} choices; reading them {known:.1f} ms"
        yield Row(f"{what}, with a learned taste", with_, "ms", "without", without, size="300 jars", note=note)
        for jars in (100, 300) if quick else (100, 300, 1_000, 3_000):
            shelf_of(store, jars, f"{jars} jars")
            grown = create_app(store, shelf=f"{jars} jars", today=lambda: TODAY).test_client()
            yield Row(what, asked(grown, themes[0]), "ms", "on 300 jars", whole[0], size=f"{jars:,} jars")
        store.close()


if __name__ == "__main__":
    main(rows, __doc__)
