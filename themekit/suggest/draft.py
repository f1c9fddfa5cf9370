"""What is collected while a phrase is read: colours, things to see, and what was taken for what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from themekit.suggest.anchors import Source
from themekit.suggest.lookup import Lookup
from themekit.suggest.numbers import NUMBER_WORDS, ORDINAL_WORDS
from themekit.suggest.words import Token, key_of
from themekit.values import Motif, MotifKind, Theme

#: What a mended typo leaves of the sureness, and what a word of which only a part is known.
MENDED, PARTED = 0.85, 0.7
#: Words that carry no picture of their own.
EMPTY = frozenset(
    "a an the of for to in on at by with and or but from as is are be it its this that these those my our "
    "your her his their we i you she he they me us them there here please want need would like love loves "
    "likes make made making some any all very really just so more most lot lots kind kit kits set sets "
    "box cookie biscuit icing frosting sprinkle topping theme themed style styled colour color coloured "
    "colored colourful colorful idea order thing something anything someone anyone inspired full each per "
    "about around vibe look feel feeling decorated decorate decorating diy day special big little small "
    "mini new nice pretty cute lovely fun happy good great best old year week month first next last one two kid "
    "child person friend guest everyone aged age turning turn turns turned thanks thank hello hi hey dear up out "
    "into over tone tones shade hue palette not too also maybe party parties celebration event do does "
    "have has had having can could will should who what when where which how bit touch plus favourite "
    "favorite get give use only no without club circle stand lover society group time fan corner crazy "
    "mad flock herd swarm bunch meetup gathering evening night got going spent whole tournament competition "
    "contest championship celebrating celebrated adore adores adored through everything another other "
    "across along during until way boy girl daughter son hundred".split()
)
#: Themes so general that they count little beside anything else.
GENERAL = frozenset(("birthday", "party", "celebration", "kids birthday", "birthday party"))
#: The order in which kinds of motifs go before one another.
_FIRST: tuple[MotifKind, ...] = ("theme", "guess", "near", "occasion")


@dataclass(frozen=True, slots=True)
class Understood:
    """One part of the phrase and what it was taken for."""

    words: str
    taken_as: str
    name: str
    how: str
    sureness: float


#: What a way of reading that guesses holds, and how it is told.
_GUESSES = {
    "one letter mended": "if it is a slip of one letter",
    "a part of the word": "by a part of the word",
    "by meaning": "by its meaning",
}


def guessed(how: str) -> str | None:
    """How a way of reading guesses, in plain words; None for one that does not."""
    return next((told for mark, told in _GUESSES.items() if mark in how), None)


@dataclass
class Draft:
    """Collects while reading; `certainty` is above 0 for the words already read.

    breaks  places in `words` before which the phrase has a comma, a full stop or the like
    mended  places of words that were read one letter off
    parted  places of words of which only a part is known ("bee" of "beekeeper")
    capitals  words, folded, that have a capital amid a sentence
    """

    words: list[Token]
    lookup: Lookup
    breaks: frozenset[int] = frozenset()
    mended: set[int] = field(default_factory=set)
    parted: set[int] = field(default_factory=set)
    capitals: frozenset[str] = frozenset()
    certainty: dict[int, float] = field(default_factory=dict)
    sources: list[Source] = field(default_factory=list)
    motifs: dict[str, Motif] = field(default_factory=dict)
    understood: list[Understood] = field(default_factory=list)

    def text(self, span: range) -> str:
        """The words of `span` as written."""
        return " ".join(self.words[i].text for i in span)

    def take(self, span: range, taken_as: str, name: str, how: str, sureness: float = 1.0) -> float:
        """Note what the words of `span` were taken for; the sureness after mending."""
        if any(i in self.mended for i in span):
            sureness, how = sureness * MENDED, how + ", one letter mended"
        if any(i in self.parted for i in span):
            sureness, how = sureness * PARTED, how + ", a part of the word"
        for i in span:
            self.certainty[i] = max(self.certainty.get(i, 0.0), sureness)
        self.understood.append(Understood(self.text(span), taken_as, name, how, round(sureness, 3)))
        return sureness

    def see(self, word: str, weight: float, kind: MotifKind = "theme", of: str = "") -> None:
        """Note a thing to see; of the same word the better kind stays, then the greater weight."""
        made = Motif(word, round(weight, 3), kind, of)
        known = self.motifs.get(word)
        if known is None or _rank(made) < _rank(known):
            self.motifs[word] = made

    def see_motifs(self, theme: Theme, mass: float, kind: MotifKind = "theme", of: str = "") -> None:
        """A theme's motifs, the first of them weighing most."""
        for rank, word in enumerate(theme.motifs):
            self.see(word, min(1.0, mass) * (0.9 - 0.5 * rank / len(theme.motifs)), kind, of)

    def colour(self, theme: Theme, mass: float) -> None:
        """A theme's anchors."""
        self.sources.append(Source(theme.name, tuple((a.lab, a.weight) for a in theme.anchors), mass))

    def wanted(self) -> tuple[Motif, ...]:
        """The motifs, the better kinds and the heavier first."""
        return tuple(sorted(self.motifs.values(), key=lambda m: (*_rank(m), m.word)))


def _rank(motif: Motif) -> tuple[int, float]:
    return (_FIRST.index(motif.kind), -motif.weight)


def has_content(token: Token) -> bool:
    """Whether a word may carry a picture."""
    empty = token.stem in EMPTY or token.fold in EMPTY
    counts = token.fold in NUMBER_WORDS or token.fold in ORDINAL_WORDS
    return not (empty or counts or token.fold[0].isdigit())


def is_occasion(theme: Theme) -> bool:
    """Whether a theme only says what is celebrated, as birthdays of every age do."""
    return theme.name in GENERAL or key_of(theme.name)[-1:] == ("birthday",)


def runs(places: Sequence[int], breaks: frozenset[int]) -> list[range]:
    """Places in a row, parted at breaks."""
    found: list[range] = []
    for i in places:
        if found and found[-1].stop == i and i not in breaks:
            found[-1] = range(found[-1].start, i + 1)
        else:
            found.append(range(i, i + 1))
    return found
