"""Tablets of the network: from another address, with the code scanned, and nobody else.

Where this may make a network of its own (Linux, as root), the tablet is in a network namespace; else it asks
from this machine's own address in its network.
"""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import zxingcpp
from PIL import Image

from render.errors import MonikerfError
from render.stall.maker import qr_svg
from render.stall.serving import Way, lan_address, open_stall
from tests.stall.conftest import PASSPHRASE
from tests.stall.test_crash import free_port

ASK = """
import http.client, json, sys
host, port, wishes = sys.argv[1], int(sys.argv[2]), json.loads(sys.argv[3])
told = []
for method, path, headers, body in wishes:
    line = http.client.HTTPConnection(host, port, timeout=10)
    try:
        line.request(method, path, body or None, headers)
        answer = line.getresponse()
        told.append([answer.status, dict(answer.getheaders()), answer.read().decode()])
    except OSError as error:
        told.append([0, {}, str(error)])
print(json.dumps(told))
"""


@dataclass(frozen=True)
class Elsewhere:
    """Another machine, as far as this one can play it: words that run a command there, our address."""

    words: tuple[str, ...]
    address: str

    def ask(
        self, port: int, *wishes: tuple[str, str, dict[str, str], str]
    ) -> list[tuple[int, dict[str, str], str]]:
        words = [*self.words, sys.executable, "-c", ASK, self.address, str(port), json.dumps(wishes)]
        found = subprocess.run(words, check=True, capture_output=True, text=True).stdout
        return [
            (status, {k.lower(): v for k, v in head.items()}, text)
            for status, head, text in json.loads(found)
        ]


@pytest.fixture(scope="module")
def elsewhere() -> Iterator[Elsewhere]:
    name, ours, theirs = f"mk{os.getpid()}", "10.231.7.1", "10.231.7.2"
    steps = (
        f"ip netns add {name}",
        f"ip link add {name}a type veth peer name {name}b netns {name}",
        f"ip addr add {ours}/24 dev {name}a",
        f"ip link set {name}a up",
        f"ip -n {name} addr add {theirs}/24 dev {name}b",
        f"ip -n {name} link set {name}b up",
    )
    made = shutil.which("ip") is not None
    for step in steps:
        made = made and subprocess.run(step.split(), check=False, capture_output=True).returncode == 0
    try:
        if made:
            yield Elsewhere(("ip", "netns", "exec", name), ours)
        else:
            yield Elsewhere((), lan_address())
    finally:
        for step in (f"ip link del {name}a", f"ip netns del {name}"):
            if shutil.which("ip"):
                subprocess.run(step.split(), check=False, capture_output=True)


