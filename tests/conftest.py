"""What all tests share: where outside data lies, and what becomes of skipped tests."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

CHROMIUM = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update",
)  # fmt: skip

FONTS_OPEN = Path(__file__).parents[1] / "fonts_open"
FONTS = """\
<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">
<fontconfig>
  <dir>{folder}</dir>
  <cachedir>{cache}</cachedir>
  <alias><family>serif</family><prefer><family>Source Serif 4 Variable</family></prefer></alias>
  <match target="pattern">
    <edit name="family" mode="append" binding="same"><string>Noto Sans</string></edit>
  </match>
</fontconfig>
"""
"""What fontconfig is told, so that pages look alike wherever they are tested: in the fonts that we bring."""

settings.register_profile("calm", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("calm")


@pytest.fixture(autouse=True, scope="session")
def _nothing_kept() -> None:
    """No test meets what another run, or another test, has kept."""
    os.environ["MONIKERF_CACHE"] = ""


@pytest.fixture(scope="session")
def outside() -> Path:
    """The folder of outside data; without it the tests that read it are skipped."""
    place = os.environ.get("MONIKERF_OUTSIDE", "")
    if not place:
        pytest.skip("MONIKERF_OUTSIDE names no folder of outside data")
    return Path(place)


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A real Chromium: Debian's, or the one that Playwright brought. One for all, since two would fight.

    It sees no fonts of the system, only our own.
    """
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    fonts = tmp_path_factory.mktemp("fonts") / "fonts.conf"
    fonts.write_text(FONTS.format(folder=FONTS_OPEN, cache=fonts.parent))
    env = {**os.environ, "FONTCONFIG_FILE": str(fonts)}
    with playwright.sync_playwright() as running:
        try:
            found = running.chromium.launch(executable_path=path, args=CHROMIUM, env=env)
        except playwright.Error:
            pytest.skip("there is no Chromium here")
        yield found
        found.close()


def _skipped(config: pytest.Config) -> dict[str, list[str]]:
    """Tests skipped, by reason."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    by_reason: dict[str, list[str]] = {}
    for report in reporter.stats.get("skipped", []) if reporter else []:
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        by_reason.setdefault(reason.removeprefix("Skipped: "), []).append(report.nodeid)
    return by_reason


def pytest_sessionfinish(session: pytest.Session) -> None:
    """With CI=true a skipped test is a failure."""
    if os.environ.get("CI") == "true" and session.exitstatus == 0 and _skipped(session.config):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say which tests were skipped and why, right before the closing line."""
    skipped = _skipped(config)
    if not skipped:
        return
    terminalreporter.section("skipped")
    for reason, tests in sorted(skipped.items()):
        terminalreporter.line(f"{reason}:")
        for test in sorted(set(tests)):
            terminalreporter.line(f"    {test}")
    if os.environ.get("CI") == "true":
        terminalreporter.line("CI=true: no test may be skipped, so this run has failed.", red=True)
