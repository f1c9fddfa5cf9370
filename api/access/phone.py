"""Opening the page on a phone in the same network: a picture to scan, with a link good once."""

from __future__ import annotations

import ipaddress

from flask import Blueprint, Response, request
from markupsafe import Markup

from api.access.listening import Listening, listening
from api.service import service
from catalog.access import LINK_LIFE, Access

blp = Blueprint("phone", __name__)


@blp.route("/phone", methods=["GET", "POST"])
def phone() -> Response:
    """How to open the page on a phone; on demand a link to scan."""
    from api.pages.base import show

    at = listening()
    found = addresses(at, request.host) if at.sign_in else []
    if request.method == "GET" or not found:
        return show("phone.html", heading="On your phone", addresses=found, at=at, qr=None)
    chosen = request.form.get("address", "")
    address = chosen if chosen in found else found[0]
    access, shelf_id = Access(service().store), service().shelf_id
    link = f"{request.scheme}://{address}/enter?key={access.new_link(shelf_id)}"
    minutes = int(LINK_LIFE.total_seconds() // 60)
    return show(
        "phone.html",
        heading="On your phone",
        addresses=found,
        at=at,
        qr=qr(link),
        link=link,
        chosen=address,
        minutes=minutes,
    )


def addresses(at: Listening, asked: str) -> list[str]:
    """Where a phone may find this service, the likeliest first; the machine itself is asked, nobody else.

    `asked` is the host and port that the page was opened by: what is not this machine's own
    name for itself serves a phone as well.
    """
    name = asked.rpartition(":")[0] if asked.rpartition(":")[2].isdigit() else asked
    if name not in ("localhost", "[::1]") and not name.startswith("127."):
        return [asked]
    if at.proxied:
        return []
    own = ipaddress.ip_address(at.host)
    found = _of_this_machine() if own.is_unspecified else [own]
    tail = f":{at.port}" if at.port else asked[len(name) :]
    return [(f"[{one}]" if one.version == 6 else str(one)) + tail for one in found]


def _of_this_machine() -> list[ipaddress.IPv4Address | ipaddress.IPv6Address]:
    """The private IPv4 addresses of the network cards that are up, home networks first."""
    import psutil

    up = {name for name, card in psutil.net_if_stats().items() if card.isup}
    found = {
        ipaddress.IPv4Address(one.address)
        for name, cards in psutil.net_if_addrs().items()
        if name in up
        for one in cards
        if one.family.name == "AF_INET"
    }
    home = ipaddress.ip_network("192.168.0.0/16")
    usable = [one for one in found if one.is_private and not one.is_loopback and not one.is_link_local]
    return sorted(usable, key=lambda one: (one not in home, one))


def qr(link: str) -> Markup:
    """A link as a picture to scan (ISO/IEC 18004), without any style inside."""
    import segno

    made = segno.make_qr(link, error="m").svg_inline(
        scale=6, border=4, dark="#000", light="#fff", svgclass="qr", lineclass=None, omitsize=True
    )
    return Markup(made)
