"""Batches for people, told from the same answers that --json prints."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from api.commands.paper import Paper
from api.commands.telling import Json, Lines, caution_lines, listed, number, plural
from themekit.errors import Problem

#: As many lines of what is not known are shown with a new batch; all of them with `show`.
_FEW = 3


def list_lines(answer: Json, shelf: str, sheet: Paper) -> Lines:
    """Batches, a line each."""
    rows = answer["items"]
    if not rows:
        return sheet.wrapped(f"There are no batches on the shelf {shelf}. Begin with: themekit batch make TEXT.")
    out = sheet.wrapped(f"Batches on the shelf {shelf}:")
    for row in rows:
        due = f", pick-up {row['due']}" if row["due"] else ""
        short = f"; SHORT of {listed(s['name'] for s in row['short'])}" if row["short"] else ""
        told = f"{row['id']}: {row['name']}, {plural(row['kits'], 'kit')}, {row['state']}{due}{short}"
        out += sheet.wrapped(told, "  ", "    ")
    return out


def made_lines(row: Json, work: Json, sheet: Paper) -> Lines:
    """A new batch: what is wrong with it first, what it holds, cost, days, and what comes next."""
    out = [*sheet.wrapped(f"Batch {_title(row)}, {row['state']}."), *_first(work, sheet)]
    out += _contents(work["contents"], sheet)
    out += _cost(work["cost"], sheet)
    out += _days(work["days"], sheet)
    grave = [caution["text"] for caution in work["cautions"] if caution["severity"] == "danger"]
    out += [*sheet.heading("Take care:"), *caution_lines(grave, sheet)] if grave else []
    out += _told("Not known", work["missing"][:_FEW], sheet)
    id = row["id"]
    hint = f"Next: themekit batch show {id} for all of it, themekit batch promise {id} to hold what it needs."
    return [*out, "", *sheet.wrapped(hint)]


def step_lines(row: Json, sheet: Paper) -> Lines:
    """A batch after one of its steps, with what it holds or is short of."""
    out = sheet.wrapped(f"Batch {_title(row)}: {row['state']}.")
    held = [f"{_amount(s['held'], s['unit'])} {s['name']}" for s in row["stock"] if s["held"]]
    if held:
        out += sheet.wrapped(f"Held for it: {listed(held)}.", "  ", "    ")
    if row["state"] == "promised":
        lacking = [
            f"{_amount(s['needed'] - s['held'], s['unit'])} {s['name']}"
            for s in row["stock"]
            if s["needed"] is not None and s["needed"] - s["held"] > 1e-6
        ]
        if lacking:
            out += sheet.wrapped(f"Still to be bought: {listed(lacking)}.", "  ", "    ")
    return out


def work_lines(row: Json, work: Json, sheet: Paper) -> Lines:
    """Everything that follows from a batch; what it does not keep, and what cannot be done, leads."""
    out = [*sheet.wrapped(f"Batch {_title(row)}, {row['state']}"), *_first(work, sheet)]
    out += _contents(work["contents"], sheet)
    out += _icing(work["icing"], sheet)
    out += _dough(work["dough"], sheet)
    out += _packing(work["packing"], sheet)
    out += _shopping(work["shopping"], sheet)
    out += _cost(work["cost"], sheet)
    out += _days(work["days"], sheet)
    out += _label(work["label"], sheet)
    cautions = [caution["text"] for caution in work["cautions"]]
    out += [*sheet.heading("Take care:"), *caution_lines(cautions, sheet)] if cautions else []
    return [*out, *_told("Not known", work["missing"], sheet)]


def _title(row: Json) -> str:
    due = f", pick-up {row['due']}" if row["due"] else ""
    return f"{row['id']}, {row['name']}: {plural(row['kits'], 'kit')}{due}"


def _first(work: Json, sheet: Paper) -> Lines:
    """Needs that are not kept, and problems."""
    out: Lines = []
    for sentence in work["breaks"]:
        out += sheet.wrapped(f"NOT KEPT: {sentence}", hanging="  ")
    for problem in work["problems"]:
        told = Problem(problem["field"], problem["got"], problem["allowed"], problem["hint"] or "")
        out += sheet.wrapped(f"NOT POSSIBLE: {told.sentence()}", hanging="  ")
    return out


def _told(title: str, lines: Iterable[str], sheet: Paper) -> Lines:
    """A heading with lines under it; nothing without any."""
    told = [line for text in lines for line in sheet.wrapped(text, "  - ", "    ")]
    return [*sheet.heading(f"{title}:"), *told] if told else []


def _amount(amount: float | None, unit: str) -> str:
    if amount is None:
        return "?"
    return f"{amount:g}" if unit == "piece" else f"{number(amount)} {unit}"


def _contents(contents: Json, sheet: Paper) -> Lines:
    """Cookies, icing, toppings and small goods; for one kit, and for all with waste."""
    lines = [f"{c['per_kit']} cookies, {c['cutter']['name']}: bake {c['to_bake']}" for c in contents["cookies"]]
    bags = [f"{i['tint']['name'] or i['tint']['hex']} {number(i['g_per_kit'])} g" for i in contents["icing"]]
    if bags:
        lines.append(f"icing: {listed(bags)}")
    for portion in contents["toppings"]:
        each = f"{portion['tbsp_per_kit']:.3g} tbsp, {_amount(portion['g_per_kit'], 'g')}"
        lines.append(f"{portion['jar']['name']}: {each}; in all {_amount(portion['total_g'], 'g')}")
    goods = [f"{_amount(g['total'], g['unit'])} {g['what']}" for g in contents["goods"]]
    if goods:
        lines.append(f"in all, with waste: {listed(goods)}")
    return _told("In each kit", lines, sheet)


def _icing(icing: Json, sheet: Paper) -> Lines:
    """White icing, then the colours in the order to mix them with their gels."""
    out = sheet.heading(f"Icing, {number(icing['white_g'])} g of white, made once:")
    out += [line for text in icing["recipe_told"] for line in sheet.wrapped(text, "  - ", "    ")]
    for place in icing["mix_order"]:
        colour = icing["colours"][place]
        doses = [f"{d['text']} of {d['gel']} (first {d['first']}, then {d['rest']})" for d in colour["doses"]]
        told = f"{colour['name']}: {number(colour['white_g'])} g of white icing"
        told += f" with {listed(doses)}" if doses else ", no gel"
        out += sheet.coloured([colour["predicted_hex"] or colour["hex"]], told, "  ")
    notes = [*icing["told"], icing["coverage"]["told"], *icing["consistency"]["told"][:1], *icing["not_known"][:1]]
    return [*out, *(line for text in notes for line in sheet.wrapped(text, "  ", "  "))]


def _dough(dough: Json, sheet: Paper) -> Lines:
    least = "at least " if dough["at_least"] else ""
    parts = [f"{i['g']} g {i['name']}" for i in dough["ingredients"]]
    out = sheet.heading(f"Dough, {least}{dough['dough_g']} g for {dough['to_cut']} cookies:")
    out += sheet.wrapped(f"{listed(parts)}." if parts else "Not known.", "  ", "  ")
    bake = dough["baking"]
    told = f"{least}{plural(bake['trays'], 'tray')}, {plural(bake['loads'], 'oven load')}, "
    out += sheet.wrapped(f"{told}{bake['bake_minutes']:g} minutes of baking in all.", "  ", "  ")
    return [*out, *(line for text in dough["notes"] for line in sheet.wrapped(text, "  ", "  "))]


def _packing(packing: Json, sheet: Paper) -> Lines:
    lines = [*packing["advice"]]
    chosen = packing["in_stock"] or packing["best"]
    if chosen:
        lines += chosen["words"]
    lines += [f"One packed kit weighs {packing['weight']['words']}.", *packing["breakage"], *packing["notes"]]
    return _told("Packing", lines, sheet)


def _shopping(shopping: Json, sheet: Paper) -> Lines:
    lines = []
    for line in shopping["lines"]:
        if line["status"] == "enough":
            continue
        need = _amount(line["short"] if line["status"] == "buy" else line["needed"], line["unit"])
        packs = f", {plural(line['packs'], 'pack')}" if line["packs"] else ""
        word = "buy" if line["status"] == "buy" else "look whether there is enough of"
        lines.append(f"{word} {line['name']}: {need}{packs}")
    return _told("Shopping", lines, sheet)


def _money(amount: str | None, cost: Json) -> str:
    return "not known" if amount is None else " ".join(filter(None, (amount, cost["currency"])))


def _cost(cost: Json, sheet: Paper) -> Lines:
    least = "at least " if cost["at_least"] else ""
    lines = [f"{least}{_money(cost['per_batch'], cost)} for the batch, {_money(cost['per_kit'], cost)} a kit"]
    parts = [f"{p['part']} {_money(p['per_batch'], cost)}" for p in cost["parts"]]
    lines += [listed(parts)] if parts else []
    price = cost["price"]
    if price:
        lines.append(f"price {_money(price['price'], cost)} a kit, by {price['by']}{_margin(price)}")
    return _told("Cost", lines, sheet)


def _margin(price: Mapping[str, Any]) -> str:
    if price["margin"] is None:
        return ""
    even = price["break_even_kits"]
    told = f": {100 * float(price['margin']):.1f} % of it is left, {price['profit_per_batch']} of the batch"
    return told + (f", nothing lost from {plural(even, 'kit')} on" if even else "")


def _days(days: Json | None, sheet: Paper) -> Lines:
    if days is None:
        return []
    steps = [
        f"{step['day']}: {step['what']}" + (f" ({round(step['minutes'])} min)" if step["minutes"] else "")
        for step in days["steps"]
    ]
    return _told("Days", [*steps, f"{days['best_before']}: best before", *days["warnings"]], sheet)


def _label(label: Json, sheet: Paper) -> Lines:
    """What the label says of allergens, weight and date, and what must be seen to before."""
    contains = "".join(run["text"] for run in label["contains"]) or label["if_no_list"]
    shown: Sequence[str] = (label["incomplete"], contains, label["net_quantity"], label["best_before_text"])
    return _told("Label", [*filter(None, shown), *label["problems"]], sheet)