@pytest.fixture(scope="module")
def network(elsewhere: Elsewhere, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[int, str, str]]:
    """A stall that is open to the network: its port, its address for tablets, all that it said."""
    from render.pipeline.shopfolder import open_shop
    from tests.stall.conftest import STALL

    shop, port = tmp_path_factory.mktemp("lan") / "shop", free_port()
    open_shop(shop, "Harbour Lettering")
    (shop / "stall.toml").write_text(STALL)
    words = [sys.executable, "-m", "render.cli", "stall", "--shop", str(shop), "--port", str(port)]
    env = {
        **os.environ,
        "MONIKERF_STALL_PASSPHRASE": PASSPHRASE,
        "PYTHONIOENCODING": "utf-8",
        "COLUMNS": "200",
    }
    server = subprocess.Popen(
        [*words, "--address", elsewhere.address], env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    assert server.stdout is not None
    said = ""
    while "Stop it with" not in said:
        line = server.stdout.readline().decode()
        assert line, said
        said += line
    found = re.search(r"in your network: (\S+)", said)
    assert found
    yield port, found[1], said
    server.terminate()
    server.wait(20)
    server.stdout.close()


def test_a_tablet_comes_in_with_the_scanned_address_and_orders(
    elsewhere: Elsewhere, network: tuple[int, str, str]
) -> None:
    port, address, _ = network
    base = f"http://{elsewhere.address}:{port}"
    assert address.startswith(f"{base}/?t=")
    (turned,) = elsewhere.ask(port, ("GET", address.removeprefix(base), {}, ""))
    assert (turned[0], turned[1]["location"]) == (303, "/")
    door = turned[1]["set-cookie"].split(";")[0]
    (page,) = elsewhere.ask(port, ("GET", "/thing/pet-tag", {"cookie": door}, ""))
    visit = page[1]["set-cookie"].split(";")[0]
    token = re.search(r'name="token" value="([0-9a-f]+)"', page[2])
    assert token
    head = {"cookie": f"{door}; {visit}", "content-type": "application/x-www-form-urlencoded", "origin": base}
    wish = "thing=pet-tag&style=roboto-slab&name=Ada&second="
    (check,) = elsewhere.ask(port, ("POST", "/check", head, f"token={token[1]}&{wish}"))
    digest = re.search(r'name="digest" value="([0-9a-f]{64})"', check[2])
    assert digest
    order = f"{wish}&digest={digest[1]}&key={'ab' * 16}"
    other = {**head, "origin": "http://10.231.7.9"}
    refused, done = elsewhere.ask(port, ("POST", "/order", other, order), ("POST", "/order", head, order))
    assert refused[0] == 403
    assert (done[0], done[1]["location"]) == (303, f"/number/{'ab' * 16}")


def test_nobody_else_comes_in(elsewhere: Elsewhere, network: tuple[int, str, str]) -> None:
    port, _, _ = network
    evil = {"host": f"stall.example:{port}"}  # a name that somebody else let point here
    paths = ("/", "/maker", "/draw", "/own/stall.js", "/alive", "/?t=" + "0" * 24)
    told = elsewhere.ask(port, *(("GET", path, {}, "") for path in paths), ("GET", "/", evil, ""))
    assert [status for status, _, _ in told] == [403] * len(paths) + [421]
    assert all("Harbour" not in text for _, _, text in told)


def test_without_lan_nobody_hears_anything(elsewhere: Elsewhere, shop: Path) -> None:
    from tests.stall.test_crash import start

    port = free_port()
    server = start(shop, port)
    try:
        assert elsewhere.ask(port, ("GET", "/", {}, ""))[0][0] == 0
    finally:
        server.kill()
        server.wait()


def test_the_code_in_the_terminal_reads_as_the_address(network: tuple[int, str, str]) -> None:
    """Read by ZXing, which shares no code with what draws it."""
    _, address, said = network
    halves = {" ": (0, 0), "\u2580": (1, 0), "\u2584": (0, 1), "\u2588": (1, 1)}
    rows = []
    for line in said.splitlines():
        inverse = "\x1b[7m" in line
        plain = re.sub(r"\x1b\[[0-9;]*m", "", line)
        if plain and len(plain) > 30 and set(plain) <= set(halves):
            both = np.array([halves[c] for c in plain], np.uint8).T
            rows += [*(1 - both if inverse else both)]
    light = np.stack(rows) * 255  # on a dark terminal blocks are light
    read = {
        r.text
        for picture in (light, 255 - light)
        for r in zxingcpp.read_barcodes(np.kron(picture, np.ones((6, 6), np.uint8)))
    }
    assert address in read


def test_the_code_on_the_makers_page_reads_as_the_address() -> None:
    address = "http://192.168.178.23:8317/?t=" + "0123456789ab" * 2
    svg = qr_svg(address)
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=400, dpi=96))
    with Image.open(io.BytesIO(png)) as picture:
        (found,) = zxingcpp.read_barcodes(picture.convert("L"))
        assert found.text == address
        # the quiet zone, four modules (ISO/IEC 18004): the reader above would not miss it
        side = int(re.findall(r'viewBox="0 0 (\d+)', svg)[0])
        rim = np.asarray(picture.convert("L"))[: round(400 / side * 4) - 1]
        assert (rim > 250).all()


@pytest.mark.parametrize("address", ["192.0.2.77", "not an address", "tablet.example", "é"])
def test_an_address_of_another_machine_is_told(shop: Path, address: str) -> None:
    with pytest.raises(MonikerfError, match="no address of this machine"):
        open_stall(shop, PASSPHRASE, Way(free_port(), lan=True, address=address), lambda _: None)
