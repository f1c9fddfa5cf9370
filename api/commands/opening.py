"""Opening the shelf that a command works on, and putting a question to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from themekit.errors import InvalidValue, Problem

if TYPE_CHECKING:
    from catalog.store import ShelfRow, Store

Options = Mapping[str, Any]
Json = dict[str, Any]
#: Options that hold whole numbers, and those that are passed on as they are.
_NUMBERS, _WORDS = ("count", "kits", "cookies", "days"), ("serve", "light")
#: Needs of which several may be written into one option.
_LISTED = ("avoid_allergens", "avoid_additives")
_JARS = ("use_jars", "skip_jars")


@contextmanager
def opened(options: Options) -> Iterator[Store]:
    """The store that the options name, closed at the end."""
    from catalog.store import Store

    store = Store(options["database"])
    try:
        yield store
    finally:
        store.close()


def shelf_of(store: Store, name: str | None, today: date) -> ShelfRow:
    """The shelf of that name, or the only one there is; the demo shelf is made when it is named."""
    if is_demo(name):
        from catalog.demo import create_demo

        return create_demo(store, today)
    return store.shelf_named(name)


def is_demo(name: str | None) -> bool:
    """Whether that is the name of the demo shelf."""
    from catalog.fields import name_key
    from catalog.store import DEMO

    return name is not None and name_key(name.strip()) == DEMO


@dataclass(frozen=True, slots=True)
class Asking:
    """One command's options against the shelf that it works on."""

    store: Store
    shelf: ShelfRow
    options: Options
    today: date

    def body(self, **fields: Any) -> Json:
        """The fields, and every option that was given, as the service would get them."""
        from api.bodies import NEEDS, number_in

        body = {name: value for name, value in fields.items() if value}
        for name in _NUMBERS:
            if self.options.get(name) is not None:
                body[name] = number_in(self.options[name].strip())
        body |= {name: self.options[name] for name in _WORDS if self.options.get(name) is not None}
        needs = {name: self._need(name) for name in NEEDS if self.options.get(name)}
        return body | ({"needs": needs} if needs else {})

    def ask(self, question: Callable[..., Json], *arguments: Any) -> Json:
        """Put a question; jars that were not found are told by the names that are."""
        try:
            return question(self.store, self.shelf.id, *arguments)
        except InvalidValue as error:
            raise InvalidValue(error.message, [self._told(p) for p in error.problems]) from error

    def jar_names(self) -> dict[int, str]:
        """The shelf's jars by id."""
        return {jar.id: jar.name for jar in self.store.read(self.shelf.id).jars}

    def _need(self, name: str) -> Any:
        from api.bodies import number_in

        value = self.options[name]
        if name in _JARS:
            return self._jar_ids(value)
        if name in _LISTED:
            return [part.strip() for one in value for part in one.split(",")]
        if isinstance(value, tuple):
            return list(value)
        return number_in(value.strip()) if name == "youngest_age" else value

    def _jar_ids(self, given: Sequence[str]) -> list[Any]:
        """Ids of the jars named; what is no jar's name is passed on, as the id it may be."""
        from api.bodies import number_in
        from catalog.fields import name_key

        ids = {name_key(name): id for id, name in self.jar_names().items()}
        return [ids.get(name_key(one.strip()), number_in(one.strip())) for one in given]

    def _told(self, problem: Problem) -> Problem:
        of_jar = any(problem.field.startswith(f"needs.{name}.") for name in _JARS)
        if not of_jar or not isinstance(problem.got, str):
            return problem
        names = {name.casefold(): name for name in self.jar_names().values()}
        near = [names[key] for key in get_close_matches(problem.got.casefold()[:120], names, n=3, cutoff=0.5)]
        hint = (
            f"Did you mean “{'” or “'.join(near)}”?" if near else "The shelf's jars are listed by themekit export."
        )
        return Problem(problem.field, problem.got, "the name or id of a jar on this shelf", hint)


@contextmanager
def asking(options: Options) -> Iterator[Asking]:
    """A shelf opened for a question, closed at the end."""
    today = date.today()
    with opened(options) as store:
        yield Asking(store, shelf_of(store, options["shelf"], today), options, today)
