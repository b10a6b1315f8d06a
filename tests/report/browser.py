"""A real browser for the tests of pages: headless Chromium without a network."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
PHONE = {"width": 360, "height": 740}
PAPERS = ("Letter", "A4")


@dataclass
class Browser:
    """One tab; `heard` are the requests and console messages of the page that is open."""

    tab: Any
    heard: list[str] = field(default_factory=list)

    def open(self, page: Path) -> None:
        """Opens a file at the width of a phone."""
        self.heard.clear()
        self.tab.set_viewport_size(PHONE)
        self.tab.goto(page.as_uri())

    def ask(self, script: str) -> Any:
        """What a script gives in the page."""
        return self.tab.evaluate(script)

    def printed(self, paper: str) -> int:
        """How many pages the page takes on a paper."""
        text: bytes = self.tab.pdf(format=paper)
        return text.count(b"/Type /Page\n") + text.count(b"/Type/Page\n")


@contextmanager
def browser() -> Iterator[Browser]:
    """Skips with the reason where there is no Chromium or no way to drive it."""
    sync = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed: pip install '.[browser]'"
    )
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.skip("chromium is not installed")
    with sync.sync_playwright() as play, tempfile.TemporaryDirectory() as profile:
        context = play.chromium.launch_persistent_context(
            profile, executable_path=path, args=FLAGS, headless=True, offline=True,
            viewport=PHONE,
        )  # fmt: skip
        one = Browser(context.new_page())
        one.tab.on("console", lambda message: one.heard.append(message.text))
        one.tab.on("pageerror", lambda error: one.heard.append(str(error)))
        one.tab.on("request", lambda request: one.heard.append(request.url))
        try:
            yield one
        finally:
            context.close()
