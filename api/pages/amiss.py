"""What is wrong with a form, told beside each field that it is about, and above with a way to each.

An error's problems name fields as the service does. Each form says which of its elements these
are, in the order of the page: an element whose value was refused is marked as such, described
by what is wrong, and the first one has the focus.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from jinja2.runtime import Context
from jinja2.utils import pass_context
from markupsafe import Markup, escape

from themekit.errors import Problem


@dataclass(frozen=True, slots=True)
class FormFields:
    """A form's fields in their order on the page; the element of each has the id prefix + name.

    `also` leads other names that problems use to one of `names`.
    """

    prefix: str
    names: tuple[str, ...]
    also: Mapping[str, str] = field(default_factory=dict)

    def element(self, path: str) -> str:
        """The id of the element that a problem's field is about; "" where it is none of this form's."""
        for name in (path, *reversed(path.split("."))):
            name = self.also.get(name, name)
            if name in self.names:
                return self._id(name)
        return ""

    def first(self, ids: set[str]) -> str:
        """Which of some elements comes first; "" for none."""
        return next((self._id(name) for name in self.names if self._id(name) in ids), "")

    def _id(self, name: str) -> str:
        return self.prefix + name.replace(" ", "-")


#: For what has no form.
NO_FORM = FormFields("", ())


def placed(problems: list[tuple[Problem, str]], form: FormFields) -> dict[str, Any]:
    """Problems, each with the word of its field, as templates tell them: "problems" and the "first" element."""
    told = [
        {"field": word, "at": form.element(p.field), "got": p.got, "allowed": p.allowed, "hint": p.hint}
        for p, word in problems
    ]
    return {"problems": told, "first": form.first({one["at"] for one in told})}


#: What is allowed is folded away from so many characters on: a list that nobody reads to its end.
_LONG = 200


def mending(problem: Any, folded: bool = True) -> Markup:
    """What was given, what is wanted and what to do, in one line; a long list last, `folded` or left out."""
    got = Markup("<strong>{}</strong> – ").format(problem["got"]) if problem["got"] is not None else Markup()
    if problem["hint"] and len(problem["allowed"] or "") > _LONG:
        fold = Markup('<details class="inner"><summary>All that it can be</summary>{}</details>')
        return got + escape(problem["hint"]) + (fold.format(problem["allowed"]) if folded else "")
    allowed = f"wanted: {problem['allowed']}." if problem["allowed"] else ""
    return got + Markup(" ").join(escape(text) for text in (allowed, problem["hint"]) if text)


@pass_context
def marks(context: Context, id: str) -> Markup:
    """The attributes of the element of that id: none unless its value was refused."""
    if not _beside(context, id):
        return Markup()
    focus = " autofocus" if context["error"].get("first") == id else ""
    return Markup(' aria-invalid="true" aria-describedby="{}-amiss"{}').format(id, focus)


@pass_context
def amiss(context: Context, id: str) -> Markup:
    """What is wrong with the element of that id, to stand behind it."""
    found = _beside(context, id)
    if not found:
        return Markup()
    lines = Markup("<br>").join(mending(one, folded=False) for one in found)
    return Markup('<span class="amiss" id="{}-amiss">{}</span>').format(id, lines)


def _beside(context: Context, id: str) -> list[Any]:
    error = context.get("error")
    return [one for one in error["problems"] if one["at"] == id] if isinstance(error, dict) else []
