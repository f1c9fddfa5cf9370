"""The parts of a kit that is made already: the same numbers that an idea would have had."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from themekit.colour.space import Floats, hex_to_lab
from themekit.errors import ThemekitError
from themekit.suggest.asked import Asked
from themekit.suggest.cutters import cutters_part, search_for
from themekit.suggest.ideas import Suggester
from themekit.suggest.keep import KeptTrios, kept_cutters
from themekit.suggest.palettes import score_colours
from themekit.values import Lexicon, Shelf


def judged(
    asked: Asked,
    shelf: Shelf,
    lexicon: Lexicon,
    tints: Sequence[str],
    jars: Sequence[int],
    cutters: Mapping[int, int],
) -> dict[str, dict[str, float]]:
    """Parts of three tints in hex, three jars by id and cutters with their cookies, each 0–1.

    {"palette": {...}, "trio": {...}, "idea": {"cutters": ...}}, by the default weights. Left
    out is what cannot be told afterwards: the stock that there was, a jar that is gone by
    now, a kit of more or fewer than three.
    """
    out: dict[str, dict[str, float]] = {}
    labs: Floats | None = None
    if len(tints) == 3:
        labs = hex_to_lab(list(tints))
        out["palette"] = score_colours(labs, asked.reading.anchors).parts
    if len(jars) == 3:
        try:
            found = KeptTrios(Suggester(asked, shelf, lexicon), jars).best(1, labs)
        except ThemekitError:
            # A jar is gone, or the theme asks for what has nothing to do with this kit.
            found = []
        if found:
            out["trio"] = {name: part for name, part in found[0].parts.items() if name != "stock"}
    own = {cutter.id: cutter for cutter in shelf.cutters}
    cookies = sum(cutters.values())
    if cookies and labs is not None and own.keys() >= cutters.keys():
        search = search_for(shelf.cutters, asked)
        chosen = kept_cutters(search, [(own[id], count) for id, count in cutters.items()], cookies, labs)
        out["idea"] = {"cutters": cutters_part(chosen, cookies, search.named)}
    return out


def theme_name(asked: Asked) -> str:
    """The theme that was understood, else the colours and things, by the names that they have here.

    None of the phrase's own words: they may tell who asked.
    """
    read = asked.reading.understood
    themes = [u for u in read if u.taken_as == "theme"]
    sure = [u.name for u in themes if u.how != "by meaning"]
    others = [u.name for u in read if u.taken_as in ("colour", "thing") and u.how != "by meaning"]
    return " ".join(dict.fromkeys(sure[:1] or others or [u.name for u in themes[:1]]))[:200]
