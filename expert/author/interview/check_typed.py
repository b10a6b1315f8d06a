"""Checks and tidies what a lead typed: ids, measures, bands, sources."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping

from expert.author.interview.ask import Asker
from expert.errors import Place, ReadingError
from expert.knowledge.read_limits import BAND_FORMS, check_rising, read_edges
from expert.knowledge.reader import OPENED, Reader, vague
from expert.knowledge.source import Source
from expert.knowledge.yaml_nodes import Fields, Text
from expert.units.kinds import Kind

TYPED = Place("what was typed")
_LONGEST = 48

Check = Callable[[str], str]


def source(asker: Asker, what: str) -> str:
    """Where something comes from, with its label."""
    labels = (
        "common practice", "from memory", "a published standard, book or page",
        "a document of the company",
    )  # fmt: skip
    chosen = asker.choice(f"{what}: where do you know it from?", labels)
    if chosen < 2:
        return labels[chosen]
    named = asker.text(
        "Which one? Name it so that others find it.", check=_opened if chosen == 2 else None
    )
    return f"{'published' if chosen == 2 else 'company'}: {named}"


def _opened(named: str) -> str:
    """A document that can be opened. Raises ReadingError."""
    if not Source("published", named).findable:
        raise ReadingError(f"{vague(named)} {OPENED}")
    return named


def slug(text: str, joint: str) -> str:
    """An id from a title: small letters and digits, whole words, not too long."""
    found = ""
    for word in re.findall(r"[a-z0-9]+", text.lower().replace("'", "")):
        if len(found) + len(word) < _LONGEST:
            found = f"{found}{joint}{word}".strip(joint)
    return found.lstrip(f"0123456789{joint}") or "new"


def unused(name: str, taken: Iterable[str], joint: str = "-") -> str:
    """The id, with a number where it is taken."""
    names, number, found = set(taken), 1, name
    while found in names:
        number += 1
        found = f"{name}{joint}{number}"
    return found


def measured(kind: Kind) -> Check:
    """A check that a text is a measure of a kind, with its unit."""

    def check(text: str) -> str:
        reader = Reader()
        reader.measure_text(text, TYPED, kind)
        refuse(reader)
        return text

    return check


def series(check: Check) -> Check:
    """A check of one value, or of each of '[10 F at 2 min, 12 F at 4 min]'."""

    def each(text: str) -> str:
        inside = text[1:-1].split(",") if text.startswith("[") and text.endswith("]") else [text]
        for part in inside:
            check(part.partition(" at ")[0].strip())
        return text

    return each


def band(kind: Kind, others: Mapping[str, str]) -> Check:
    """A check of a normal band together with the outer edges named so far."""

    def check(text: str) -> str:
        reader = Reader()
        texts = {"normal": text, **others}
        node = Fields({key: Text(value, TYPED) for key, value in texts.items()}, TYPED)
        edges = read_edges(node, kind, reader)
        if not reader.problems and edges.low is None and edges.high is None:
            raise ReadingError(BAND_FORMS)
        if not reader.problems:
            check_rising(edges, kind, "this limit", node, reader)
        refuse(reader)
        return text

    return check


def edge(kind: Kind, named: Mapping[str, str], key: str) -> Check:
    """A check of an outer edge against the edges named so far, the normal band among them."""

    def check(text: str) -> str:
        others = {name: value for name, value in named.items() if name != "normal" and value}
        band(kind, {**others, key: text})(named["normal"])
        return text

    return check


def split(text: str) -> list[str]:
    """The parts between commas."""
    return [part.strip() for part in text.split(",") if part.strip()]


def several_words(text: str) -> str:
    """At least two different words with commas between them."""
    if len(set(split(text))) < 2:
        raise ReadingError("At least two different words, with a comma between them.")
    return text.lower()


def minutes(text: str) -> str:
    """A whole number of minutes."""
    number = text.removesuffix("min").strip()
    if not number.isdecimal() or not 1 <= int(number) <= 1440:
        raise ReadingError("A whole number of minutes, for example 2.")
    return number


def refuse(reader: Reader) -> None:
    """Raises ReadingError for the first problem of a reader, if there is one."""
    if reader.problems:
        problem = reader.problems[0]
        raise ReadingError(f"{problem.message} {problem.hint}".strip())
