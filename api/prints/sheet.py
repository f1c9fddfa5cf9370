"""The sheet for the bench: all that is made and packed for a batch, on at most two pages.

What must be put right leads. Type is large enough to read at arm's length; where a batch
has so much to tell that two pages do not hold it, the long lists are cut, with what is left
out counted, before type gets smaller.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from api.prints.amounts import grams, of_unit, share_of, spoon
from api.prints.job import Job, Json, jar_colours
from api.prints.layout import layers
from themekit.make.days import told_day
from themekit.make.doses import GelDose
from themekit.make.icing import HALVES
from themekit.make.units import length, spoonfuls, temperature


@dataclass(frozen=True, slots=True)
class Cut:
    """How much is told: lines of each long list, and points of type for text."""

    cautions: int
    notes: int
    size: float


#: From all there is to what is least; the sheet takes the first that goes on two pages.
CUTS = (Cut(40, 40, 12), Cut(12, 8, 12), Cut(9, 4, 12), Cut(6, 2, 12), Cut(6, 2, 10.5), Cut(6, 2, 9), Cut(4, 1, 7))


def sheet(job: Job, cut: Cut = CUTS[0]) -> Json:
    """The sheet's data, its long lists cut as told."""
    work = job.work
    return {
        **job.basics,
        "size": cut.size,
        "kits": f"{work.order.kits} {'kit' if work.order.kits == 1 else 'kits'}",
        "due": f"pick-up {told_day(work.days.due)}" if work.days else "no pick-up day",
        "to": f"to {job.to}" if job.to else "",
        "asked": job.asked,
        "alarms": _some([*work.breaks, *_broken(job)], cut.cautions),
        "days": _days(job),
        "dough": _dough(job, cut),
        "white": _white(job),
        "colours": _colours(job),
        "toppings": _toppings(job),
        "goods": [
            {
                "name": line.what,
                "kit": of_unit(line.per_kit, line.unit, job.system),
                "all": of_unit(line.total, line.unit, job.system),
            }
            for line in work.contents.goods
        ],
        "packing": _packing(job, cut),
        "cautions": _cautions(job, cut),
        "buy": _to_buy(job, cut),
        "missing": _some(_missing(job), cut.notes),
    }  # fmt: skip


def _some(lines: Sequence[str], most: int) -> list[str]:
    """The first lines, and how many more there are."""
    left = len(lines) - most
    return list(lines) if left <= 1 else [*lines[:most], _more(left)]


def _more(count: int) -> str:
    return f"… and {count} more on the screen."


def _to_buy(job: Job, cut: Cut) -> list[str]:
    """What is still to buy and to look for, in one sentence each."""
    lines = job.work.shopping.lines
    buy = [f"{line.name} ({of_unit(line.short, line.unit, job.system)})" for line in lines if line.status == "buy"]
    look = [line.name for line in lines if line.status == "check"]
    told = [f"Still to buy: {'; '.join(_some(buy, cut.cautions))}."] if buy else []
    return told + ([f"Look whether it is there: {'; '.join(_some(look, cut.cautions))}."] if look else [])


def _missing(job: Job) -> list[str]:
    """What is not known, without what only money and shopping ask for."""
    work = job.work
    elsewhere = {*work.cost.missing, *work.shopping.missing}
    return [line for line in dict.fromkeys(job.missing) if line not in elsewhere]


def _cautions(job: Job, cut: Cut) -> list[Json]:
    told = [{"text": c.text, "danger": c.severity == "danger"} for c in job.work.cautions]
    left = len(told) - cut.cautions
    return told if left <= 1 else [*told[: cut.cautions], {"text": _more(left), "danger": False}]


def _broken(job: Job) -> list[str]:
    """What cannot be done so, what does not suffice or is short, in sentences."""
    work = job.work
    told = [problem.sentence() for problem in work.problems]
    told += list(work.label.problems)
    if work.label.incomplete:
        told.append(work.label.incomplete)
    if work.icing.coverage.suffices is False:
        told.append(work.icing.coverage.told)
    if work.packing.best is None:
        told += work.packing.advice
    told += work.days.warnings if work.days else ()
    return told


def _days(job: Job) -> list[Json]:
    days = job.work.days
    if days is None:
        return []
    lines = [{"day": _day(s.day), "what": s.what, "time": _time(s.minutes)} for s in days.steps]
    return [*lines, {"day": _day(days.best_before), "what": "best before", "time": ""}]


def _day(day: date) -> str:
    """A day without its year, which the pick-up tells."""
    return told_day(day).rpartition(" ")[0]


def _time(minutes: float | None) -> str:
    """Minutes to 5, as hours from an hour on."""
    if minutes is None:
        return ""
    hours, rest = divmod(5 * round(minutes / 5), 60)
    return " ".join(word for word in (f"{hours} h" if hours else "", f"{rest} min" if rest else "") if word)


