"""Why a suggestion suits, in sentences that a baker would say."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.light import seen_under, smallest_difference
from themekit.colour.scheme import scheme
from themekit.colour.space import Floats, hex_to_lab, labs_to_hex
from themekit.make.cautions import Caution
from themekit.make.settings.base import PRACTICE
from themekit.suggest.cutters import Chosen
from themekit.suggest.named import Named
from themekit.suggest.palettes import Palette, Unreached
from themekit.suggest.texture import FORM_WORDS
from themekit.suggest.trios import IDLE_DAYS, Portion, Trio
from themekit.suggest.words import listed
from themekit.values import Anchor, Jar, Tint

#: A colour nearer than this (CIEDE2000) to an anchor or a tint is said to be of it.
_OF = 12.0
#: So much farther than the nearest tint, another still stands for a colour that the gels miss.
_AS_NEAR = 6.0
_PAIRS = ((0, 1), (0, 2), (1, 2))


def palette_reasons(palette: Palette, anchors: Sequence[Anchor], unreached: Sequence[Unreached] = ()) -> list[str]:
    """Reasons for three tints, the theme first."""
    out = _theme_reason(palette.tints, anchors, unreached)
    out.append(_lightness_reason(palette.tints))
    out.append(_relation(palette.labs))
    out.append(_nearest_pair(palette))
    plain = [t.name for t in palette.tints if not t.recipe]
    # Colours of her own come without any recipe; of tints only the plain icing does.
    if plain and len(plain) < len(palette.tints):
        out.append(f"{plain[0].capitalize()} needs no gel at all.")
    for miss in unreached:
        out.append(
            f"The gels cannot make the theme's {miss.name} ({miss.hex}): the nearest they make is {miss.nearest}, "
            f"a colour difference of {miss.delta_e:g}."
        )
    return out


def palette_why(palette: Palette, anchors: Sequence[Anchor], unreached: Sequence[Unreached] = ()) -> list[str]:
    """The telling part of the reasons: what of the theme the tints show, and whether writing stays legible."""
    return [*_theme_reason(palette.tints, anchors, unreached), _lightness_reason(palette.tints)]


def light_reason(palette: Palette, light: str) -> str:
    """How three tints look under another light of the party table, as a sentence."""
    seen = seen_under(palette.labs, light)
    hexes = listed([f"{t.name} as {colour}" for t, colour in zip(palette.tints, labs_to_hex(seen), strict=True)])
    by_day, then = smallest_difference(palette.labs), smallest_difference(seen)
    differ = f"the two most alike then differ by {then:.0f}, by day by {by_day:.0f}"
    return f"Under a {light}: {hexes}; {differ}."


def _theme_reason(
    tints: Sequence[Tint], anchors: Sequence[Anchor], unreached: Sequence[Unreached] = ()
) -> list[str]:
    if not anchors:
        return []
    labs = np.array([a.lab for a in anchors])
    by_source: dict[str, list[str]] = {}
    strangers: list[str] = []
    instead: list[str] = []
    for tint in tints:
        distance = delta_e_2000(labs, tint.lab)
        at = int(np.argmin(distance))
        missed = [miss.name for miss in unreached if _stands_for(tint, miss)]
        if distance[at] <= _OF:
            by_source.setdefault(anchors[at].source, []).append(tint.name)
        elif tint.name in missed:
            instead.append(f"{tint.name.capitalize()} is as near to the theme's {tint.name} as your gels come.")
        elif missed:
            instead.append(f"{tint.name.capitalize()} stands for {listed(missed)}, which your gels do not reach.")
        else:
            strangers.append(tint.name)
    out = []
    asked = [source for source, names in by_source.items() if set(names) == {source}]
    if asked:
        out.append(f"{listed(asked).capitalize()} {'were' if len(asked) > 1 else 'was'} asked for.")
    for source, names in by_source.items():
        if source not in asked:
            told = "are colours" if len(set(names)) > 1 else "is a colour"
            out.append(f"{listed(names).capitalize()} {told} of “{source}”.")
    out += instead
    if strangers:
        told = (
            "are not of the theme itself; they set"
            if len(set(strangers)) > 1
            else ("is not of the theme itself; it sets")
        )
        out.append(f"{listed(strangers).capitalize()} {told} the others off.")
    return out


def _stands_for(tint: Tint, miss: Unreached) -> bool:
    """Whether a tint lies about as near to a colour that the gels miss as they come."""
    return float(delta_e_2000(hex_to_lab(miss.hex), np.asarray(tint.lab))) <= miss.delta_e + _AS_NEAR


def _lightness_reason(tints: Sequence[Tint]) -> str:
    ordered = sorted(tints, key=lambda t: t.lab[0])
    span = ordered[-1].lab[0] - ordered[0].lab[0]
    if span >= 35:
        dark, light = _once("dark", ordered[0].name), _once("light", ordered[-1].name)
        return f"From {dark} to {light}: lines and writing stay legible."
    if span >= 15:
        return f"A gentle step from {ordered[0].name} to {ordered[-1].name}: pipe details in the darker one."
    return "All three are about equally light: keep shapes apart with a line of bare cookie or white."


def _once(shade: str, name: str) -> str:
    """A colour's name with a shade word, which is not said twice."""
    return name if shade in name.split() else f"{shade} {name}"


