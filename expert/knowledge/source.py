"""Where knowledge comes from."""

from __future__ import annotations

import re

from expert.made_when_used import dataclass

# What lets a reader open what is cited: a section of a law or code, a numbered standard, report or
# manual, an address with its page, the number of an article, or a title with its year.
_FINDABLE = r"""(?x)\b(?:
        \d+\ CFR\ (?:\d+\.\d+|\d+\ subpart\ \w+)
      | \d+\ FR\ \d+ | Regulation\ \((?:EU|EC)\)\ (?:No\ )?\d+/\d+
      | (?:Code|Appendix)\ [A-Z]*\d[\d.-]+
      | (?:IAPWS|ISO|EN|IEC|UL|ASME|AHRI|NFPA|NEMA|TM|RP|NIST\ SP|NEPIS)[\ -]?[A-Z]*\d[\w.-]*
      | ASHRAE\ (?:Standard\ )?\d+-\d{4}
      | [\w.-]+\.(?:com|org|net|gov|edu|eu|ca)(?:/\S{4,}|\ \d{4,}) | News\ \d{4,}
      | (?:1[5-9]|20)\d\d
    )"""


_BODY = re.compile(r"\b(?:ASHRAE|OSHA|NIOSH|ACGIH|NEMA|NFPA|AHRI|ISO|EN) ")
_VOLUME = re.compile(r"[^,;:(]*(?:, (?:HVAC&R|J\.|Mathematical)[^,;:(]*(?:\(\d+\))?)?")
_APART = re.compile(r"; (?![^()]*\))")  # between two documents, not inside a bracket


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
        found = re.search(_FINDABLE, self.detail)
        return found is not None and "from memory" not in self.detail

    @property
    def names_document(self) -> bool:
        """Whether a law, standard or other document is named, opened or remembered."""
        return any(re.search(each, self.detail) for each in (_FINDABLE, _BODY))

    def __str__(self) -> str:
        return f"{self.label}: {self.detail}" if self.detail else self.label


def parts(detail: str) -> tuple[str, ...]:
    """The documents that a source names one after the other."""
    return tuple(_APART.split(detail))


def document(detail: str) -> str:
    """The document alone, without what was taken from it: 'ACHR News 142801', '40 CFR 82.157'."""
    found = re.search(_FINDABLE, detail)
    if found is None:
        return detail
    name = detail[: found.end()]
    rest = _VOLUME.match(detail[found.end() :])
    return f"{name}{rest[0] if rest else ''}".strip()
