"""Opening the stall: on this machine alone, or for the tablets of its network."""

from __future__ import annotations

import errno
import hashlib
import hmac
import ipaddress
import socket
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from render.errors import MonikerfError
from render.stall.guard import Door

PORT: Final = 8317
"""Where the stall listens unless told otherwise."""
SWITCH_S: Final = 0.0005
"""After so long whoever draws lets whoever answers have a turn: Python's usual 5 ms add up over a request."""
SHORTEST: Final = 8
"""Letters that a passphrase has at least."""


@dataclass(frozen=True, slots=True)
class Opened:
    """Where the stall is: for this machine, for the maker, and for tablets (empty without a network)."""

    here: str
    maker: str
    tablets: str


@dataclass(frozen=True, slots=True)
class Way:
    """How the stall is to be reached.

    Attributes:
        port: to listen on.
        lan: also for the network this machine is in; others need the token in the address.
        address: of this machine in that network; empty: that of the way out.
    """

    port: int = PORT
    lan: bool = False
    address: str = ""


def open_stall(shop: Path, passphrase: str, way: Way, told: Callable[[Opened], None]) -> None:
    """Serve the stall of a shop until it is stopped.

    Args:
        shop: the shop folder.
        passphrase: for the maker's side.
        way: how it is reached.
        told: is told where it is, as soon as it can be reached.

    Raises:
        MonikerfError: the shop, the address or the port cannot be used, or the passphrase is too short.
    """
    import uvicorn

    from render.stall.server import stall_app, stall_secret
    from render.stall.works import Works

    if len(passphrase) < SHORTEST:
        raise MonikerfError("the passphrase is too short", hint=f"take {SHORTEST} letters or more")
    secret, port = stall_secret(shop), way.port
    address = (way.address or lan_address()) if way.lan else ""
    token = hmac.new(secret, b"token", hashlib.sha256).hexdigest()[:24] if way.lan else ""
    names = ("127.0.0.1", "localhost", "[::1]", *([address] if address else []))
    query = f"/?t={token}" if token else "/"
    tablets = f"http://{address}:{port}{query}" if address else ""
    door = Door(frozenset(f"{name}:{port}" for name in names), token, secret, tablets)
    listening = _listen(list(dict.fromkeys(("127.0.0.1", address or "127.0.0.1"))), port)
    try:
        works = Works.open(shop, door, passphrase)
    except BaseException:
        _close(listening)
        raise
    told(Opened(
        here=f"http://127.0.0.1:{port}{query}", maker=f"http://127.0.0.1:{port}/maker{query[1:]}",
        tablets=tablets,
    ))  # fmt: skip
    sys.setswitchinterval(SWITCH_S)
    config = uvicorn.Config(
        stall_app(works), log_level="warning", access_log=False, server_header=False, proxy_headers=False,
        timeout_graceful_shutdown=3, h11_max_incomplete_event_size=16_384, limit_concurrency=200,
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=listening)


def _listen(hosts: Sequence[str], port: int) -> list[socket.socket]:
    listening: list[socket.socket] = []
    try:
        for host in hosts:
            ipaddress.IPv4Address(host)  # a name would be asked of somebody else
            listening.append(socket.socket(socket.AF_INET, socket.SOCK_STREAM))
            listening[-1].setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listening[-1].bind((host, port))
    except (OSError, ValueError) as error:
        _close(listening)
        if isinstance(error, OSError) and error.errno != errno.EADDRNOTAVAIL:
            hint = "another stall may be open; close it, or name another with --port"
            raise MonikerfError(f"port {port} cannot be used", hint=hint) from error
        hint = "name the one that this machine has in the tablets' network, such as --address 10.42.0.1"
        raise MonikerfError(f"{host} is no address of this machine", hint=hint) from error
    return listening


def _close(sockets: Sequence[socket.socket]) -> None:
    for each in sockets:
        each.close()


def lan_address() -> str:
    """This machine's address in its network: that of the way out; nothing is sent.

    Raises:
        MonikerfError: it is in no network, or only in one that leads nowhere.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(("192.0.2.1", 9))  # RFC 5737: for documentation; a UDP connect sends nothing
            return str(way.getsockname()[0])
        except OSError as error:
            hint = "join one, or name this machine's address in it with --address, or leave out --lan"
            raise MonikerfError("this machine's network leads nowhere", hint=hint) from error