def _relation(labs: Floats) -> str:
    """The hues' relation in colour-theory words, with what they mean."""
    found = scheme(labs)
    return f"{found.name.capitalize()}: {found.sentence}."


def _nearest_pair(palette: Palette) -> str:
    labs = palette.labs
    distance = [float(delta_e_2000(labs[i], labs[j])) for i, j in _PAIRS]
    at = int(np.argmin(distance))
    i, j = _PAIRS[at]
    names = (palette.tints[i].name, palette.tints[j].name)
    told = f"{names[0]} and {names[1]}" if names[0] != names[1] else f"the two {names[0]}s"
    much = "clearly" if distance[at] >= 20 else "enough to tell apart" if distance[at] >= 10 else "only a little"
    return f"The two most alike, {told}, differ {much} (by {distance[at]:.0f})."


def trio_reasons(
    trio: Trio, palette: Palette | None, anchors: Sequence[Anchor], today: date | None, odd: Sequence[Jar] = ()
) -> list[str]:
    """Reasons for three jars: grains, forms, colours, stock and what they use up.

    odd  those of them that no icing and nothing that the theme leads with accounts for
    """
    out = [*_grains(trio.jars), *_forms(trio.jars), *_pick_up(trio.jars, palette, anchors)]
    out += _odd(odd)
    if trio.serve == "mixed":
        parts = listed([f"{round(100 * p.share)} % {p.jar.name}" for p in trio.portions])
        out.append(f"Mixed by volume: {parts}.")
    out += _stock(trio.portions, trio.makes_kits)
    out += _idle(trio.jars, today)
    return out


def trio_why(trio: Trio, today: date | None, odd: Sequence[Jar] = ()) -> list[str]:
    """The telling part of the reasons: texture in one sentence, what to use up, and last how far it reaches.

    odd  as for `trio_reasons`
    """
    return [*_texture(trio.jars), *_odd(odd), *_idle(trio.jars, today), _reach(trio.portions, trio.makes_kits)]


def _odd(jars: Sequence[Jar]) -> list[str]:
    """What is told of jars that no icing returns in."""
    if not jars:
        return []
    return [
        f"None of the icings returns in {listed([j.name for j in jars])}: no jar left to choose from suits better "
        "all in all."
    ]


def _texture(jars: Sequence[Jar]) -> list[str]:
    """Forms and grain sizes: "Balls, lumps and flakes of 1.5, 4 and 8 mm."."""
    forms = list(dict.fromkeys(FORM_WORDS[j.texture.form] for j in jars if j.texture.form))
    sizes = sorted({j.texture.grain_mm for j in jars if j.texture.grain_mm})
    if not forms:
        return []
    told = listed(forms)
    of = f" of {listed([f'{s:g}' for s in sizes])} mm" if sizes else ""
    return [f"{told[0].upper()}{told[1:]}{of}."]


