"""A kit's address: all that lies on the table, what is held and what was seen, read with every slip told."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import parse_qsl, urlencode

from werkzeug.datastructures import MultiDict

from api.pages.needs import NAMES, in_address, needs_read
from api.tables import MOST_SEEN, Laid, Seen
from api.works import needs_of
from catalog.lookup import LARGEST_ID
from themekit.colour.space import lab_to_hex, parse_hex
from themekit.errors import ThemekitError
from themekit.suggest.asked import MOST_COOKIES, MOST_KITS
from themekit.suggest.words import MAX_TEXT
from themekit.values import Lab

#: The fields of a kit's own; others that an address may have, such as the choice of a page, are `more`.
_FIELDS = ("theme", "kits", "serve", "t", "j", "c", "hold", "s", *NAMES)
#: What is said of the batch to be made, carried along from place to place; the longest of each.
CARRIED = {"name": 120, "due": 10, "order": 12, "customer": 120, "said": 1_000, "batch": 24}
_PLACE = re.compile(r"[tj][0-2]|c(?:\d|1\d)")
_CUT = re.compile(r"(\d{1,10}):(\d{1,3})", re.ASCII)
_SEEN = re.compile(r"((?:[0-9a-f]{6}){3})-(\d{1,10}(?:\.\d{1,10}){2})-((?:\d{1,10}(?:\.\d{1,10})*)?)", re.ASCII)
_MOST_CUTS = 20
_LONGEST = 8_000


@dataclass(frozen=True, slots=True)
class Read:
    """What an address says, and in plain sentences what of it could not be read."""

    laid: Laid
    told: tuple[str, ...]


def laid_of(args: Any, colour_words: Mapping[str, Lab], more: Sequence[str] = ()) -> Read:
    """Read an address or a form; colours come as hex or as one of the words, lower-case, spaces between.

    Raises `InvalidValue` for needs that are none: they are never left out.
    """
    told = [
        f"“{_short(name)}” in this address means nothing here and was passed over."
        for name in args
        if name not in _FIELDS and name not in CARRIED and name not in more
    ]
    laid = Laid(
        theme=_theme(args, told),
        tints=_colours(args.getlist("t"), colour_words, told),
        jars=_jars(args.getlist("j"), told),
        cuts=_cuts(args.getlist("c"), told),
        kits=_kits(args.get("kits", "").strip(), told),
        serve="mixed" if args.get("serve") == "mixed" else "apart",
        held=_held(args.getlist("hold"), told),
        needs=needs_read(args),
        seen=_seen(args.getlist("s"), told),
        carried=tuple((n, v[:most]) for n, most in CARRIED.items() if (v := args.get(n, "").strip())),
    )
    if args.get("serve", "apart") not in ("apart", "mixed", ""):
        told.append(f"“{_short(args['serve'])}” is no way to serve toppings: they come in three cups.")
    return Read(laid, tuple(told))


def laid_in(query: str, colour_words: Mapping[str, Lab]) -> Read:
    """Read what follows /kit? in an address, as another address holds it; the whole address will do."""
    query = query.partition("/kit?")[2] or query
    if len(query) > _LONGEST:
        query = query[:_LONGEST].rpartition("&")[0]
    return laid_of(MultiDict(parse_qsl(query.lstrip("?"))), colour_words)


def address(laid: Laid) -> str:
    """Where a kit lies on the table; the address holds all of it, so it can be kept and sent."""
    return "/kit?" + query_of(laid)


def address_of_batch(row: Mapping[str, Any]) -> str:
    """Where a batch's kit lies on the table, to be changed or laid beside another."""
    laid = Laid(
        theme=row["theme"],
        tints=tuple(t["hex"] for t in row["tints"][:3]),
        jars=tuple(j["id"] for j in row["jars"][:3]),
        cuts=tuple((c["id"], c["cookies"]) for c in row["cutters"]),
        kits=row["kits"],
        serve=row["serve"],
        needs=needs_of(row),
        carried=_carried(row),
    )
    return address(laid)


