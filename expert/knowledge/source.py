"""Where knowledge comes from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """Where a number or sentence comes from: a label and, where there is one, a detail."""

    label: str
    detail: str = ""

    def __str__(self) -> str:
        return f"{self.label}: {self.detail}" if self.detail else self.label
