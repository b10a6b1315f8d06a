"""Where knowledge comes from."""

from __future__ import annotations

import re
from dataclasses import dataclass

# What lets a reader open what is cited: a section of a law or code, a numbered standard, report or
# manual, an address with its page, the number of an article, or a title with its year.
_FINDABLE = re.compile(
    r"""\b(?:
        \d+\ CFR\ (?:\d+\.\d+|\d+\ subpart\ \w+)
      | \d+\ FR\ \d+ | Regulation\ \((?:EU|EC)\)\ (?:No\ )?\d+/\d+
      | (?:Code|Appendix)\ [A-Z]*\d[\d.-]+
      | (?:IAPWS|ISO|EN|IEC|UL|ASME|AHRI|NFPA|NEMA|TM|RP|NIST\ SP|NEPIS)[\ -]?[A-Z]*\d[\w.-]*
      | ASHRAE\ (?:Standard\ )?\d+-\d{4}
      | [\w.-]+\.(?:com|org|net|gov|edu|eu|ca)(?:/\S{4,}|\ \d{4,}) | News\ \d{4,}
      | (?:1[5-9]|20)\d\d
    )""",
    re.VERBOSE,
)


@dataclass(frozen=True)
class Source:
    """Where a number or sentence comes from: a label and, where there is one, a detail."""

    label: str
    detail: str = ""

    @property
    def findable(self) -> bool:
        """Whether a reader can open what is cited, and nothing of it rests on memory.

        Only a published source must be.
        """
        found = _FINDABLE.search(self.detail)
        return found is not None and "from memory" not in self.detail

    def __str__(self) -> str:
        return f"{self.label}: {self.detail}" if self.detail else self.label