def _dough(job: Job, cut: Cut) -> Json:
    plan, made = job.work.dough, job.work.order.settings.dough
    least = "at least " if plan.at_least else ""
    loads = f"{plan.baking.trays} trays, {plan.baking.loads} oven loads"
    oven = f"{temperature(made.oven_c, job.system)}, {made.bake_minutes:g} min a load"
    return {
        "all": least + grams(plan.dough_g, job.system),
        "lines": [
            {"name": i.name, "amount": grams(i.g, job.system), "also": ""} for i in plan.ingredients
        ],
        "cutters": [
            {
                "name": line.cutter.name,
                "count": str(line.to_cut),
                "about": ", ".join(filter(None, (
                    f"{line.cookies} + {line.to_cut - line.cookies} spare" if line.to_cut > line.cookies else "",
                    f"{length(line.thickness_mm, job.system)} thick",
                    f"{line.grid.per_tray} a tray" if line.grid and line.grid.per_tray else "size not known"
                    if line.grid is None else "",
                ))),
            }
            for line in plan.lines
        ],
        "bake": f"{least}{loads}; {oven}.",
        "notes": _some([*plan.notes, *(f"{x.cutter.name}: {x.note}." for x in plan.lines if x.note)], cut.notes),
    }  # fmt: skip


def _white(job: Job) -> Json:
    plan, made = job.work.icing, job.work.order.settings.icing
    lines = [
        {"name": name, "amount": grams(g, job.system), "also": spoonfuls(name, g) or ""}
        for name, g in plan.recipe.items()
    ]
    flow = f"Thin it until a cut closes in {made.wanted_seconds:g} s"
    if plan.thinning_g is None:
        flow += ", by the spoon: no tests of your own are entered."
    else:
        flow += f": about {grams(plan.thinning_g, job.system)} of water in all, half of it first."
    return {
        "title": "Buttercream" if made.recipe == "buttercream" else "White icing",
        "all": grams(plan.white_g, job.system),
        "lines": lines,
        "notes": [flow if made.recipe != "buttercream" else plan.consistency.told[0], plan.coverage.told],
    }


def _colours(job: Job) -> Json:
    """The colours in the order to mix them, each gel's first half and the rest."""
    plan = job.work.icing
    found = []
    for place in plan.mix_order:
        colour = plan.colours[place]
        shown = colour.predicted_hex or colour.hex
        found.append(
            {
                "name": colour.name,
                "hex": shown,
                "white": grams(colour.white_g, job.system),
                "bags": f"{colour.bags} × {grams(job.work.order.settings.contents.icing_g_per_bag, job.system)}",
                "water": "" if not colour.thinning_g else grams(colour.thinning_g, job.system),
                "doses": [
                    {**_dose(d), "first": d.first, "rest": d.rest, "over": bool(d.over_limit)}
                    for d in colour.doses
                ],
                "told": list(colour.told),
            }
        )
    return {"lines": found, "halves": HALVES if plan.gels else "", "deepen": plan.not_known[0]}


def _dose(dose: GelDose) -> Json:
    """The gel with its whole amount, what that is in drops apart."""
    amount, _, about = dose.text.partition(" (")
    return {"gel": dose.gel, "all": amount, "about": f" ({about}" if about else ""}


def _toppings(job: Job) -> Json:
    work = job.work
    rows = [
        {
            "name": p.jar.name,
            "colours": jar_colours(p.jar),
            "kit": f"{spoon(p.tbsp_per_kit)}, {grams(p.g_per_kit, job.system, fine=True)}",
            "all": grams(p.total_g, job.system),
        }
        for p in work.contents.toppings
    ]
    kept = share_of(work.contents.waste_share)
    mixed = work.order.kit.serve == "mixed"
    title = "Toppings, mixed" if mixed else "Toppings, a cup of each"
    return {
        "title": title,
        "lines": rows,
        "note": f"In all: with {kept} for waste." if rows else "None in this kit.",
    }


def _packing(job: Job, cut: Cut) -> Json:
    plan = job.work.packing
    chosen = plan.in_stock or plan.best
    weight = f"One packed kit weighs {plan.weight.words}."
    if chosen is None or chosen.inner_mm is None:
        return {"box": "", "advice": list(plan.advice), "layers": [], "names": "", "size": "", "notes": [weight]}
    inner = " × ".join(length(mm, job.system) for mm in chosen.inner_mm)
    shown, names = layers(chosen.laid, chosen.inner_mm)
    notes = [*plan.breakage, *plan.notes]
    if chosen.answer == "fits only laid so":
        notes.insert(0, "It fits only laid so.")
    return {
        "box": chosen.box.name,
        "size": f"room inside {inner}",
        "advice": list(plan.advice) if plan.best is not None and chosen is not plan.best else [],
        "layers": shown,
        "names": names,
        "notes": [weight, *_some(notes, cut.notes)],
    }
