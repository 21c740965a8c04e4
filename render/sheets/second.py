"""The second reader: svgpathtools, in a process of its own, since it is slow to import and slow to measure.

Run as a program it imports nothing of Monikerf: it takes JSON lines, each a list of [path data, measure it?],
and answers each with one JSON line, a list of what it read.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
from collections.abc import Sequence
from typing import Any

Reading = dict[str, Any]
"""``segments``: control points [x0, y0, x1, y1 ...] of each; measured also ``box``, ``length``, ``area``."""


def read_with_svgpathtools(items: Sequence[tuple[str, bool]]) -> list[Reading]:
    """Read path data with svgpathtools, and measure where asked; lengths in the data's own unit."""
    from svgpathtools import parse_path

    found: list[Reading] = []
    for data, measure in items:
        path = parse_path(data)
        reading: Reading = {
            "segments": [
                [v for point in segment.bpoints() for v in (point.real, point.imag)] for segment in path
            ]
        }
        if measure:
            boxes = [segment.bbox() for segment in path]
            reading["box"] = [
                min(b[0] for b in boxes),
                min(b[2] for b in boxes),
                max(b[1] for b in boxes),
                max(b[3] for b in boxes),
            ]
            reading["length"] = sum(segment.length() for segment in path)
            rings = path.continuous_subpaths()
            reading["area"] = sum(r.area() for r in rings) if all(r.isclosed() for r in rings) else None
        found.append(reading)
    return found


class SecondReader:
    """The second reader in its own process, importing while the work goes on; use it as a context.

    Ask first, do other things, then collect: answers come in the order of the questions. Where the process
    cannot be started or dies, the reading is done here instead.
    """

    def __init__(self) -> None:
        self._waiting: list[Sequence[tuple[str, bool]]] = []
        self._process: subprocess.Popen[str] | None = None
        try:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-W", "ignore", __file__],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                encoding="ascii",
            )
        except OSError:
            self._process = None

    def __enter__(self) -> SecondReader:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def ask(self, items: Sequence[tuple[str, bool]]) -> None:
        """Begin reading; returns at once."""
        self._waiting.append(items)
        if len(self._waiting) == 1:
            self._send(items)

    def collect(self) -> list[Reading]:
        """The answer to the oldest question, waiting for it."""
        items = self._waiting.pop(0)
        answer = self._receive()
        if self._waiting:
            self._send(self._waiting[0])
        if answer is None:
            return read_with_svgpathtools(items)
        return answer

    def close(self) -> None:
        """End the process."""
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
            process.wait()

    def _send(self, items: Sequence[tuple[str, bool]]) -> None:
        try:
            if self._process is not None and self._process.stdin is not None:
                self._process.stdin.write(json.dumps(list(items)) + "\n")
                self._process.stdin.flush()
        except OSError:
            self.close()

    def _receive(self) -> list[Reading] | None:
        if self._process is None or self._process.stdout is None:
            return None
        line = self._process.stdout.readline()
        if not line:
            self.close()
            return None
        answer: list[Reading] = json.loads(line)
        return answer


def _serve() -> None:
    import svgpathtools  # noqa: F401 - imported before it is asked for

    for line in sys.stdin:
        print(json.dumps(read_with_svgpathtools(json.loads(line))), flush=True)


if __name__ == "__main__":
    _serve()