def _carried(row: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """What of a batch goes along: its name, day and order, and while it can be changed its number and version."""
    own = [("name", row["name"]), ("due", row["due"] or ""), ("order", str(row["order"] or ""))]
    if row["state"] in ("sketched", "promised"):
        own.append(("batch", f"{row['id']}.{row['version']}"))
    return tuple((name, value) for name, value in own if value)


def query_of(laid: Laid) -> str:
    """What follows /kit? in a kit's address."""
    return urlencode(fields_of(laid))


def fields_of(laid: Laid) -> list[tuple[str, str]]:
    """A kit as the fields of an address or of a form; `laid_of` gives the same one back."""
    query = [("theme", laid.theme), ("kits", str(laid.kits)), ("serve", laid.serve)]
    query += [("t", t.lstrip("#")) for t in laid.tints]
    query += [("j", str(j)) for j in laid.jars]
    query += [("c", f"{id}:{count}") for id, count in laid.cuts]
    query += in_address(laid.needs)
    query += [("hold", place) for place in sorted(laid.held)]
    query += laid.carried
    return query + [("s", _seen_told(one)) for one in laid.seen[-MOST_SEEN:]]


def with_part(laid: Laid, part: str, place: int, value: Any) -> str:
    """The address with another thing in one place."""
    parts = list(getattr(laid, part))
    parts[place] = value
    return address(replace(laid, **{part: tuple(parts)}))


def with_hold(laid: Laid, place: str) -> str:
    """The address with one part held, or let go where it was held."""
    return address(replace(laid, held=laid.held ^ {place}))


def with_cookies(laid: Laid, place: int, more: int) -> str | None:
    """The address with more or fewer cookies of one cutter; None where there can be no more or no fewer.

    A cutter that cuts none is taken out, and holds move with what is left.
    """
    id, count = laid.cuts[place]
    total = sum(n for _, n in laid.cuts) + more
    if not 1 <= total <= MOST_COOKIES or (count + more < 1 and len(laid.cuts) == 1):
        return None
    if count + more >= 1:
        return with_part(laid, "cuts", place, (id, count + more))
    cuts = laid.cuts[:place] + laid.cuts[place + 1 :]
    moved = {p if p[0] != "c" or int(p[1:]) < place else f"c{int(p[1:]) - 1}" for p in laid.held - {f"c{place}"}}
    return address(replace(laid, cuts=cuts, held=frozenset(moved)))


def with_cutter(laid: Laid, id: int) -> str | None:
    """The address with one cookie of a further cutter; None where a kit can hold no more."""
    if sum(n for _, n in laid.cuts) >= MOST_COOKIES or len(laid.cuts) >= _MOST_CUTS:
        return None
    return address(replace(laid, cuts=(*laid.cuts, (id, 1))))


def colour_of(text: str, words: Mapping[str, Lab]) -> str | None:
    """The hex of a colour that was typed as a word or a code; None where it is neither."""
    word = " ".join(text.casefold().split())
    if word in words:
        return lab_to_hex(words[word])
    try:
        return parse_hex(f"#{word.lstrip('#')}", "t")
    except ThemekitError:
        return None


def _short(text: str) -> str:
    safe = " ".join(text.encode("utf-8", "replace").decode("utf-8").split())
    return safe if len(safe) <= 40 else safe[:39] + "…"


def _theme(args: Any, told: list[str]) -> str:
    theme = " ".join(args.get("theme", "").split())
    if len(theme) > MAX_TEXT:
        told.append(f"The theme is longer than {MAX_TEXT} characters; what comes after was passed over.")
    return theme[:MAX_TEXT]


def _colours(given: Sequence[str], words: Mapping[str, Lab], told: list[str]) -> tuple[str, ...]:
    found = []
    for text in given:
        word = " ".join(text.casefold().split())
        colour = colour_of(word, words)
        if not word:
            told.append("A colour was left blank: the best one to go with the others was laid down.")
        elif colour is None:
            told.append(
                f"“{_short(text)}” is no colour that can be read. Write one such as #2a9d8f, or a colour word."
            )
        else:
            found.append(colour)
    if len(found) > 3:
        told.append(f"A kit has three colours; {len(found) - 3} more were passed over.")
    return tuple(found[:3])


def _jars(given: Sequence[str], told: list[str]) -> tuple[int, ...]:
    found = []
    for text in given:
        id = _whole(text, LARGEST_ID)
        if id is None:
            told.append(f"“{_short(text)}” names no jar: jars are named by their numbers.")
        else:
            found.append(id)
    if len(found) > 3:
        told.append(f"A kit has three jars; {len(found) - 3} more were passed over.")
    return tuple(found[:3])


def _cuts(given: Sequence[str], told: list[str]) -> tuple[tuple[int, int], ...]:
    found = []
    for text in given[:_MOST_CUTS]:
        match = _CUT.fullmatch(text.strip())
        id, count = (int(match[1]), int(match[2])) if match else (0, 0)
        if 1 <= id <= LARGEST_ID and 1 <= count <= MOST_COOKIES:
            found.append((id, count))
        else:
            told.append(f"“{_short(text)}” is no cutter with 1 to {MOST_COOKIES} cookies and was left out.")
    if len(given) > _MOST_CUTS:
        told.append(f"A kit has at most {_MOST_CUTS} cutters; {len(given) - _MOST_CUTS} more were passed over.")
    return tuple(found)


def _kits(text: str, told: list[str]) -> int:
    kits = _whole(text, MOST_KITS) if text else 1
    if kits is None:
        told.append(f"“{_short(text)}” kits cannot be made at once: 1 to {MOST_KITS} can. Shown is one.")
    return kits or 1


def _held(given: Sequence[str], told: list[str]) -> frozenset[str]:
    unknown = [place for place in given if not _PLACE.fullmatch(place)]
    told += [f"“{_short(place)}” is no part of a kit that can be held." for place in unknown]
    return frozenset(given) - frozenset(unknown)


def _seen(given: Sequence[str], told: list[str]) -> tuple[Seen, ...]:
    found = []
    for text in given[-MOST_SEEN:]:
        match = _SEEN.fullmatch(text)
        if match is None:
            told.append(f"“{_short(text)}” is no kit that was seen before; it may come again.")
            continue
        colours = tuple("#" + match[1][at : at + 6] for at in (0, 6, 12))
        jars, cutters = (tuple(int(id) for id in part.split(".") if id) for part in (match[2], match[3]))
        found.append(Seen(colours, jars, cutters))
    return tuple(dict.fromkeys(found))


def _seen_told(one: Seen) -> str:
    colours = "".join(t.lstrip("#") for t in one.tints)
    return "-".join([colours, ".".join(map(str, one.jars)), ".".join(map(str, one.cutters))])


def _whole(text: str, most: int) -> int | None:
    text = text.strip()
    number = int(text) if text.isascii() and text.isdigit() and len(text) <= 10 else 0
    return number if 1 <= number <= most else None
