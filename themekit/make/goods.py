"""What a kit needs, and which jar, gel, box or supply of the shelf answers to it.

The rule is careful, because a wrong match buys too little: the same name first, then the
trade's other names for the same thing, then (small goods only) the words that name must
hold, without those that mean something else. Which one was taken is always told.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Literal

from themekit.errors import Problem, raise_all
from themekit.suggest.words import key_of
from themekit.values import Shelf, Supply

Of = Literal["supply", "jar", "gel", "box"]
Part = Literal["ingredients", "packaging"]


@dataclass(frozen=True, slots=True)
class Needed:
    """So much of one thing, waste included. `amount` None is not known; unit g, ml, piece or m.

    `expected` is what the batch will use on average, where `amount` was rounded up to pieces.
    """

    name: str
    amount: float | None
    unit: str
    for_what: str
    of: Of = "supply"
    part: Part = "ingredients"
    expected: float | None = None


@dataclass(frozen=True, slots=True)
class Stock:
    """One thing on the shelf. `price` buys `price_for` of its unit; None is not known.

    `pack_size` is what it is bought by. `others` are further things that would have done.
    """

    of: Of
    id: int
    name: str
    unit: str | None
    on_hand: Decimal | None
    pack_size: Decimal | None
    price: Decimal | None
    price_for: Decimal | None
    others: tuple[str, ...] = ()


#: Names for the same ingredient, the one recipes use first. Common practice, no source.
SAME: tuple[tuple[str, ...], ...] = (
    (
        "wheat flour", "plain wheat flour", "plain flour", "all-purpose flour", "all purpose wheat flour",
        "white flour", "flour",
    ),
    ("butter", "unsalted butter", "sweet cream butter"),
    ("sugar", "granulated sugar", "white sugar", "caster sugar", "castor sugar", "superfine sugar"),
    ("confectioners' sugar", "confectioner's sugar", "icing sugar", "powdered sugar"),
    ("egg", "whole egg", "hen's egg", "chicken egg"),
    ("milk", "whole milk", "full-fat milk", "semi-skimmed milk", "reduced-fat milk"),
    ("baking powder",),
    ("meringue powder",),
    # Plain "egg white" may be raw, so that it never answers to the pasteurised one.
    (
        "pasteurised egg white", "pasteurized egg white", "pasteurised white", "pasteurized white",
        "pasteurised liquid egg white", "pasteurized liquid egg white",
    ),
    ("vanilla extract",),
    ("salt", "fine salt", "table salt"),
    ("cream of tartar",),
)  # fmt: skip

#: Of small goods: sets of words, one of which the name must hold in full, the closest set
#: first, and words that mean another thing. Common practice, no source.
GOODS: dict[str, tuple[tuple[str, ...], str]] = {
    "piping bags": (("piping bag", "icing bag", "pastry bag"), "clip tie tip nozzle coupler"),
    "piping bag clips": (
        ("piping bag clip", "icing bag clip", "bag clip", "piping bag tie", "bag tie", "twist tie"), "",
    ),
    "cups": (("portion cup", "topping cup", "sprinkle cup", "cup"), "lid measuring baking muffin paper liner"),
    "cup lids": (("cup lid", "lid"), "box"),
    "sticks": (("decorating stick", "icing stick", "stick"), "cinnamon glue butter incense rolling"),
    "spoons": (("mini spoon", "small spoon", "spoon"), "measuring mixing serving"),
    "picks": (("pick", "toothpick", "scribe"), "flower cake"),
    "napkins": (("napkin",), "ring"),
    "gusset cookie bags": (
        ("gusset cookie bag", "gusset bag", "gusseted bag", "cookie bag"), "piping clip tie heat flat paper",
    ),
    "flat cookie bags": (("flat cookie bag", "cookie bag", "flat bag"), "piping clip tie gusset gusseted"),
    "bag ties": (("bag tie", "twist tie", "tie"), "piping icing neck cable"),
    "cards": (("direction card", "instruction card", "how to card", "card"), "gift thank birthday business price"),
    "stickers": (("sticker",), "ingredient label price"),
    "labels": (("ingredient label", "label"), "address jar price"),
    "paper filling": (("paper filling", "box filling", "shredded paper", "paper shred", "filling"), "cake jam"),
}  # fmt: skip

#: Words that change nothing about an ingredient, beside numbers: "flour, 5 kg bag".
_NEUTRAL = frozenset(("organic", "fresh", "large", "medium", "kg", "g", "lb", "oz", "l", "ml", "pack", "bag"))
#: g in 1 mL: cup or teaspoon weights of the USDA National Nutrient Database, Release 28 (nos.
#: 01145, 01124, 19335, 19336; salt 6.0, baking powder 4.6, cream of tartar 3.0, vanilla 4.2 g a
#: teaspoon), good to 7 %. A whole egg is taken for as dense as its white; milk is from memory.
_G_PER_ML = {
    "butter": "0.959", "egg": "1.027", "pasteurised egg white": "1.027", "milk": "1.03",
    "vanilla extract": "0.852", "sugar": "0.845", "confectioners' sugar": "0.507",
    "salt": "1.217", "baking powder": "0.933", "cream of tartar": "0.609",
}  # fmt: skip
#: g of one white, USDA Release 28 no. 01124; of a whole egg the baker's setting goes first.
_WHITE_G = Decimal(33)
EGG_G = 50.0

_GROUPS: dict[tuple[str, ...], tuple[str, ...]] = {key_of(name): group for group in SAME for name in group}
_WATER = key_of("water")


def is_water(name: str) -> bool:
    """Whether it is plain water, which is neither bought nor counted."""
    return key_of(name) == _WATER


def find(name: str, of: Of, shelf: Shelf) -> Stock | None:
    """What on the shelf answers to that name, or None.

    A gel that is not among the gels may be a kitchen staple, so the supplies are asked too.
    """
    wanted = key_of(name)
    if of == "jar":
        for jar in shelf.jars:
            if jar.name == name:
                return _by_weight("jar", jar.id, jar.name, jar.on_hand_g, jar.price_per_kg)
        return None
    if of == "box":
        for box in shelf.boxes:
            if box.name == name:
                one = Decimal(1)
                have = None if box.on_hand is None else Decimal(box.on_hand)
                return Stock("box", box.id, box.name, "piece", have, one, box.price, one)
        return None
    if of == "gel":
        for gel in shelf.gels:
            if gel.name == name:
                return _by_weight("gel", gel.id, gel.name, gel.on_hand_g, gel.price_per_kg)
    matched = _ranked(name, wanted, shelf.supplies)
    if not matched:
        return None
    first, *others = matched
    return _supply(first, tuple(s.name for s in others))


def converted(amount: Decimal, unit: str, to: str | None, name: str, egg_g: float = EGG_G) -> Decimal | None:
    """`amount` of the thing called `name` in another unit; None where nothing known links the two."""
    if unit == to:
        return amount
    grams_per = {"g": Decimal(1), "ml": _density(name), "piece": _piece_g(name, egg_g)}
    one, other = grams_per.get(unit), grams_per.get(to or "")
    return None if one is None or other is None else amount * one / other


def exact(amount: float, field: str) -> Decimal:
    """An amount of 0 or more in thousandths of its unit, rounded up; noise below 1e-9 is none."""
    if not 0 <= amount < 1e12:
        raise_all([Problem(field, str(amount), "0 or more, and finite", "Correct the amount.")])
    return Decimal(str(round(amount, 9))).quantize(Decimal("0.001"), ROUND_CEILING)


def canonical(name: str) -> str:
    """The recipe's own word for an ingredient, or the name as it is."""
    group = _GROUPS.get(key_of(name))
    return group[0] if group else name


