"""The card with directions that goes into each kit."""

from __future__ import annotations

import re
from collections.abc import Mapping

from api.prints.job import Job, Json, jar_colours, logo
from themekit.draw.cookies import cookie_picture
from themekit.make.cautions import Caution
from themekit.make.days import told_day
from themekit.make.label import text_of
from themekit.make.settings.label import PLACEHOLDERS
from themekit.suggest.words import listed

#: Cautions that whoever decorates has to know, beside the label.
_TOLD = ("choking", "decoration", "honey", "sharp")
_PLACEHOLDER = re.compile("{(" + "|".join(PLACEHOLDERS) + ")}")


def card(job: Job) -> Json:
    """The card's data. Raises `InvalidValue` for a picture that cannot be printed."""
    kit, own = job.work.order.kit, job.work.order.settings.label
    toppings = [{"name": t.jar.name, "colours": jar_colours(t.jar)} for t in kit.toppings]
    steps = [line.strip() for line in filled(own.directions, job).split("\n") if line.strip()]
    return {
        **job.basics,
        "logo": logo(own.picture),
        "picture": _picture(job),
        "tints": [{"hex": tint.hex, "name": tint.name or tint.hex} for tint in kit.tints],
        "steps": steps,
        # She may have numbered them herself.
        "numbered": any(re.match(r"\d", step) for step in steps),
        "toppings": toppings,
        "toppings_title": "Mixed in your cups:" if kit.serve == "mixed" else "In your cups:",
        "use_by": _use_by(job),
        "allergens": _allergens(job),
        "cautions": [_short(c) for c in job.work.cautions if c.kind in _TOLD],
        "see_label": "All ingredients and allergens: see the label.",
    }


def filled(text: str, job: Job) -> str:
    """Her text with the placeholders that there are filled in; other braces stay as they are."""
    kit = job.work.order.kit
    until = job.work.label.best_before
    values: Mapping[str, str] = {
        "kit": job.name,
        "shelf": job.shelf,
        "colours": listed([tint.name or tint.hex for tint in kit.tints]) or "icing",
        "toppings": listed([t.jar.name for t in kit.toppings]) or "what you like",
        "cookies": str(kit.cookies),
        "use_by": told_day(until) if until else "the date on the label",
    }
    return _PLACEHOLDER.sub(lambda found: values[found[1]], text)


def _picture(job: Job) -> str:
    """A cookie of the kit's first cutter in its first tint, not yet sprinkled; "" without either."""
    kit = job.work.order.kit
    cuts = [cut.cutter for cut in kit.cuts if cut.cookies]
    if not cuts or not kit.tints:
        return ""
    piped = kit.tints[1] if len(kit.tints) > 1 else None
    return cookie_picture(cuts[0], kit.tints[0], piped=piped)


def _use_by(job: Job) -> str:
    until = job.work.label.best_before
    return f"Use it up by {told_day(until)}." if until else "Use it up by: ____________________"


def _allergens(job: Job) -> str:
    """The label's allergens in one line, with what is not entered told in the same."""
    told = job.work.label
    line = (text_of(told.contains) or told.if_no_list).strip()
    if told.incomplete:
        line = f"Allergens are not all entered yet: not to be used. {line}"
    return " ".join(filter(None, (line, told.may_contain)))


def _short(caution: Caution) -> str:
    """A caution without its source, which the bench sheet tells."""
    return caution.text.replace(f" ({caution.source})", "")
