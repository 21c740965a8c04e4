"""Opening the stall: on this machine alone, or for the tablets of its network."""

from __future__ import annotations

import hashlib
import hmac
import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from render.errors import MonikerfError
from render.stall.guard import Door

PORT: Final = 8317
"""Where the stall listens unless told otherwise."""
SHORTEST: Final = 8
"""Letters that a passphrase has at least."""


@dataclass(frozen=True, slots=True)
class Opened:
    """Where the stall is: for this machine, for the maker, and for tablets (empty without a network)."""

    here: str
    maker: str
    tablets: str


def open_stall(
    shop: Path, passphrase: str, *, port: int = PORT, lan: bool = False, told: Callable[[Opened], None]
) -> None:
    """Serve the stall of a shop until it is stopped.

    Args:
        shop: the shop folder.
        passphrase: for the maker's side.
        port: to listen on.
        lan: also for the network this machine is in; others need the token in the address.
        told: is told where it is, as soon as it can be reached.

    Raises:
        MonikerfError: the shop or the port cannot be used, or the passphrase is too short.
    """
    import uvicorn

    from render.stall.server import stall_app, stall_secret
    from render.stall.works import Works

    if len(passphrase) < SHORTEST:
        raise MonikerfError("the passphrase is too short", hint=f"take {SHORTEST} letters or more")
    secret = stall_secret(shop)
    address = lan_address() if lan else ""
    token = hmac.new(secret, b"token", hashlib.sha256).hexdigest()[:24] if lan else ""
    hosts = {f"{host}:{port}" for host in ("127.0.0.1", "localhost", "[::1]", *([address] if lan else []))}
    works = Works.open(shop, Door(frozenset(hosts), token, secret), passphrase)
    listening = _listen("0.0.0.0" if lan else "127.0.0.1", port)  # noqa: S104 - only when asked
    query = f"/?t={token}" if lan else "/"
    told(Opened(
        here=f"http://127.0.0.1:{port}{query}",
        maker=f"http://127.0.0.1:{port}/maker{query[1:]}",
        tablets=f"http://{address}:{port}{query}" if lan else "",
    ))  # fmt: skip
    config = uvicorn.Config(
        stall_app(works), log_level="warning", access_log=False, server_header=False, proxy_headers=False,
        timeout_graceful_shutdown=3, h11_max_incomplete_event_size=16_384, limit_concurrency=200,
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[listening])


def _listen(host: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        hint = "another stall may be open; close it, or name another with --port"
        raise MonikerfError(f"port {port} cannot be used", hint=hint) from error
    return listening


def lan_address() -> str:
    """This machine's address in its network: that of the way out; nothing is sent.

    Raises:
        MonikerfError: it is in no network.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(("192.0.2.1", 9))  # RFC 5737: for documentation; a UDP connect sends nothing
            return str(way.getsockname()[0])
        except OSError as error:
            raise MonikerfError(
                "this machine is in no network", hint="join one, or leave out --lan"
            ) from error
