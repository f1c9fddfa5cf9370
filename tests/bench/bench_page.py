"""The page on the demo shelf: weight, server time beside the API's, and whether anything moves as it loads.

Run: python tests/bench/bench_page.py [--quick]

Server times are medians of alternate rounds in one process, warm, as ratios: the page of
ideas to `POST /ideas` for the same three ideas, and a swapped jar on the table to that
call. Layout shift is what Chromium's own PerformanceObserver adds up (Layout Instability,
W3C WICG draft) with images and scripts loaded; `--quick` leaves the browser out.
"""

from __future__ import annotations

import re
import shutil
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from datetime import date
from functools import partial
from pathlib import Path
from urllib.parse import quote

from flask.testing import FlaskClient
from playwright.sync_api import sync_playwright
from werkzeug.serving import make_server

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from table import Row, main

from api.app import create_app
from catalog.demo import create_demo
from catalog.store import Store

TODAY = date(2026, 11, 25)
THEMES = ("woodland animals", "owls in teal and gold", "pirates", "strawberry", "night sky", "christmas")
ROUNDS = 7
PLACES = ("/", "/?theme=owl+party", "/shelf", "/shelf?what=cutters", "/shelf/jars/1", "/shelf/jars/new",
          "/shelf/jars/many", "/idle", "/season", "/orders", "/week", "/batches", "/reply")  # fmt: skip
SIZES = ((1200, 900), (360, 740))
# Every shift without a tap before it, from the first byte on.
OBSERVE = """
  window.moved = 0;
  const add = (one) => { if (!one.hadRecentInput) window.moved += one.value; };
  const seen = new PerformanceObserver((list) => list.getEntries().forEach(add));
  seen.observe({ type: "layout-shift", buffered: true });
"""


def weight(client: FlaskClient, address: str) -> tuple[int, int]:
    """Bytes of a page alone and with every style, script and icon that it names, nothing compressed."""
    page = client.get(address).data
    named = re.findall(r'(?:href|src)="(/static/[^"]+)"', page.decode())
    return len(page), len(page) + sum(len(client.get(one).data) for one in dict.fromkeys(named))


def ratios(first: Callable[[], object], second: Callable[[], object]) -> tuple[float, float]:
    """Median ms of both, taken by turns so that other work on the machine meets both."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(ROUNDS):
        for one, kept in zip((first, second), times, strict=True):
            start = time.perf_counter()
            one()
            kept.append(1000 * (time.perf_counter() - start))
    return statistics.median(times[0]), statistics.median(times[1])


def served(client: FlaskClient, themes: tuple[str, ...]) -> Iterator[Row]:
    """The page's weight and server time."""
    alone, whole = weight(client, "/?theme=" + quote(THEMES[1]))
    note = f"with styles and scripts {whole / 1000:.0f} kB"
    yield Row("page of ideas", alone / 1000, "kB", target=250, note=note)
    pages, swaps = [], []
    for theme in themes:
        address, body = "/?theme=" + quote(theme), {"theme": theme, "count": 3}
        text = client.get(address).get_data(as_text=True)
        assert client.post("/api/v1/ideas", json=body).status_code == 200
        pages.append(ratios(partial(client.get, address), partial(client.post, "/api/v1/ideas", json=body)))
        table = re.search(r'href="(/kit\?[^"]+)"', text)
        assert table is not None
        laid = client.get(table[1].replace("&amp;", "&")).get_data(as_text=True)
        found = re.search(r'id="swap-j0-1"[^>]*href="([^"]+)"|href="([^"]+)"[^>]*id="swap-j0-1"', laid)
        assert found is not None
        swap = (found[1] or found[2]).replace("&amp;", "&")
        client.get(swap)
        swaps.append(ratios(partial(client.get, swap), partial(client.post, "/api/v1/ideas", json=body)))
    for what, times, target in (("page of ideas, server time", pages, 1.5), ("a swapped jar", swaps, 2)):
        # The theme of the middle ratio stands for all.
        ours, call = sorted(times, key=lambda pair: pair[0] / pair[1])[len(times) // 2]
        yield Row(what, ours, "ms", "POST /ideas, three ideas", call, target)


def moved(app: object) -> Iterator[Row]:
    """How much moves while each place loads, wide and on a phone."""
    server = make_server("127.0.0.1", 0, app, threaded=True)  # type: ignore[arg-type]
    threading.Thread(target=server.serve_forever, daemon=True).start()
    chromium = shutil.which("chromium")
    found: dict[str, float] = {}
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        for width, height in SIZES:
            page = browser.new_page(viewport={"width": width, "height": height})
            page.add_init_script(OBSERVE)
            for place in PLACES:
                page.goto(f"http://127.0.0.1:{server.server_port}{place}", wait_until="load")
                page.wait_for_timeout(300)
                found[f"{place} {width}"] = page.evaluate("window.moved")
            page.close()
        browser.close()
    server.shutdown()
    note = ", ".join(f"{place}: {shift:.4f}" for place, shift in found.items() if shift)
    yield Row("layout shift while loading, the most", max(found.values()), size=f"{len(found)} places", unit="",
              target=0, note=note)  # fmt: skip


def rows(quick: bool) -> Iterator[Row]:
    """Weight, server time, and layout shift in a browser."""
    with tempfile.TemporaryDirectory() as folder:
        store = Store(f"sqlite:///{Path(folder) / 'bench.db'}")
        create_demo(store, TODAY)
        app = create_app(store, shelf="demo", today=lambda: TODAY)
        yield from served(app.test_client(), THEMES[:1] if quick else THEMES)
        if not quick:
            yield from moved(app)
        store.close()


if __name__ == "__main__":
    main(rows, __doc__)
