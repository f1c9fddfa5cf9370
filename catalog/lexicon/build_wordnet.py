"""Which words may carry meaning: plain words of English, and no names of persons or makers.

Source: WordNet 3.0 (Princeton University), read from its database files as wndb(5WN) and
senseidx(5WN) describe them. It tells all that the rules below ask for: whether a word is
written small, what sort of thing a name names, how often a sense was met in tagged text,
and, through its glosses, which words its authors needed to explain others.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

#: Words that join others; alone they mean nothing, so they get no vector.
JOINING = frozenset(
    "a an the of and or nor but if in on at by to for from with as is are was were be been am do does did has "
    "have had it its he she we they i you your my our his her their them us me this that these those there "
    "here so than then too very not no yes can could will would shall should may might must let lets just only "
    "also any some who whom whose which what when where why how please want need like get got".split()
)
#: Lexicographer files (lexnames(5WN)) used below.
PERSON, TIME, FOOD = 18, 28, 13
# Files of capitalised nouns that may be kept: animal, food, location, object (rivers,
# planets), plant and time; of event, group and person only kinds (peoples, worshippers).
_NAMES, _KINDS = {5, FOOD, 15, 17, 20, TIME}, {11, 14, PERSON}
# What a gloss says of a maker's mark or of one maker's sight.
_MADE_BY = re.compile(r"\btrademark|amusement park (in|established)")


@dataclass(frozen=True)
class Synset:
    """One WordNet synset: its file, its words as written with how often each was met, its gloss."""

    pos: str
    lexname: int
    words: tuple[str, ...]
    met: tuple[int, ...]
    single: bool
    gloss: str

    @property
    def of_a_maker(self) -> bool:
        """Whether the gloss tells of a maker's mark or sight."""
        return "trademark" not in self.words and bool(_MADE_BY.search(self.gloss))

    @property
    def may_be_a_name(self) -> bool:
        """Whether a capitalised word of it is a name that can be kept."""
        kind = self.lexname in _KINDS and not self.single and self.pos == "noun"
        return self.pos == "adj" or self.lexname in _NAMES or kind


def read_wordnet(folder: Path) -> Iterator[Synset]:
    """Every synset, in file order."""
    met: Counter[tuple[str, str, str]] = Counter()
    for line in (folder / "cntlist.rev").read_text("latin-1").splitlines():
        key, _, count = line.split()
        lemma, rest = key.split("%")
        _, lexname, number, *_ = rest.split(":")
        met[lemma, lexname, number] += int(count)
    for pos in ("noun", "verb", "adj", "adv"):
        for line in (folder / f"data.{pos}").read_text("latin-1").splitlines():
            if line.startswith("  "):
                continue
            head, gloss = line.split(" | ", 1)
            fields = head.split(" ")
            stop = 4 + 2 * int(fields[3], 16)
            words = tuple(re.sub(r"\(.*\)$", "", w) for w in fields[4:stop:2])
            numbers = [f"{int(n, 16):02}" for n in fields[5:stop:2]]
            counts = tuple(met[w.lower(), fields[1], n] for w, n in zip(words, numbers, strict=True))
            yield Synset(pos, int(fields[1]), words, counts, "@i" in fields[stop:], gloss.strip())


def inflected(pos: str, word: str) -> Iterator[str]:
    """Regular inflections of a word, some of them not English."""
    stem = word.removesuffix("e")
    if pos == "noun" and len(word) > 2:
        yield word + ("es" if word.endswith(("s", "x", "z", "ch", "sh")) else "s")
        if word.endswith("y"):
            yield word[:-1] + "ies"
    if pos == "adj":
        yield from (stem + "er", stem + "est", word + word[-1] + "er", word + word[-1] + "est")
        if word.endswith("y"):
            yield from (word[:-1] + "ier", word[:-1] + "iest")
    if pos == "verb":
        yield from (word + "s", stem + "ed", stem + "ing", word + word[-1] + "ed", word + word[-1] + "ing")
        if word.endswith("y"):
            yield from (word[:-1] + "ies", word[:-1] + "ied")