def _reach(portions: Sequence[Portion], makes: int | None) -> str:
    """For how many kits the jars are enough, and which is the first to run out."""
    unknown = listed([p.jar.name for p in portions if p.jar.on_hand_g is None])
    if makes is None:
        missing = f"enter how much there is of {unknown}" if unknown else "enter what a spoonful of each weighs"
        return f"For how many kits is not known: {missing}."
    first = _first_out(portions).jar.name
    if makes == 0:
        return f"Not enough for one kit: {first}."
    return f"About {makes} kit{'s' * (makes != 1)}; first to run out: {first}."


def _first_out(portions: Sequence[Portion]) -> Portion:
    return min(portions, key=lambda p: (p.jar.on_hand_g or 0) / (p.grams_per_kit or 1))


def _grains(jars: Sequence[Jar]) -> list[str]:
    sizes = sorted(j.texture.grain_mm for j in jars if j.texture.grain_mm)
    if len(sizes) < 3:
        return []
    told = listed([f"{s:g}" for s in sizes])
    if sizes[1] >= 1.5 * sizes[0] and sizes[2] >= 1.5 * sizes[1]:
        return [f"The three grain sizes, {told} mm, give a fine, a middle and a showpiece."]
    if sizes[2] >= 2 * sizes[0]:
        return [f"Grains from {sizes[0]:g} to {sizes[2]:g} mm: some to cover, some to place."]
    return [f"All three are of about one grain size ({told} mm), so colour and form tell them apart."]


def _forms(jars: Sequence[Jar]) -> list[str]:
    forms = list(dict.fromkeys(FORM_WORDS[j.texture.form] for j in jars if j.texture.form))
    if len(forms) < 2:
        return []
    return [f"{listed(forms).capitalize()} feel different to eye and mouth."]


def _pick_up(jars: Sequence[Jar], palette: Palette | None, anchors: Sequence[Anchor]) -> list[str]:
    out = []
    for jar in jars:
        labs = np.array([c.lab for c in jar.colours])
        if anchors and len(jar.colours) > 2:
            near = delta_e_2000(np.array([a.lab for a in anchors])[:, None, :], labs[None, :, :]) <= 1.5 * _OF
            if near.any(axis=1).sum() >= 3:
                out.append(f"Several of the theme's colours at once: {jar.name}.")
                continue
        if palette is not None:
            # What is seen at a glance: the larger shares.
            most = max(c.share for c in jar.colours)
            labs = np.array([c.lab for c in jar.colours if c.share >= 0.5 * most])
            distance = delta_e_2000(palette.labs[:, None, :], labs[None, :, :])
            tint, colour = np.unravel_index(int(np.argmin(distance)), distance.shape)
            if distance[tint, colour] <= _OF:
                out.append(f"The {palette.tints[int(tint)].name} icing returns in the {jar.name}.")
    return out


def _stock(portions: Sequence[Portion], makes: int | None) -> list[str]:
    unknown = [p.jar.name for p in portions if p.jar.on_hand_g is None]
    filled = [p.jar.name for p in portions if "density_g_per_ml" in p.jar.defaults]
    out = []
    if makes is not None:
        first = _first_out(portions).jar.name
        out.append(f"The jars on hand make about {makes} kit{'s' * (makes != 1)}; first to run out: {first}.")
    if unknown:
        out.append(f"How much there is of {listed(unknown)} is not entered.")
    if filled:
        out.append(f"Grams of {listed(filled)} go by the kind's usual density until a spoonful is weighed.")
    return out


def _idle(jars: Sequence[Jar], today: date | None) -> list[str]:
    out = []
    for jar in jars:
        if today and jar.last_used and (today - jar.last_used).days >= IDLE_DAYS:
            months = round((today - jar.last_used).days / 30.4)
            out.append(f"A chance to use what has stood for {months} months: {jar.name}.")
        if today and jar.best_before and 0 <= (jar.best_before - today).days <= 60:
            out.append(f"Best before {jar.best_before.isoformat()}, so use it now: {jar.name}.")
    return out


_CUTTERS_TOLD = ("theme", "guess", "near", "occasion", "")


