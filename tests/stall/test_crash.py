"""The server killed at any moment, again and again, under a scripted crowd: nothing is lost, nothing doubled.

The variable MONIKERF_KILLS says how many times; a few where it is unset.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import secrets
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path
from urllib.parse import urlencode

from render.pipeline.shopfolder import open_ledger
from render.shop.ledger.stallorders import STALL

KILLS = int(os.environ.get("MONIKERF_KILLS", "3"))
TABLETS = 3
STALL_TOML = """\
[[thing]]
id = "key-tag"
title = "Key tag"
template = "key-tag"
price = 700
styles = ["montserrat"]
"""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def start(shop: Path, port: int, *more: str) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-m", "render.cli", "stall", "--shop", str(shop), "--port", str(port), *more]
    env = {**os.environ, "MONIKERF_STALL_PASSPHRASE": "harbour lamp nine", "PYTHONIOENCODING": "utf-8"}
    log = shop / "stall.log"
    with log.open("wb") as said:
        started = subprocess.Popen(words, env=env, stdout=said, stderr=said)
    for _ in range(600):
        assert started.poll() is None, f"the stall did not open: {log.read_text()}"
        try:
            socket.create_connection(("127.0.0.1", port), 0.2).close()
        except OSError:
            time.sleep(0.05)
        else:
            return started
    raise AssertionError("the stall does not answer")


class Tablet(threading.Thread):
    """Orders one name after the other, each until it has its number, as the page does."""

    def __init__(self, port: int, letter: str) -> None:
        super().__init__(daemon=True)
        self.port, self.letter = port, letter
        self.stop = threading.Event()
        self.numbers: dict[str, set[int]] = {}
        self.names: dict[str, str] = {}

    def run(self) -> None:
        turn = 0
        while not self.stop.is_set():
            turn += 1
            self._order(f"{self.letter}{'abcdefghij'[turn % 10]}{'klmnopqrst'[turn // 10 % 10]}")

    def _order(self, name: str) -> None:
        key = secrets.token_hex(16)
        wish = {"thing": "key-tag", "style": "montserrat", "name": name, "second": ""}
        form = None
        while True:
            if form is None:
                if self.stop.is_set():
                    return
                form = self._seen(wish, key)
            told = self._post("/order", form) if form else None
            if told and told[0] == 200:
                self.names[key] = name
                self.numbers.setdefault(key, set()).add(json.loads(told[1])["number"])
                if random.random() < 0.7:  # else it is sent once more, as after an answer that was lost
                    return
            time.sleep(0.02)

    def _seen(self, wish: dict[str, str], key: str) -> dict[str, str] | None:
        self.cookie = ""
        page = self._get("/thing/key-tag")
        token = re.search(r'name="token" value="([0-9a-f]+)"', page or "")
        told = self._post("/check", {**wish, "token": token[1]}) if token else None
        digest = re.search(r'name="digest" value="([0-9a-f]{64})"', told[1]) if told else None
        return {**wish, "digest": digest[1], "key": key} if digest else None

    def _get(self, path: str) -> str | None:
        told = self._send("GET", path, None)
        return told[1] if told else None

    def _post(self, path: str, form: dict[str, str]) -> tuple[int, str] | None:
        return self._send("POST", path, urlencode(form))

    def _send(self, method: str, path: str, body: str | None) -> tuple[int, str] | None:
        headers = {
            "cookie": self.cookie,
            "accept": "application/json",
            "origin": f"http://127.0.0.1:{self.port}",
        }
        if body is not None:
            headers["content-type"] = "application/x-www-form-urlencoded"
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            line.request(method, path, body, headers)
            answer = line.getresponse()
            found = re.search(r"visit=[0-9a-f]+", answer.headers.get("set-cookie", ""))
            self.cookie = found[0] if found else self.cookie
            return answer.status, answer.read().decode()
        except (OSError, http.client.HTTPException):
            return None
        finally:
            line.close()


def test_killed_at_any_moment_nothing_is_lost_or_doubled(shop: Path) -> None:
    (shop / "stall.toml").write_text(STALL_TOML)
    port = free_port()
    server = start(shop, port)
    crowd = [Tablet(port, letter) for letter in "ABC"]
    for tablet in crowd:
        tablet.start()
    for _ in range(KILLS):
        time.sleep(random.uniform(0.05, 0.9))
        server.kill()
        server.wait()
        server = start(shop, port)
    time.sleep(1.0)
    for tablet in crowd:
        tablet.stop.set()
    for tablet in crowd:
        tablet.join(60)
        assert not tablet.is_alive()
    server.kill()
    server.wait()
    told = {key: numbers for tablet in crowd for key, numbers in tablet.numbers.items()}
    names = {key: name for tablet in crowd for key, name in tablet.names.items()}
    print(f"{KILLS} kills, {len(told)} orders told their number")
    assert len(told) > KILLS
    assert all(len(numbers) == 1 for numbers in told.values()), "an order had two numbers"
    with open_ledger(shop) as ledger:
        assert list(ledger.check()) == []
        kept = {}
        for id_ in ledger.order_ids():
            key = ledger.order(id_).table.rsplit(" ", 1)[1]
            assert key not in kept, "an order was doubled"
            (piece,) = ledger.pieces(id_)
            kept[key] = (
                int(id_.removeprefix(f"{STALL}-").split("-")[1]),
                piece.fields["name"],
                str(piece.state),
            )
    for key, (number,) in ((k, tuple(n)) for k, n in told.items()):
        assert kept[key] == (number, names[key], "approved")
    assert len({number for number, _, _ in kept.values()}) == len(kept)
    assert set(kept) == set(told), "every order that was begun was brought to its end"
