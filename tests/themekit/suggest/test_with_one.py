"""The best triple with one candidate given, against the search that requires it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from themekit.suggest.ideas import Suggester
from themekit.suggest.trios import TrioSearch

Ask = Callable[..., Suggester]


@pytest.mark.parametrize("text", ["owl party", "christmas in teal and gold", "rainbow"])
def test_it_is_the_first_of_the_required_search(suggester: Ask, text: str) -> None:
    """For every jar of the demo shelf, with and without a palette."""
    asked = suggester(text)
    labs = asked.palette_search().best(1)[0].labs
    free = asked.trio_search()
    for number, jar in enumerate(free.jars):
        palette = labs if number % 2 else None
        want = asked.trio_search(use=(jar.id,)).best(1, palette)[0]
        (got,) = free.best_with([jar.id], palette)
        assert [j.id for j in got.jars] == [j.id for j in want.jars]
        assert got.score == want.score
        assert got.parts == want.parts


def test_ties_go_to_the_first_of_equals(jar: Callable[..., object]) -> None:
    """Of jars alike in everything the earlier ones are taken."""
    jars = [jar(n, "#c0392b") for n in range(1, 41)]
    found = TrioSearch(jars, ()).best_with([30, 2])
    assert [[j.id for j in trio.jars] for trio in found] == [[1, 2, 30], [1, 2, 3]]


def test_a_jar_that_is_not_there_has_no_trio(suggester: Ask) -> None:
    """Needs may have ruled it out."""
    assert suggester("owl party").trio_search().best_with([10_000]) == []