class Dictionary:
    """WordNet's single words, weighed by their use.

    A word is used as often as tagged text had it in lower case, plus once for every gloss
    of another word that has it or an inflection of it. A name that is no person's is used
    as often as it was met, plus once for every gloss of others that has it capitalised; of
    a person's name, where glosses may speak of the person, only the former counts. It is a
    person's name as often as WordNet names single persons by it, alone or as a part ("Jane
    Doe" counts for both), plus how often it was met for one. What is not used more than
    that is left out.
    """

    def __init__(self, folder: Path, whole: Callable[[str], bool]) -> None:
        """`whole` tells which words the sentence model reads in one piece: it has met them often."""
        self.synsets = list(read_wordnet(folder))
        self.pos: dict[str, set[str]] = defaultdict(set)
        self._mates: dict[str, set[str]] = defaultdict(set)
        self._names: dict[str, set[int]] = defaultdict(set)
        self._persons, self._met, self._named = Counter[str](), Counter[str](), Counter[str]()
        self._glossed, self._glossed_as_name = Counter[str](), Counter[str]()
        for synset in self.synsets:
            self._count(synset)
        self.plain = {w for w in self.pos if len(w) > 1 and self._is_plain(w, whole)} - JOINING
        self.names = {w for w in self._names if self._is_kept(w)} - JOINING
        forms = {form for word in self.plain for pos in self.pos[word] for form in inflected(pos, word)}
        forms |= {word + "s" for word in self.names} | set(_irregular(folder, self.plain))
        not_plain = set(self.pos) - self.plain | {f for f in forms if self._persons[f] > self._glossed[f]}
        #: Every word that may carry meaning, in lower case, with its inflections.
        self.meaningful = self.plain | self.names | {f for f in forms if len(f) > 2} - not_plain - JOINING

    def _count(self, synset: Synset) -> None:
        mine = tuple(w.lower()[:4] for w in synset.words)
        in_gloss = {w for w in re.findall(r"\b[A-Za-z]+\b", synset.gloss) if not w.lower().startswith(mine)}
        self._glossed.update(w for w in in_gloss if w.islower())
        self._glossed_as_name.update(w.lower() for w in in_gloss if w.istitle())
        if synset.lexname == PERSON and synset.single:
            self._persons.update({p.lower() for w in synset.words for p in w.split("_") if p.istitle()})
        if synset.of_a_maker:
            return
        small = {w for w in synset.words if w.isalpha() and w.islower()}
        for word, met in zip(synset.words, synset.met, strict=True):
            if word in small:
                self.pos[word].add(synset.pos)
                self._met[word] += met
                self._mates[word] |= small - {word}
            elif word.isalpha() and word.istitle() and synset.may_be_a_name:
                self._names[word.lower()].add(TIME if synset.pos == "adj" else synset.lexname)
                self._named[word.lower()] += met
            elif synset.lexname == PERSON:
                self._persons[word.lower()] += met

    def used(self, word: str) -> int:
        """How often a word in lower case is used."""
        forms = {word} | {form for pos in self.pos.get(word, ()) for form in inflected(pos, word)}
        return self._met[word] + sum(self._glossed[form] for form in forms)

    def is_persons(self, word: str) -> bool:
        """Whether a word is rather a person's name."""
        return self._persons[word] > 0 and word not in self.meaningful

    def _is_plain(self, word: str, whole: Callable[[str], bool]) -> bool:
        """Whether a word in lower case is more than a name.

        A word that the model has whole, while WordNet's own texts use neither it nor a
        synonym of it, was mostly met as a name.
        """
        used, persons = self.used(word), self._persons[word]
        if persons or not whole(word):
            return used > persons or not persons
        return bool(used) or any(self.used(mate) for mate in self._mates[word])

    def _is_kept(self, name: str) -> bool:
        """Times, holidays and adjectives ("Mexican") always; other names that are used."""
        persons = self._persons[name]
        used = self._named[name] if persons else self._glossed_as_name[name] + self._named[name]
        return TIME in self._names[name] or used > persons


def _irregular(folder: Path, words: set[str]) -> Iterator[str]:
    """Irregular inflections of `words`."""
    for pos in ("noun", "verb", "adj"):
        for line in (folder / f"{pos}.exc").read_text("latin-1").splitlines():
            form, *bases = line.split()
            if form.isalpha() and words.intersection(bases):
                yield form
