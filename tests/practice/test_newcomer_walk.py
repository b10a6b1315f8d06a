"""A newcomer's walk in a real terminal of 40 columns: a hot-gas defrost from its call, led by its
checklist, to the cure and the review."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from budget import NIGHTLY

if sys.platform == "win32":
    pytest.skip("needs a pseudo-terminal", allow_module_level=True)
if not NIGHTLY:
    pytest.skip("a whole walk in a terminal: nightly", allow_module_level=True)

sys.path.append(str(Path(__file__).parents[1] / "terminal"))
from pty_child import PtyChild  # noqa: E402

from expert.terminal.layout import width_of  # noqa: E402

COLUMNS = 40
REPAIR = ["do isolate the part", "do put the suction stop", "do back in service",
          "suction stop rebuilt", "leaking", "tight"]  # fmt: skip
MOST = 400  # lines typed


class TypingNewcomer:
    """Types at each prompt what somebody would who does as the screen says."""

    def __init__(self, child: PtyChild) -> None:
        self.child = child
        self.at = 0
        self.screens: list[str] = []
        self.repair = [*REPAIR]
        self.repaired = False

    @property
    def told(self) -> str:
        """Everything shown, without its line ends."""
        return " ".join("".join(self.screens).split())

    def shown(self) -> str:
        """What came since the last line was typed, once the screen stands still at a prompt."""
        end = time.monotonic() + 60
        while time.monotonic() < end and self.child.process.poll() is None:
            before = self.child.text
            self.child.read(0.3)
            new = self.child.text[self.at :].strip()
            if self.child.text == before and new.endswith(">") and "\n" in new:
                break
        new = self.child.text[self.at :]
        self.at = len(self.child.text)
        self.screens.append(new)
        return new.rstrip()

    def answer(self, shown: str) -> str:
        """The line for a screen."""
        words, label = " ".join(shown.split()), shown.splitlines()[-1]
        if "Caution:" in shown or "CAUTION:" in shown:
            return "y"
        if "Where: your decision" in words:
            first, self.repaired = not self.repaired, True
            return "y" if first else "n"
        if self.repair and ("Change one thing" in words or len(self.repair) < len(REPAIR)):
            return self.repair.pop(0)
        if "1-2, Enter goes back" in label:
            return "2"
        if label.startswith("Reason"):
            return "not asked of a newcomer"
        if "Enter" in label:
            return ""
        if "Nothing is read at this step" in words:
            return "y"
        return "s" if "Gas is off" in words or "That is read" in words else "read"


@pytest.fixture(params=[(), ("--plain",)], ids=["prompt", "plain"])
def child(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[PtyChild]:
    one = PtyChild(
        "practice", "ice-after-the-defrost", "--checklist", "--who", "A. Sample",
        "--jobs", str(tmp_path), *request.param, columns=COLUMNS, rows=24,
        extra={"RACKWALK_HOME": str(tmp_path), "NO_COLOR": "1"},
    )  # fmt: skip
    try:
        yield one
    finally:
        one.end()


def test_a_defrost_is_walked_from_its_call_to_the_cure_and_the_review(child: PtyChild) -> None:
    person = TypingNewcomer(child)
    for _ in range(MOST):
        shown = person.shown()
        if child.process.poll() is not None:
            break
        child.type(f"{person.answer(shown)}\r")
    assert child.wait() == 0, person.told[-2000:]
    told = person.told
    assert "still has ice after its defrost" in told  # the call
    assert "Suction stop in defrost" in told and "Kept: leaking" in told
    assert "1 Suction stop leaking in defrost:" in told  # as found
    assert "Kept: shut" in told and "Kept: clear" in told  # as left
    assert "It is put right." in told and "nothing dangerous was done" in told
    assert "It could first be known" in told and "From the call the tool goes" in told
    assert "Traceback" not in told
    wide = [each for each in child.text.splitlines() if width_of(each.rstrip()) > COLUMNS]
    assert not [each for each in wide if ">" not in each], wide  # a typed line is drawn twice
