"""Real browsers in front of the pages: Chromium at the width of a phone, on loopback only."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from chromium_driver import chromium_driver
from small_server import Form, Running, forms_of

from expert.web.roles import LEAD

PHONE = {"width": 390, "height": 844}


@contextmanager
def chromium() -> Iterator[Any]:
    """A browser; skips with the reason where there is none or nothing to drive it."""
    with chromium_driver() as (chromium_of, options, folder):
        browser = chromium_of.launch(**options, headless=True, downloads_path=folder)
        try:
            yield browser
        finally:
            browser.close()


class Tab:
    """A phone with the pages open, used like a visitor without a browser."""

    def __init__(
        self, browser: Any, server: Running, name: str = "A. Sample", *, scripts: bool = True,
        role: str = LEAD, code: str = "",
    ) -> None:  # fmt: skip
        self.context = browser.new_context(viewport=PHONE, java_script_enabled=scripts)
        self.tab = self.context.new_page()
        self.tab.set_default_timeout(60_000)
        self.server, self.scripts = server, scripts
        self.heard: list[str] = []
        self.tab.on("console", lambda message: self.heard.append(message.text))
        self.tab.on("pageerror", lambda error: self.heard.append(str(error)))
        self.base = f"http://localhost:{server.address[1]}"
        self.status = 0
        self.go("/pair")
        code = code or server.service.pairing.new(role).shown
        self.submit(self.form("/pair"), code=code, name=name)

    @property
    def page(self) -> str:
        for _ in range(50):
            try:
                return str(self.tab.content())
            except Exception as error:  # a script is on the way to the next page
                assert "navigating" in str(error), error
                self.tab.wait_for_timeout(100)
        raise AssertionError("the page does not come to rest")

    @property
    def at(self) -> str:
        return str(self.tab.evaluate("location.pathname")) if self.scripts else self._path()

    def _path(self) -> str:
        return str(self.tab.url).removeprefix(self.base)

    def text(self) -> str:
        return str(self.tab.inner_text("body"))

    def go(self, path: str) -> None:
        for left in (2, 1, 0):
            try:
                answer = self.tab.goto(f"{self.base}{path}")
            except Exception as error:  # a script of the page before was on its way elsewhere
                assert left and "ERR_ABORTED" in str(error), error
                self.tab.wait_for_timeout(300)
                continue
            self.status = answer.status if answer else 0
            return

    def form(self, ending: str, number: int = 0) -> Form:
        found = [each for each in forms_of(self.page) if each.action.endswith(ending)]
        assert len(found) > number, f"no form {ending}: {self.text()[:2000]}"
        found[number].place = number
        return found[number]

    def submit(self, form: Form, button: tuple[str, str] | None = None, **typed: str) -> None:
        names = {name.replace("_", "-"): value for name, value in typed.items()}
        fields = [each for each in form.fields if each[0] not in names]
        self._send(form, [*fields, *names.items()], button)

    def send(self, path: str, fields: list[tuple[str, str]]) -> None:
        self._send(self.form(path), fields, None)

    def _send(
        self, form: Form, fields: list[tuple[str, str]], button: tuple[str, str] | None
    ) -> None:
        """Fills the fields that can be seen and presses a button, as a hand would."""
        there = self.tab.locator(f'form[action="{form.action}"]').nth(form.place)
        for each in there.locator("xpath=ancestor-or-self::*//summary").all():
            inside = each.locator("xpath=..")
            holds = inside.locator(f'form[action="{form.action}"]').count()
            own = inside.locator("xpath=ancestor::form").count()
            if (holds or own) and inside.get_attribute("open") is None and (
                each.locator("xpath=ancestor::form[1]").count() == 0
                or each.locator("xpath=ancestor::form[1]").get_attribute("action") == form.action
            ):  # fmt: skip
                each.click()
        for box in there.locator('input[type="checkbox"]').all():
            pair = (box.get_attribute("name"), box.get_attribute("value"))
            if box.is_checked() != (pair in fields):
                there.locator(f'label[for="{box.get_attribute("id")}"]').click()
        for name, value in fields:
            for one in there.locator(
                f'input[name="{name}"]:not([type="hidden"]):not([type="checkbox"]), '
                f'textarea[name="{name}"]'
            ).all()[:1]:
                one.fill(value)
            for one in there.locator(f'select[name="{name}"]').all()[:1]:
                one.select_option(value)
        where = "button:not([formaction])" if button is None else (
            f'button[name="{button[0]}"][value="{button[1]}"]'
        )  # fmt: skip
        self.press(there.locator(where).first)

    def press(self, button: Any) -> None:
        """Presses, and waits for the next page or for a question of this one."""
        if not self.scripts:
            with self.tab.expect_navigation():
                button.click()
            self.status = 200
            return
        self.tab.evaluate("window.before = true")
        button.click()
        new = "!window.before && document.readyState === 'complete'"
        self.until(f"({new}) || document.querySelector('#phone button')")
        self.status = 200
        if self.ask(f"!({new}) && Boolean(document.querySelector('#phone button'))"):
            self.tab.locator("#phone button").first.click()
            self.until(new)

    def press_here(self, button: Any) -> None:
        """Presses where the page stays, as it does without a connection."""
        button.click()
        self.tab.wait_for_timeout(200)

    def ask(self, script: str) -> Any:
        """What a script gives in the page; None while the next one comes."""
        try:
            return self.tab.evaluate(script)
        except Exception as error:  # the page went away under the question
            assert "navigat" in str(error) or "destroyed" in str(error), error
            return None

    def until(self, script: str, seconds: float = 60) -> float:
        """Waits until a script gives yes; how many seconds that took.

        The page's own policy forbids the browser's driver to wait inside of it.
        """
        begun = time.monotonic()
        while not self.ask(f"Boolean({script})"):
            assert time.monotonic() - begun < seconds, f"{script}: {self.text()[:1500]}"
            self.tab.wait_for_timeout(50)
        return time.monotonic() - begun
