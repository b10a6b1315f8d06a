"""A real browser for the tests of pages: headless Chromium without a network."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from chromium_driver import chromium_driver

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
    with chromium_driver() as (chromium, options, profile):
        context = chromium.launch_persistent_context(
            profile, **options, headless=True, offline=True, viewport=PHONE
        )
        one = Browser(context.new_page())
        one.tab.on("console", lambda message: one.heard.append(message.text))
        one.tab.on("pageerror", lambda error: one.heard.append(str(error)))
        one.tab.on("request", lambda request: one.heard.append(request.url))
        try:
            yield one
        finally:
            context.close()
