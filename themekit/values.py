"""The plain frozen values that the rooms exchange.

Colours are CIELAB under D65 and the 2° observer. Masses are grams, lengths mm,
doses g per 100 g of icing. `None` always means "not known", never "none":
an empty tuple is what says "entered as none".
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from themekit.suggest.meaning import Meaning

Lab = tuple[float, float, float]
Diet = Literal["vegan", "vegetarian", "neither"]

#: Allergens by the words of the US nine and the EU/UK fourteen (21 U.S.C. 321(qq);
#: Regulation (EU) 1169/2011 Annex II), joined into one list.
ALLERGENS = (
    "milk", "egg", "wheat", "gluten", "soy", "peanut", "tree nut", "sesame", "fish",
    "crustacean", "mollusc", "celery", "mustard", "sulphite", "lupin",
)  # fmt: skip
FORMS = (
    "sphere", "rod", "crystal", "disc", "shape", "lump", "flake", "cone", "cylinder", "puff", "mix",
)  # fmt: skip
FINISHES = ("matte", "glossy", "pearl", "metallic", "sparkling", "clear")
HARDNESSES = ("soft", "crisp", "hard")
DIETS: tuple[Diet, ...] = ("vegan", "vegetarian", "neither")


@dataclass(frozen=True, slots=True)
class ColourShare:
    """One colour of a jar with its share of the whole, 0–1."""

    lab: Lab
    share: float


@dataclass(frozen=True, slots=True)
class Texture:
    """What a topping is to eye and mouth; `grain_mm` is its longest usual size."""

    form: str | None = None
    grain_mm: float | None = None
    finish: str | None = None
    hardness: str | None = None


@dataclass(frozen=True, slots=True)
class Composition:
    """What needs are judged by. `None` is unknown and fails every need on it."""

    allergens: tuple[str, ...] | None = None
    may_contain: tuple[str, ...] | None = None
    additives: tuple[str, ...] | None = None
    diet: Diet | None = None


@dataclass(frozen=True, slots=True)
class Jar:
    """One sprinkle or other topping in one container; `on_hand_g` is what is promised to no batch."""

    id: int
    name: str
    kind: str
    colours: tuple[ColourShare, ...]
    texture: Texture = Texture()
    density_g_per_ml: float | None = None
    on_hand_g: float | None = None
    best_before: date | None = None
    last_used: date | None = None
    price_per_kg: Decimal | None = None
    composition: Composition = Composition()
    motifs: tuple[str, ...] = ()
    hard_small_pieces: bool | None = None
    melts_in_heat: bool | None = None
    lot: str | None = None
    defaults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cutter:
    """One cookie cutter; sizes of its outline's bounding box."""

    id: int
    name: str
    motifs: tuple[str, ...] = ()
    colours: tuple[Lab, ...] = ()
    width_mm: float | None = None
    height_mm: float | None = None
    thickness_mm: float | None = None
    thin_parts: bool | None = None


@dataclass(frozen=True, slots=True)
class Gel:
    """One gel food colour, known by a swatch at a stated dose.

    `k` are its 31 absorption values per g per 100 g of icing, 400–700 nm by 10 nm.
    """

    id: int
    name: str
    swatch: Lab
    dose_g_per_100g: float
    k: tuple[float, ...]
    max_g_per_100g: float | None = None
    composition: Composition = Composition()
    natural: bool | None = None
    on_hand_g: float | None = None
    price_per_kg: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Box:
    """One carton to pack a kit in; sizes are inner ones."""

    id: int
    name: str
    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    window: bool | None = None
    on_hand: int | None = None
    price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Supply:
    """Anything else bought for kits; amounts are in `unit`: g, ml, piece or m."""

    id: int
    name: str
    kind: str | None = None
    unit: str | None = None
    on_hand: float | None = None
    pack_size: float | None = None
    pack_price: Decimal | None = None
    allergens: tuple[str, ...] | None = None
    may_contain: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Dose:
    """So much of one gel in 100 g of icing. `gel_id` is None for a kitchen staple."""

    gel: str
    gel_id: int | None
    g_per_100g: float


