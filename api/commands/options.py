"""Options that several commands share. They pass on text; the questions check it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])


def together(*decorators: Callable[[F], F]) -> Callable[[F], F]:
    """Several options as one decorator, in the order of help."""

    def add(function: F) -> F:
        for decorator in reversed(decorators):
            function = decorator(function)
        return function

    return add


PLACE: Callable[[F], F] = together(
    click.option(
        "--shelf", metavar="NAME", envvar="THEMEKIT_SHELF", help="The shelf to use, if there are several."
    ),
    click.option(
        "--database",
        metavar="URL",
        envvar="THEMEKIT_DATABASE",
        help="Where the shelves are kept, if not in your data folder.",
    ),
    click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON."),
)
TEXT: Callable[[F], F] = click.argument("text", nargs=-1)
COUNT: Callable[[F], F] = click.option(
    "--count", metavar="N", help="How many suggestions, 1 to 20; 5 unless told."
)
KITS: Callable[[F], F] = click.option("--kits", metavar="N", help="For how many kits; 1 unless told.")
COOKIES: Callable[[F], F] = click.option("--cookies", metavar="N", help="Cookies in a kit; 8 unless told.")
SERVE: Callable[[F], F] = click.option(
    "--serve", metavar="apart|mixed", help="Toppings in three cups, or mixed as one blend."
)
LIGHT: Callable[[F], F] = click.option(
    "--light", metavar="LIGHT", help="Also look under a “warm bulb”, a “warm led” or a “shop tube”."
)
SCORES: Callable[[F], F] = click.option("--scores", is_flag=True, help="Show the parts of each score, 0 to 1.")
FULL: Callable[[F], F] = click.option(
    "--full", is_flag=True, help="Tell all reasons, and the cautions with their sources."
)
PICTURE: Callable[[F], F] = click.option(
    "--picture", metavar="FILE", help="Also draw each suggestion into FILE.svg, numbered if there are several."
)
WHAT: Callable[[F], F] = click.option(
    "--what", metavar="jars|cutters|…", help="What the one CSV holds, if its name does not tell."
)
_NEEDS = (
    ("--avoid", "avoid_allergens", "ALLERGEN", "An allergen to avoid; repeat it for more."),
    ("--avoid-additive", "avoid_additives", "NAME", "An additive to avoid, such as E129; repeat it for more."),
    ("--age", "youngest_age", "YEARS", "Age of the youngest child."),
    ("--diet", "diet", "vegan|vegetarian", "The diet to keep."),
    ("--use", "use_jars", "JAR", "A jar to use up, by name or id; repeat it for more."),
    ("--skip", "skip_jars", "JAR", "A jar to leave out, by name or id; repeat it for more."),
    ("--include", "include_colours", "HEX", "A colour that the icing must have; repeat it for more."),
    ("--without", "avoid_colours", "HEX", "A colour that nothing may have; repeat it for more."),
)
NEEDS: Callable[[F], F] = together(
    *(
        click.option(flag, name, metavar=metavar, multiple=name not in ("youngest_age", "diet"), help=told)
        for flag, name, metavar, told in _NEEDS
    ),
    click.option("--in-stock", "in_stock_only", is_flag=True, help="Only jars that hold enough for all kits."),
)
