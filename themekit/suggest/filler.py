"""Words of a customer's message that are courtesy and not the theme.

They are dropped before the theme is read, never where they stand in the name of a theme,
a thing or a colour ("thank you teacher"); a phrase of a word or two that are all on the
lists ("friday") is left to be read by its meaning. The lists are common usage, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from themekit.suggest.lookup import Lookup
from themekit.suggest.people import RELATIONS
from themekit.suggest.words import Token

#: Said as a whole anywhere; the longest that fits is dropped.
_PHRASES = tuple(
    tuple(words.split())
    for words in (
        "let me know", "let us know", "get back to me", "get back to us", "look forward to", "looking forward to",
        "hear from you", "hearing from you", "how much", "thank you so much", "thank you very much",
        "thank you in advance", "thanks so much", "thanks in advance", "thank you", "many thanks", "thanks again",
        "kind regards", "best regards", "warm regards", "best wishes", "warm wishes", "all the best",
        "yours sincerely", "yours truly", "take care", "talk soon", "hope you are well", "hope you're well",
        "i was wondering", "wondering if", "i'd like to", "as soon as possible", "no rush", "get together",
        "get - together", "would you mind", "if you can", "if you could", "if possible", "at the moment",
        "e - mail", "text me", "call me", "phone me", "give me a call", "drop me a line", "by phone", "by email",
        "by text", "sounds good",
        "writing to", "thinking of", "thinking about", "planning on", "no problem", "no worries", "in advance",
        "not sure", "a little bit", "pick up", "pick - up", "pick them up", "drop off", "going back", "go back",
        "in law", "in - law", "au pair", "obsessed with", "mad about", "mad on", "crazy about", "really into",
        "huge fan", "big fan", "be ready", "ready by", "all about",
    )
)  # fmt: skip
#: Stems dropped wherever they stand alone.
WORDS = frozenset(
    "email reply respond response message whether if asap cheer regard sincerely possible possibly available "
    "availability deliver delivery collect collection pickup price pricing cost quote order ordering wondering "
    "wonder hoping hope ask asking enquiry inquiry enquire kindly sorry question info information soon monday "
    "tuesday wednesday thursday friday saturday sunday tomorrow today tonight weekend afternoon wish i'm i'd "
    "i've i'll it's we're we'd we've we'll she's he's they're that's youngest oldest eldest smallest after "
    "before because since while currently maybe perhaps probably okay ok yes sure already ideally ten nine "
    "eight seven six five four three eleven twelve dozen advance attached forward whatever able myself ourselve "
    "confirm booking book'd discuss chat urgent urgently gladly grateful appreciate appreciated "
    "pls plz please thx thanx ty ta cheers xx xxx w u ur r sth smth pax btw fyi though although obviously just "
    "thought think listen listens play plays played playing opening open back obsessed few severe severely swap "
    "send bring hold hosting host join come coming leave meet keep take put pay help start starting see "
    "seeing run go goes gone move bought buy buying sell need needs needing found find know known "
    "tell told say says said else again always never often instead together every each both either whole "
    "badly terribly awfully stain mess messy "
    "were was been am got writing thinking planning he'll she'll they'll who'll".split()
)
_GREETINGS = frozenset("hi hello hey dear hiya".split())
#: Most words of a greeting: "Dear Mrs Anna Baker,".
_GREETED = 4
#: Words of a phrase that is too short to be a message.
_SHORT = 2


def without_filler(words: Sequence[Token], lookup: Lookup) -> list[Token]:
    """The tokens less courtesies, in order."""
    kept = [True] * len(words)
    named = _named(words, lookup)
    for i in range(_greeting(words)):
        kept[i] = False
    at = 0
    while at < len(words):
        step = courtesy(words, at)
        span = range(at, at + max(step, 1))
        if any(i in named for i in span):
            at += 1
            continue
        if step or words[at].stem in WORDS or words[at].fold in WORDS:
            for i in span:
                kept[i] = False
        elif words[at].stem in RELATIONS:
            kept[at] = False
            follow = at + 1
            if follow < len(words) and words[follow].is_word and not _known(words[follow], lookup):
                kept[follow] = False
        at = span.stop
    left = [w for w, keep in zip(words, kept, strict=True) if keep]
    short = sum(w.is_word for w in words) <= _SHORT and not any(courtesy(words, i) for i in range(len(words)))
    return list(words) if short and not any(w.is_word for w in left) else left


def _known(token: Token, lookup: Lookup) -> bool:
    return token.stem in lookup.known_words or token.fold.startswith("#") or token.fold[0].isdigit()


def courtesy(words: Sequence[Token], at: int) -> int:
    """How many tokens the longest courtesy at `at` takes, 0 for none."""
    return max(
        (len(p) for p in _PHRASES if tuple(t.fold for t in words[at : at + len(p)]) == p),
        default=0,
    )


def _named(words: Sequence[Token], lookup: Lookup) -> set[int]:
    """Places that stand in a name of two words and more, or are a name by themselves."""
    found: set[int] = set()
    stems = [w.stem for w in words]
    alone = sum(w.is_word for w in words)
    for at in range(len(words)):
        for length in range(min(lookup.longest, len(words) - at), 0, -1):
            key = tuple(stems[at : at + length])
            known = key in lookup.themes or key in lookup.things or key in lookup.colours
            # "Thank you" is a theme where it is all that is said, or says to whom: "thank you for our postman".
            whom = at == 0 and words[length : length + 1] and words[length].fold == "for" and alone == len(words)
            polite = courtesy(words, at) >= length > 1 and alone > length + 1 and not whom
            if known and not polite:
                found.update(range(at, at + length))
                break
    return found


def _greeting(words: Sequence[Token]) -> int:
    """Tokens of "Dear baker," at the start, when more follows; "Hello spring!" is no greeting."""
    if not words or words[0].fold not in _GREETINGS:
        return 0
    for at in range(1, min(len(words), _GREETED + 2)):
        if not words[at].is_word:
            rest = sum(w.is_word for w in words[at:])
            return at if rest >= 3 else 0
    return 0