def cutter_reasons(
    chosen: Sequence[Chosen], named: Sequence[Named] = (), lacking: Sequence[Named] = ()
) -> list[str]:
    """Why these cutters, and honestly so when none shows the theme.

    named    what the phrase names
    lacking  what of that no cutter of the shelf shows
    """
    if not chosen:
        return ["There are no cutters on the shelf: enter some, or cut plain rounds."]
    shows = [c for c in chosen if c.motif]
    missed = _missed(chosen, named, lacking)
    if not shows:
        plain = listed([c.cutter.name for c in chosen])
        leave = "leaves" if len(chosen) == 1 else "leave"
        if missed:
            shapes = "a plain shape" if len(chosen) == 1 else "plain shapes"
            return [*missed, f"So {shapes}, which {leave} it to the colours: {plain}."]
        return [f"No cutter on the shelf shows this theme: {plain} {leave} it to the colours."]
    of_named = [c for c in chosen if c.shows or c.goes_with]
    by_how: dict[str, list[Chosen]] = {}
    for one in chosen:
        if one not in of_named:
            by_how.setdefault(one.how if one.motif else "", []).append(one)
    out = [*missed, *_of_named(of_named, named)]
    for how, several in sorted(by_how.items(), key=lambda pair: _CUTTERS_TOLD.index(pair[0])):
        names = listed([c.cutter.name for c in several])
        if how == "theme":
            out.append(f"Cutters that show the theme: {names}.")
        elif how == "guess":
            words = list(dict.fromkeys(f"“{c.of}”" for c in several))
            out.append(f"A guess at what {listed(words)} mean{'s' * (len(words) == 1)}: {names}.")
        elif how == "near":
            told = listed([f"{c.cutter.name} for {c.of or c.motif}" for c in several])
            out.append(f"Near the theme, for want of the thing itself: {told}.")
        elif how == "occasion":
            for of in dict.fromkeys(c.of for c in several):
                names = listed([c.cutter.name for c in several if c.of == of])
                out.append(f"For the {of}: {names}." if of else f"In passing of the theme: {names}.")
        else:
            out.append(f"A plain shape fills up: {names}.")
    return out


def _missed(chosen: Sequence[Chosen], named: Sequence[Named], lacking: Sequence[Named]) -> list[str]:
    """What is named and not shown, by name."""
    shown = {name for one in chosen for name in one.shows}
    missing = [n for n in named if n.firm and n.name not in shown]
    nowhere = [n.told for n in missing if n in lacking]
    elsewhere = [n.told for n in missing if n not in lacking]
    out = []
    if nowhere:
        out.append(f"No cutter on the shelf shows {listed(nowhere, 'or')}.")
    if elsewhere:
        out.append(f"None of these cutters shows {listed(elsewhere, 'or')}, but the shelf has one that does.")
    return out


def _of_named(chosen: Sequence[Chosen], named: Sequence[Named]) -> list[str]:
    """What shows a thing or theme itself, and what only goes with it: "Bear shows the theme; fish goes with it."

    With several named, each cutter is told for the first that it fits.
    """
    shows: list[str] = []
    goes: list[str] = []
    plainly: list[str] = []
    for one in named:
        theme = "the theme" if len(named) == 1 else f"“{one.name}”"
        itself = list(dict.fromkeys(c.cutter.name for c in chosen if c.shows[:1] == (one.name,)))
        further = [c.cutter.name for c in chosen if not c.shows and c.goes_with[:1] == (one.name,)]
        if itself:
            shows.append(f"{listed(itself)} show{'s' * (len(itself) == 1)} {theme}")
            plainly += itself if all(one.name in name for name in itself) else []
        if further:
            it = "it" if itself and len(named) == 1 else theme
            goes.append(f"{listed(further)} go{'es' * (len(set(further)) == 1)} with {it}")
    if len(shows) > 1 and len(plainly) == sum(1 for c in chosen if c.shows):
        shows = [f"{listed(plainly)} show what was named"]
    told = "; ".join([*shows, *goes])
    return [told[0].upper() + told[1:] + "."] if told else []


def cutter_cautions(chosen: Sequence[Chosen]) -> list[Caution]:
    """Thin parts that break."""
    thin = listed([c.cutter.name for c in chosen if c.cutter.thin_parts])
    if not thin:
        return []
    text = f"Thin parts may break: {thin}. Cut spares and cool them on the sheet."
    return [Caution("thin", text, "thin parts break", PRACTICE, "note", f"Thin parts may break: {thin}.")]
