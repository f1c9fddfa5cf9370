"""The questions a baker asks, from a plain body to the answer as a JSON dict.

The service and the command line both call these, so both give the very same answer. A
body is what the service takes as JSON; fields that are left out have their defaults.
Every function may raise `InvalidValue` with all problems of the body, `NotFound` or
`StoreUnusable` besides what it names.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from api import answers
from api.answers import Json
from api.bodies import USUAL_COUNT, USUAL_DAYS, USUAL_IDLE, Body, nothing_left
from catalog import lexicon as built_in
from catalog.store import Store
from catalog.taste import Tastes
from themekit.colour.names import Names, names_of
from themekit.colour.space import hex_to_lab
from themekit.errors import NeedConflict, ThemeNotUnderstood
from themekit.suggest.asked import Asked, ask, require_theme
from themekit.suggest.ideas import Suggester, ToldPalette
from themekit.suggest.idle import MOST_JARS, idle_jars
from themekit.suggest.needs import relax_hints
from themekit.suggest.palettes import Palette, score_colours
from themekit.suggest.reasons import light_reason, palette_reasons
from themekit.suggest.taste import Taste
from themekit.suggest.weights import QUALITY_FLOOR
from themekit.values import Anchor, Lexicon, Shelf

#: What each question's body may hold.
FIELDS: dict[str, tuple[str, ...]] = {
    "read_theme": ("text",),
    "palettes": ("theme", "count", "needs", "kits", "light"),
    "score_palette": ("colours", "theme"),
    "trios": ("theme", "palette", "count", "serve", "needs", "kits"),
    "ideas": ("theme", "count", "kits", "needs", "cookies", "serve"),
    "idle": ("days", "count"),
}


@dataclass(frozen=True, slots=True)
class _Asking:
    """A question read against a shelf."""

    asked: Asked
    shelf: Shelf
    lexicon: Lexicon
    store: Store

    @property
    def names(self) -> Names:
        return names_of(self.lexicon.colour_basics)

    @property
    def taste(self) -> Taste:
        """What the shelf's choices tell."""
        return Tastes(self.store).taste(self.shelf.id)

    def suggester(self, today: date) -> Suggester:
        return Suggester(self.asked, self.shelf, self.lexicon, today, self.taste)


def _read(store: Store, shelf_id: int, body: Body, text: str) -> _Asking:
    """Check what is left of a body and read its text; raises every problem of the body."""
    needs, kits, cookies = body.needs(), body.maybe_whole("kits"), body.maybe_whole("cookies")
    body.done()
    shelf, lexicon = store.read(shelf_id), built_in.lexicon()
    return _Asking(ask(text, shelf, lexicon, needs, kits, cookies), shelf, lexicon, store)


def read_theme(store: Store, shelf_id: int, body: Any) -> Json:
    """What {"text"} means: anchors, motifs and needs, from what and how surely.

    A phrase without meaning is no error here: it has no anchors, and `hint` asks for colours.
    """
    checked = Body(body, FIELDS["read_theme"])
    asking = _read(store, shelf_id, checked, checked.text("text"))
    return {
        **answers.reading(asking.asked.reading, asking.names),
        "needs": answers.applied_needs(asking.asked, asking.shelf),
        "order": answers.order_facts(asking.asked),
        "hint": _hint(asking.asked),
    }