def _ranked(name: str, wanted: tuple[str, ...], supplies: Iterable[Supply]) -> list[Supply]:
    """The supplies of the best rank that any reaches, by id."""
    group = [key_of(word) for word in _GROUPS.get(wanted, ())]
    goods = GOODS.get(name)
    best: dict[int, list[Supply]] = {}
    for supply in supplies:
        rank = _rank(supply, wanted, group, goods)
        if rank is not None:
            best.setdefault(rank, []).append(supply)
    return sorted(best[min(best)], key=lambda s: s.id) if best else []


def _rank(
    supply: Supply,
    wanted: tuple[str, ...],
    group: list[tuple[str, ...]],
    goods: tuple[tuple[str, ...], str] | None,
) -> int | None:
    """How closely a supply answers, 0 best; None when it does not."""
    name = key_of(supply.name)
    if name == wanted:
        return 0
    if goods:
        return None if supply.kind == "ingredient" else _goods_rank(set(name), key_of(supply.kind or ""), goods)
    plain = _plain(supply.name)
    if plain == wanted:
        return 1
    return 2 + group.index(plain) if plain in group else None


def _plain(name: str) -> tuple[str, ...]:
    """The key of an ingredient's name without neutral words; "sugar, icing" is read as icing sugar."""
    head, _, tail = name.partition(",")
    words = (*key_of(tail), *key_of(head))
    return tuple(w for w in words if w not in _NEUTRAL and not w[0].isdigit())


def _goods_rank(words: set[str], kind: tuple[str, ...], goods: tuple[tuple[str, ...], str]) -> int | None:
    sets, other = goods
    if words & set(key_of(other)):
        return None
    for place, phrase in enumerate(sets):
        if set(key_of(phrase)) <= words:
            return 2 + place
    # A kind as broad as "bag" names no one thing, so that it matches nothing.
    kinds = [key_of(phrase) for phrase in sets]
    return 2 + len(sets) + kinds.index(kind) if kind in kinds else None


def _supply(supply: Supply, others: tuple[str, ...]) -> Stock:
    size = None if not supply.pack_size else Decimal(str(supply.pack_size))
    have = None if supply.on_hand is None else Decimal(str(supply.on_hand))
    return Stock("supply", supply.id, supply.name, supply.unit, have, size, supply.pack_price, size, others)


def _by_weight(of: Of, number: int, name: str, grams: float | None, per_kg: Decimal | None) -> Stock:
    have = None if grams is None else Decimal(str(grams))
    return Stock(of, number, name, "g", have, None, per_kg, Decimal(1000))


def _density(name: str) -> Decimal | None:
    known = _G_PER_ML.get(canonical(name))
    return None if known is None else Decimal(known)


def _piece_g(name: str, egg_g: float) -> Decimal | None:
    known = {"egg": Decimal(str(egg_g)), "pasteurised egg white": _WHITE_G}
    return known.get(canonical(name))
