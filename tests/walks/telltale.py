"""Words of a step or a remedy that give away which hazard it has.

The tests hold them against what is declared, so that a step that was written without thinking of
its hazard is found. They are wide on purpose; what they hit wrongly stands in FALSE_ALARMS.
"""

from __future__ import annotations

import re

WORDS = {
    "stored-pressure": (
        r"\b(fit|connect|hang)\b[^.]*\b(probe|gauge|hose|pump)",
        r"\b(probes?|gauges?|hoses?)\b[^.]*\boff\b",
        r"\bcaps? (off|on)\b",
        r"\bcrack\b",
        r"\bstem\b[^.]*\b(turn|open|quarter)",
        r"\b(shut|open)\b[^.,]*\b(valve|stem)s?\b[^.]*\bslowly\b",
    ),
    "venting": (r"\brecover (the|it|down)\b", r"\bopen the shell\b", r"\bcharge by weight\b"),
    "cylinders-and-recovery": (
        r"\brecover (the|it|down)\b",
        r"\bcharge by weight\b",
        r"\bcylinder number\b",
    ),
    "lockout": (
        r"\block(ed)? (it |them |the [a-z ]+)?out\b",
        r"\blocks? off\b",
        r"\breach into\b",
        r"\bnew cores\b",
    ),
    "electrical": (r"\bby meter\b", r"\bvoltmeter\b", r"\bclamp ammeter\b", r"\bmeter proven?\b"),
    "brazing-and-hot-work": (r"\bbraz(e|ed|ing) it\b", r"\btorch\b", r"\bheat only\b"),
    "nitrogen-pressure": (
        r"\bwith dry nitrogen\b",
        r"\bof the test pressure\b",
        r"\bnitrogen flow",
        r"\bvent outdoors\b",
    ),
    "ladders-and-roof": (r"\b(on|from) the roof\b", r"\bladder\b", r"\bhatch\b"),
    "hot-surfaces": (r"\bdischarge (header|port)\b", r"\bhot-gas header\b", r"\bheat goes off\b"),
    "moving-fans": (r"\bfan panel\b", r"\bguards? off\b", r"\bfan blade"),
    "chemicals-and-acid": (
        r"\bwash the\b",
        r"\bacid (test )?kit\b",
        r"\bcleaner diluted\b",
        r"\bwaste oil\b",
    ),
    "oil-under-pressure": (r"\bdraw a sample\b", r"\bhot oil\b"),
    "food-safety": (
        r"\bstart (the|this|the next) defrost\b",
        r"\bhold off the (defrost )?schedule\b",
    ),
    "cold-burns": (r"\bcharge by weight\b", r"\bliquid into a vacuum\b"),
    "stored-charge": (r"\bdrive holds its charge\b",),
}

# step of a checklist -> caution that its words suggest, and why it has none of its own
FALSE_ALARMS: dict[tuple[str, str, str], str] = {
    ("liquid-drier-check-and-change", "do-not-open", "venting"): "it says not to open",
}


def cautions_in(text: str) -> set[str]:
    """The cautions that the words of a text call for."""
    return {
        caution
        for caution, patterns in WORDS.items()
        if any(re.search(pattern, text, re.IGNORECASE) for pattern in patterns)
    }
