"""Headless Chromium without a network, for the tests that look at pages in a real browser."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


@contextmanager
def chromium_driver() -> Iterator[tuple[Any, dict[str, Any], str]]:
    """What launches Chromium, with which options, and a folder that goes afterwards.

    Skips with the reason where there is no Chromium or nothing to drive it.
    """
    sync = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed: pip install '.[browser]'"
    )
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.skip("chromium is not installed")
    with sync.sync_playwright() as play, tempfile.TemporaryDirectory() as folder:
        yield play.chromium, {"executable_path": path, "args": FLAGS}, folder
