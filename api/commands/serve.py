"""`themekit serve`: the API over HTTP on this machine."""

from __future__ import annotations

import gc
import ipaddress
import signal
from typing import Any, NoReturn

import click

from api.commands import options
from api.commands.opening import asking
from themekit.errors import InvalidValue, Problem, raise_all

HOST, PORT, HIGHEST_PORT = "127.0.0.1", 8017, 65535


@click.command("serve", short_help="The page, and the API, on this machine.")
@click.option("--host", metavar="ADDRESS", default=HOST, show_default=True, help="An address of this machine.")
@click.option("--port", metavar="N", default=str(PORT), show_default=True, help="The port; 0 takes a free one.")
@click.option(
    "--log",
    metavar="SORT",
    default="requests",
    show_default=True,
    help="What goes to standard error: “errors”; “requests”, a line each without anything personal; or "
    "“personal”, also what people send, names included.",
)
@options.PLACE
def command(host: str, port: str, log: str, as_json: bool, **given: Any) -> None:
    """Serve the page and the API on this machine, until Ctrl-C or SIGTERM."""
    import waitress

    from api.answers import to_json
    from api.app import create_app
    from api.upkeep.log import check_level, configure

    address, number = _checked(host, port)
    check_level(log)
    with asking(given) as at:
        signal.signal(signal.SIGTERM, _stop)
        try:
            app = create_app(at.store, at.shelf.name, personal_log=log == "personal")
            server = waitress.create_server(app, host=address, port=number)
        except OSError as error:
            problem = Problem("port", number, "a free port of this machine", "Take another one, or 0 for any.")
            raise InvalidValue("This port cannot be listened at.", [problem]) from error
        url = f"http://{f'[{address}]' if ':' in address else address}:{server.effective_port}"
        told = f"The shelf {at.shelf.name} is at {url} (for programs: {url}/api/v1/docs). Stop with Ctrl-C."
        configure(log)
        gc.enable()
        click.echo(to_json({"url": url, "shelf": at.shelf.name}).encode("utf-8") if as_json else told)
        server.run()


def _checked(host: str, port: str) -> tuple[str, int]:
    """The address and port to listen at; raises `InvalidValue` for both at once."""
    from api.bodies import number_in

    problems = []
    try:
        address = ipaddress.ip_address(HOST if host.strip().casefold() == "localhost" else host.strip())
    except ValueError:
        address = None
    if address is None or not address.is_loopback:
        hint = "There is no sign-in yet, so others on the network could read and change the shelf."
        problems.append(Problem("host", host, "127.0.0.1, ::1 or localhost", hint))
    number = number_in(port.strip())
    if not isinstance(number, int) or number > HIGHEST_PORT:
        hint = f"Leave it out for {PORT}."
        problems.append(Problem("port", number, f"a whole number from 0 to {HIGHEST_PORT}", hint))
    raise_all(problems, "Nothing is served at such an address.")
    return str(address), int(number)


def _stop(*_: object) -> NoReturn:
    raise SystemExit(0)
