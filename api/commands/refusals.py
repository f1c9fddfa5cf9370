"""What was refused, told on the command line with the same facts as the service's errors."""

from __future__ import annotations

import re
from typing import Any

import click

from api.commands.paper import paper
from themekit.errors import InvalidValue, Problem, ThemekitError

REFUSED = 2
#: How a field of the service is called on the command line.
_FLAGS = {
    "theme": "TEXT",
    "text": "TEXT",
    "needs.avoid_allergens": "--avoid",
    "needs.avoid_additives": "--avoid-additive",
    "needs.youngest_age": "--age",
    "needs.diet": "--diet",
    "needs.use_jars": "--use",
    "needs.skip_jars": "--skip",
    "needs.include_colours": "--include",
    "needs.avoid_colours": "--without",
    "resource": "--what",
    "path": "FILE",
    **{name: f"--{name}" for name in (
        "kits", "count", "cookies", "serve", "days", "palette", "shelf", "database", "host", "port", "idea", "due",
        "name", "state", "paper", "units", "from", "log", "to", "scheduler", "workers",
    )},
}  # fmt: skip


def tell(error: ThemekitError, as_json: bool) -> int:
    """Write an error to stderr, as JSON to stdout too, and return the exit code."""
    if as_json:
        from api.answers import to_json
        from api.errors import error_body

        body = error_body(error.code, error.message, error.problems)
        if short := getattr(error, "short", None):
            body["error"]["short"] = short
        click.echo(to_json(body).encode("utf-8"))
    sheet = paper()
    lines = sheet.wrapped(error.message)
    for problem in error.problems:
        lines += sheet.wrapped(_sentence(problem), indent="  ", hanging="    ")
    click.echo("\n".join(lines), err=True)
    return REFUSED


def tell_usage(error: click.UsageError, as_json: bool) -> int:
    """Tell of an option or command that there is not, in the same form."""
    command = error.ctx.command_path if error.ctx else "themekit"
    got = next((value for name in ("option_name", "command_name") if (value := getattr(error, name, None))), None)
    near = [word for word in getattr(error, "possibilities", None) or () if word != got]
    hint = f"Did you mean {' or '.join(near)}? " if near else ""
    problem = Problem("command line", got, _allowed(error), f"{hint}See {command} --help.")
    return tell(InvalidValue(re.split(r" \(?Did you mean", error.format_message())[0], [problem]), as_json)


def _allowed(error: click.UsageError) -> str:
    context = error.ctx
    if context is None:
        return "a value after the option"
    if isinstance(context.command, click.Group):
        return "one of the commands " + ", ".join(context.command.list_commands(context))
    options = [option for one in context.command.params for option in one.opts if option.startswith("--")]
    return "the options " + ", ".join(options)


def _sentence(problem: Problem) -> str:
    from catalog.fields import shown

    field = problem.field
    flag = _FLAGS.get(re.sub(r"\.\d+$", "", field))
    told: Any = shown(problem.got)
    return Problem(f"{flag} ({field})" if flag else field, told, problem.allowed, problem.hint).sentence()
