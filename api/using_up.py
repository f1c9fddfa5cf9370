"""The question how chosen jars are used up; like `api.questions`."""

from __future__ import annotations

from datetime import date
from typing import Any

from api import answers
from api.answers import Json
from api.bodies import Body
from api.works import settings_of
from catalog import lexicon as built_in
from catalog.lookup import LARGEST_ID
from catalog.store import Store
from catalog.taste import Tastes
from themekit.colour.names import names_of
from themekit.season.use_up import MOST_CHOSEN, UseUp
from themekit.season.use_up import use_up as core_use_up


def use_up(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """The fewest kits or blends that bring {"jars": [ids]} to zero, each above the quality floor.

    Raises `InvalidValue` with every jar that cannot be planned for.
    """
    checked = Body(body, ("jars",))
    given = checked.raw.get("jars")
    ids: list[int] = []
    if not isinstance(given, list | tuple) or not 1 <= len(given) <= MOST_CHOSEN:
        got = given if not isinstance(given, list | tuple) else f"a list of {len(given)}"
        checked.checks.wrong(
            "jars", got, f"a list of 1 to {MOST_CHOSEN} ids of jars", "Choose the most idle ones."
        )
    else:
        for number, one in enumerate(given):
            if isinstance(one, bool) or not isinstance(one, int) or not 1 <= one <= LARGEST_ID:
                allowed = "the id of a jar, a whole number from 1"
                checked.checks.wrong(f"jars.{number}", one, allowed, "Look the id up in the list of jars.")
            else:
                ids.append(one)
    checked.done()
    shelf, record = store.read(shelf_id), store.shelf_record(shelf_id)
    lexicon, taste = built_in.lexicon(), Tastes(store).taste(shelf_id)
    plan = core_use_up(ids, shelf, lexicon, today, settings_of(record["settings"], None), taste=taste)
    names = names_of(lexicon.colour_basics)
    return {
        "kits": plan.kits,
        "suggestions": [
            {
                "theme": one.theme.name,
                "kits": one.kits,
                "trio": answers.trio_facts(one.trio, names),
                "of_best": one.of_best,
                "takes": [{"jar": jar.id, "name": jar.name, "grams": grams} for jar, grams in one.takes],
            }
            for one in plan.suggestions
        ],
        "rests": [
            {"jar": rest.jar.id, "name": rest.jar.name, "grams": rest.grams, "cups": rest.cups}
            for rest in plan.rests
        ],
        "optimal": plan.optimal,
        "status": plan.status,
        "message": plan.message,
        "gap": plan.gap,
        "candidates": plan.candidates,
        "notes": _notes(plan),
    }


def _notes(plan: UseUp) -> list[str]:
    notes = ["Used up means that less than one cup is left: strew it over the last kits."]
    notes += [
        f"{rest.jar.name} keeps {rest.cups} cups: nothing else on the shelf that suits it holds enough."
        for rest in plan.rests
        if rest.cups
    ]
    return notes
