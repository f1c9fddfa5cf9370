"""`themekit serve`: the page and the API over HTTP, on this machine or in the network."""

from __future__ import annotations

import gc
import ipaddress
import os
import signal
from typing import Any, NoReturn

import click

from api.commands import options
from api.commands.opening import asking
from themekit.errors import InvalidValue, Problem, raise_all

HOST, PORT, HIGHEST_PORT = "127.0.0.1", 8017, 65535


@click.command("serve", short_help="The page, and the API, on this machine.")
@click.option(
    "--host",
    metavar="ADDRESS",
    default=HOST,
    show_default=True,
    help="An address of this machine; 0.0.0.0 for the whole network, which needs a passphrase.",
)
@click.option("--port", metavar="N", default=str(PORT), show_default=True, help="The port; 0 takes a free one.")
@click.option("--proxied", is_flag=True, help="One proxy stands in front; its X-Forwarded headers are believed.")
@click.option(
    "--log",
    metavar="SORT",
    default="requests",
    show_default=True,
    help="What goes to standard error: “errors”; “requests”, a line each without anything personal; or "
    "“personal”, also what people send, names included.",
)
@options.PLACE
def command(host: str, port: str, proxied: bool, log: str, as_json: bool, **given: Any) -> None:
    """Serve the page and the API, until Ctrl-C or SIGTERM.

    On this machine alone nobody has to sign in. In the network, and behind a proxy, everyone
    signs in with the shelf's passphrase: see themekit passphrase. Programs send a token instead.
    """
    import waitress

    from api.access.listening import Listening
    from api.access.passphrase import VARIABLE, ensure
    from api.answers import to_json
    from api.app import create_app
    from api.upkeep.log import check_level, configure
    from catalog.access import Access

    address, number = _checked(host, port)
    check_level(log)
    listening = Listening(address, number, proxied)
    with asking(given) as at:
        if listening.sign_in:
            ensure(Access(at.store), at.shelf.id, os.environ.get(VARIABLE))
        signal.signal(signal.SIGTERM, _stop)
        try:
            app = create_app(at.store, at.shelf.name, listening=listening, personal_log=log == "personal")
            # What a proxy's headers say is for the gate to judge.
            server = waitress.create_server(app, host=address, port=number, clear_untrusted_proxy_headers=False)
        except OSError as error:
            problem = Problem("port", number, "a free port of this machine", "Take another one, or 0 for any.")
            raise InvalidValue("This port cannot be listened at.", [problem]) from error
        listening.port = int(server.effective_port)
        url = f"http://{_here(address)}:{listening.port}"
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
    if address is None:
        hint = "0.0.0.0 stands for all of them. Leave it out for this machine alone."
        problems.append(Problem("host", host, "localhost or an IP address of this machine", hint))
    number = number_in(port.strip())
    if not isinstance(number, int) or number > HIGHEST_PORT:
        hint = f"Leave it out for {PORT}."
        problems.append(Problem("port", number, f"a whole number from 0 to {HIGHEST_PORT}", hint))
    raise_all(problems, "Nothing is served at such an address.")
    return str(address), int(number)


def _here(address: str) -> str:
    """How this machine itself opens what listens at an address."""
    shown = {"0.0.0.0": HOST, "::": "::1"}.get(address, address)
    return f"[{shown}]" if ":" in shown else shown


def _stop(*_: object) -> NoReturn:
    raise SystemExit(0)
