"""The command `themekit`; a subcommand's module is imported only when it is used."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module

import click

from api.commands import refusals
from themekit import __version__
from themekit.errors import ThemekitError

#: Each subcommand with the module, beside this one, that holds it as `command`.
COMMANDS = {
    "ideas": "ideas",
    "palettes": "palettes",
    "trios": "trios",
    "reply": "reply",
    "theme": "theme",
    "batch": "batch",
    "idle": "idle",
    "taste": "taste",
    "season": "season",
    "calendar": "calendar",
    "photo": "photo",
    "import": "importing",
    "export": "export",
    "demo": "demo",
    "serve": "serve",
    "passphrase": "passphrase",
    "token": "token",
    "bulk": "bulk",
    "backup": "backup",
    "restore": "restore",
    "doctor": "doctor",
}
#: Exit codes where the reader of our output has gone (click's own), and of Ctrl-C.
PIPE_CLOSED, INTERRUPTED = 1, 130


class LazyGroup(click.Group):
    """A group that knows its commands by name and imports the one that is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order of help."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        module = COMMANDS.get(cmd_name)
        if module is None:
            return None
        found: click.Command = import_module(f"api.commands.{module}").command
        return found


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="themekit %(version)s")
def themekit() -> None:
    """Ideas for decorate-it-yourself cookie kits, from your own shelf of cutters, sprinkles and gels.

    Begin with: themekit ideas "owl party in teal and gold" --shelf demo
    """


def run(arguments: Sequence[str]) -> int:
    """Run one command line and return its exit code: 0, or 2 where it was refused."""
    try:
        themekit.main(list(arguments), prog_name="themekit", standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()
        return refusals.REFUSED
    except click.UsageError as error:
        return refusals.tell_usage(error, "--json" in arguments)
    except ThemekitError as error:
        return refusals.tell(error, "--json" in arguments)
    except (click.Abort, KeyboardInterrupt):
        return INTERRUPTED
    return 0


def main() -> None:
    """The entry point: run what the shell was given, and end with its exit code."""
    # A short run leaves no garbage worth looking for; what runs long turns this on again.
    gc.disable()
    for stream in (sys.stdout, sys.stderr):
        # A terminal that lacks a sign gets "?" for it.
        stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        code = run(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:
        code = PIPE_CLOSED
        # Python flushes once more at its end, and would complain.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(code)


if __name__ == "__main__":
    main()