def palettes(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """Palettes for {"theme", "count"?, "needs"?, "kits"?, "light"?}, each apart from those before it.

    With a light each also tells how its colours look under it, so far as one swatch tells.
    Raises `ThemeNotUnderstood`, `TooFewCandidates` or `NeedConflict`.
    """
    checked = Body(body, FIELDS["palettes"])
    text, count, light = checked.text("theme"), checked.whole("count", USUAL_COUNT), checked.light()
    asking = _read(store, shelf_id, checked, text)
    require_theme(asking.asked)
    suggester = asking.suggester(today)
    search = suggester.palette_search()
    found = search.diverse(count)
    _some(found, "palettes", suggester)
    unreached = search.unreached(asking.names)
    first = [u.sentence() for u in suggester.allowed.unmet]
    return {
        **answers.told_first(asking.asked, suggester.allowed, asking.shelf, asking.names),
        "unreached": answers.unreached(unreached),
        "palettes": [answers.palette(_lit(suggester.told_palette(p, unreached), light), first) for p in found],
        "notes": _notes("palette", len(found), count, asking.asked),
    }


def score_palette(store: Store, shelf_id: int, body: Any) -> Json:
    """What the tool makes of {"colours": [hex × 3], "theme"?}. Raises `ThemeNotUnderstood`."""
    checked = Body(body, FIELDS["score_palette"])
    colours = checked.three_colours("colours")
    asking = _read(store, shelf_id, checked, checked.text("theme") if checked.has("theme") else "")
    anchors: tuple[Anchor, ...] = ()
    theme = None
    if checked.has("theme"):
        require_theme(asking.asked)
        anchors = asking.asked.reading.anchors
        theme = answers.reading(asking.asked.reading, asking.names)
    scored = answers.named(score_colours(hex_to_lab(colours), anchors, asking.taste.palette), asking.names)
    return {"theme": theme, **answers.scored_colours(scored, palette_reasons(scored, anchors))}


def trios(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """Trios for {"theme" or "palette": [hex × 3], "count"?, "serve"?, "needs"?, "kits"?}.

    A palette's three colours are its anchors, a third each. No two trios share more than
    one jar. Raises `ThemeNotUnderstood`, `TooFewCandidates` or `NeedConflict`.
    """
    checked = Body(body, FIELDS["trios"])
    checked.one_of("theme", "palette")
    colours = checked.three_colours("palette") if checked.has("palette") else []
    text = checked.text("theme") if checked.has("theme") else ""
    count, serve = checked.whole("count", USUAL_COUNT), checked.serve()
    asking = _read(store, shelf_id, checked, text)
    if not colours:
        require_theme(asking.asked)
    suggester = asking.suggester(today)
    own, anchors = _own_palette(colours, asking.names) if colours else (None, suggester.anchors)
    found = suggester.trio_search(anchors if colours else None).diverse(
        count, None if own is None else own.labs, serve
    )
    _some(found, "trios", suggester)
    first = [u.sentence() for u in suggester.allowed.unmet]
    told = [suggester.told_trio(t, own, anchors) for t in found]
    return {
        **answers.told_first(asking.asked, suggester.allowed, asking.shelf, asking.names),
        "palette": None if own is None else answers.colours(own),
        "trios": [answers.trio(t, asking.names, first) for t in told],
        "notes": _notes("trio", len(found), count, asking.asked),
    }


def ideas(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """Ideas for {"theme", "count"?, "kits"?, "needs"?, "cookies"?, "serve"?}.

    Raises `ThemeNotUnderstood`, `TooFewCandidates` or `NeedConflict`.
    """
    checked = Body(body, FIELDS["ideas"])
    text, count, serve = checked.text("theme"), checked.whole("count", USUAL_COUNT), checked.serve()
    asking = _read(store, shelf_id, checked, text)
    suggester = asking.suggester(today)
    answer = suggester.ideas(count, serve)
    _some(answer.ideas, "ideas", suggester)
    return answers.ideas(answer, asking.shelf, asking.names, store.shelf(shelf_id).currency)


def idle(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """The jars that nothing has used for {"days"?}, or that will date unused, at most {"count"?}.

    The rate of use is the ledger's; the days ahead are those of the shelf's place.
    """
    # Only here, so that other questions need not wait for the calendar.
    from catalog.calendar import coming
    from catalog.usage import use_rates

    checked = Body(body, FIELDS["idle"])
    days, count = checked.whole("days", USUAL_DAYS), checked.whole("count", USUAL_IDLE, MOST_JARS)
    checked.done()
    lexicon, shelf, row = built_in.lexicon(), store.read(shelf_id), store.shelf(shelf_id)
    ahead = coming(row.region, today, (*shelf.themes, *lexicon.themes))
    named = tuple(dict.fromkeys(event.theme for event in ahead if event.theme))
    rates, taste = use_rates(store, shelf_id, today), Tastes(store).taste(shelf_id)
    found = idle_jars(shelf, lexicon, today, days, count, rates, named, taste)
    names = names_of(lexicon.colour_basics)
    return {
        "days": days,
        "currency": row.currency,
        "ahead": [{"date": e.day.isoformat(), "name": e.name, "theme": e.theme} for e in ahead],
        "at_risk": answers.at_risk(found),
        "items": [answers.idle_jar(one, names) for one in found],
    }


def _lit(told: ToldPalette, light: str | None) -> ToldPalette:
    """A palette that also tells how it looks under a light."""
    return replace(told, reasons=(*told.reasons, light_reason(told.palette, light))) if light else told


def _own_palette(colours: Sequence[str], names: Names) -> tuple[Palette, tuple[Anchor, ...]]:
    """Three colours of her own as a palette and as anchors, a third each."""
    own = answers.named(score_colours(hex_to_lab(list(colours)), ()), names)
    return own, tuple(Anchor(t.lab, 1 / 3, t.name) for t in own.tints)


def _hint(asked: Asked) -> str | None:
    """What to do about a phrase of which little or nothing was understood."""
    try:
        require_theme(asked)
    except ThemeNotUnderstood as error:
        return error.problems[0].hint
    if asked.reading.fallback:
        return "Little of this was understood. Name two or three colours to make it surer."
    return None


def _some(found: Sequence[object], what: str, suggester: Suggester) -> None:
    """Raise `NeedConflict` when needs that can each be met leave nothing together."""
    if not found:
        ruled_out = suggester.allowed.ruled_out
        hint = relax_hints(ruled_out) if ruled_out else "Take an included colour or a jar to use out."
        raise NeedConflict(f"No {what} meet all the needs together.", [nothing_left(f"0 {what}", hint)])


def _notes(what: str, found: int, count: int, asked: Asked) -> list[str]:
    notes = []
    if asked.reading.unknown:
        told = ", ".join(f"“{word}”" for word in asked.reading.unknown)
        notes.append(f"Not understood: {told}. Name colours or things to see to make up for it.")
    if found < count:
        notes.append(
            f"{found} {what}{'s' * (found != 1)} instead of {count}: further ones would be near copies "
            f"or fall below {QUALITY_FLOOR:.0%} of the best score."
        )
    return notes
