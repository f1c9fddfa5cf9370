"""A shelf's taste as JSON: what was said of ideas, and what it does to the weights."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from api.works import tastes_of
from catalog.store import Store
from themekit.suggest import weights as w
from themekit.suggest.taste import NO_TASTE, WORDS

Json = dict[str, Any]
#: So many of the latest choices are listed.
LATEST = 20


def taste_json(store: Store, shelf_id: int) -> Json:
    """Every weight as it is now beside its default, what themes went, and all of it in plain sentences."""
    tastes = tastes_of(store)
    counts, taste = tastes.counts(shelf_id), tastes.taste(shelf_id)
    default, now = (
        _weights(NO_TASTE.palette, NO_TASTE.trio, NO_TASTE.idea),
        _weights(taste.palette, taste.trio, taste.idea),
    )
    nothing = ["Nothing was said of any idea yet, so every weight is the default."]
    return {
        "choices": taste.n,
        "counts": counts,
        "trust": taste.trust,
        "weights": [
            {
                "scope": scope,
                "part": part,
                "about": WORDS[scope, part],
                "default": round(usual, 4),
                "now": round(now[scope, part], 4),
                "factor": round(now[scope, part] / usual, 4),
            }
            for (scope, part), usual in default.items()
        ],
        "themes": [
            {"theme": theme, "liking": liking}
            for theme, liking in sorted(taste.themes.items(), key=lambda one: (-one[1], one[0]))
        ],
        "told": list(taste.told) or nothing,
        "latest": tastes.list(shelf_id, 1, LATEST)[0],
    }


def _weights(palette: w.Parts, trio: w.Parts, idea: tuple[float, float, float]) -> dict[tuple[str, str], float]:
    found = {("palette", name): value for name, value in asdict(palette).items()}
    found |= {("trio", name): value for name, value in asdict(trio).items()}
    found |= {("idea", name): value for name, value in zip(("palette", "trio", "cutters"), idea, strict=True)}
    return {part: value for part, value in found.items() if value > 0}