@dataclass(frozen=True, slots=True)
class Tint:
    """An icing colour that the shelf's gels can make, with its recipe."""

    lab: Lab
    hex: str
    name: str
    recipe: tuple[Dose, ...]


@dataclass(frozen=True, slots=True)
class Shelf:
    """All that one baker owns, as far as ideas need it; items in id order."""

    id: int
    name: str
    jars: tuple[Jar, ...] = ()
    cutters: tuple[Cutter, ...] = ()
    gels: tuple[Gel, ...] = ()
    dough: Composition = Composition()
    icing: Composition = Composition()
    themes: tuple[Theme, ...] = ()
    boxes: tuple[Box, ...] = ()
    supplies: tuple[Supply, ...] = ()


@dataclass(frozen=True, slots=True)
class Anchor:
    """A colour that belongs to a theme; the weights of a theme add up to 1."""

    lab: Lab
    weight: float
    source: str = ""


MotifKind = Literal["theme", "guess", "near", "occasion"]


@dataclass(frozen=True, slots=True)
class Motif:
    """A thing to see, as a plain noun, and how much it belongs (0–1).

    kind  how it came: from what the phrase names ("theme"), from a guess at a word's
          meaning ("guess"), as something often seen with a thing named ("near"), or only
          from what is celebrated ("occasion")
    of    the words guessed at, the thing it is near to, or the occasion; "" for a theme's
    """

    word: str
    weight: float = 1.0
    kind: MotifKind = "theme"
    of: str = ""


@dataclass(frozen=True, slots=True)
class Theme:
    """A named idea with anchors and motifs, built in or the baker's own."""

    name: str
    aliases: tuple[str, ...] = ()
    anchors: tuple[Anchor, ...] = ()
    motifs: tuple[str, ...] = ()
    months: tuple[int, ...] = ()
    group: str = ""
    own: bool = False


@dataclass(frozen=True, slots=True)
class Thing:
    """A plain noun, the colours it usually has, with weights adding up to 1, and what it is seen with."""

    name: str
    aliases: tuple[str, ...]
    colours: tuple[tuple[Lab, float], ...]
    seen_with: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """A trade kind of topping with its defaults and their source."""

    name: str
    aliases: tuple[str, ...]
    texture: Texture
    density_g_per_ml: float | None
    density_low: float | None
    density_high: float | None
    melts_in_heat: bool | None
    hard_small_pieces: bool | None
    source: str


@dataclass(frozen=True, slots=True)
class Needs:
    """What the whole kit must respect: dough, icing and gels as much as jars."""

    avoid_allergens: tuple[str, ...] = ()
    avoid_additives: tuple[str, ...] = ()
    youngest_age: int | None = None
    diet: Literal["vegan", "vegetarian"] | None = None
    use_jars: tuple[int, ...] = ()
    skip_jars: tuple[int, ...] = ()
    include_colours: tuple[str, ...] = ()
    avoid_colours: tuple[str, ...] = ()
    in_stock_only: bool = False
    sources: Mapping[str, str] = field(default_factory=dict, compare=False)


@dataclass(frozen=True)
class Lexicon:
    """The built-in knowledge: themes, colour words, things, kinds and word meaning.

    `colour_words` may be searched for in a phrase; `colour_basics` are the fewer plain
    names by which a tint is called. `meaning` is None where word vectors are left out.
    `opposites` gives for a word the names of themes and things that are its opposites.
    `is_word` tells English words, which are no typos of others.
    """

    themes: tuple[Theme, ...]
    colour_words: Mapping[str, Lab]
    colour_basics: Mapping[str, Lab]
    things: tuple[Thing, ...]
    kinds: tuple[Kind, ...] = ()
    staples: tuple[Gel, ...] = ()
    meaning: Meaning | None = None
    opposites: Mapping[str, Sequence[str]] = field(default_factory=dict)
    is_word: Callable[[str], bool] = field(default=lambda word: False)
