"""What a YAML parser could not read, said so that somebody who writes no programs can mend it."""

from __future__ import annotations

import re
from collections.abc import Iterator

import yaml

from expert.errors import Place, Problem

_LINE_UP = (
    "Keys of one entry begin in the same column, and so do the '- ' of one list. "
    "A text that goes on in the next line stands further to the right than its key."
)
_QUOTE = "A text with ': ' in it must stand in quotes."


def syntax_problem(error: yaml.MarkedYAMLError, text: str, path: str) -> Problem:
    """The problem with its place, and what to do about it."""
    mark = error.problem_mark or error.context_mark
    if mark is None:
        return Problem("yaml-syntax", f"This is not valid YAML: {error.problem}.", Place(path))
    return _Telling(error, mark, text, path).problem()


class _Telling:
    def __init__(self, error: yaml.MarkedYAMLError, mark: yaml.Mark, text: str, path: str) -> None:
        self.what = (error.problem or "").strip()
        self.context = error.context_mark or mark
        self.mark = mark
        self.text = text
        self.path = path
        self.lines = text.split("\n")

    def problem(self) -> Problem:
        """The first telling that fits."""
        return (
            self._tab()
            or self._second_colon()
            or self._no_colon()
            or self._quotes()
            or self._bracket()
            or self._first_character()
            or self._other()
        )

    def _at(self, mark: yaml.Mark, message: str, hint: str) -> Problem:
        return Problem(
            "yaml-syntax", message, Place(self.path, mark.line + 1, mark.column + 1), hint
        )

    def _line(self, mark: yaml.Mark) -> str:
        return self.lines[mark.line] if mark.line < len(self.lines) else ""

    def _character(self, mark: yaml.Mark) -> str:
        return self._line(mark)[mark.column : mark.column + 1]

    def _tab(self) -> Problem | None:
        before = self._line(self.mark)[: max(self.mark.column + 1, 1)]
        if "tab" in self.what or "\\t" in self.what or "\t" in before:
            return self._at(
                self.mark, "There is a tab here.", "Indent with spaces, never with tabs."
            )
        return None

    def _second_colon(self) -> Problem | None:
        if "mapping values" not in self.what:
            return None
        if re.search(r":(\s|$)", self._line(self.mark)[: self.mark.column]):
            return self._at(self.mark, "There is a second ': ' in this line.", _QUOTE)
        message = "This line does not line up with its neighbours."
        return self._at(self.mark, message, f"{_LINE_UP} {_QUOTE}")

    def _no_colon(self) -> Problem | None:
        if "could not find expected ':'" not in self.what:
            return None
        line = self._line(self.context)
        joined = re.match(r"^\s*(- )?[\w ]+:\S", line)
        hint = "Put a space after the colon." if joined else (
            "Put a colon and a space between the key and its text. "
            "A text that goes on in the next line stands further to the right than its key."
        )  # fmt: skip
        return self._at(self.context, "This line is not 'key: value'.", hint)

    def _quotes(self) -> Problem | None:
        if "unexpected end of stream" in self.what:
            message = "The quotes that begin here are not closed."
            return self._at(self.context, message, "Close them at the end of the text.")
        quoted = self._quoted_before()
        if quoted is None:
            return None
        start, end = quoted.start_mark, quoted.end_mark
        if start.line != end.line:
            message = f"The quotes that begin here are closed only in line {end.line + 1}."
            return self._at(start, message, "Close them at the end of the text.")
        hint = "Put the quotes round the whole text."
        if quoted.style == "'":
            hint += ' With an apostrophe in the text take " quotes.'
        return self._at(end, "The text goes on after its closing quotes.", hint)

    def _quoted_before(self) -> yaml.ScalarToken | None:
        """The quoted text that ends right before the place of the error."""
        last = None
        for token in _tokens(self.text):
            if token.start_mark.index >= self.mark.index:
                break
            last = token
        if not isinstance(last, yaml.ScalarToken) or last.style not in ("'", '"'):
            return None
        between = self.text[last.end_mark.index : self.mark.index]
        return last if not between.strip(" ") else None

    def _bracket(self) -> Problem | None:
        if "node content" in self.what and not self._character(self.mark).strip():
            if opening := self._still_open():
                return self._not_closed(opening)
            return None
        closing = "]" if "',' or ']'" in self.what else "}" if "',' or '}'" in self.what else ""
        if not closing:
            return None
        if self.mark.line == self.context.line and self._character(self.mark) not in ("", "#"):
            message = f"A comma or a closing '{closing}' is missing before this."
            return self._at(self.mark, message, f"Put commas between the entries. {_QUOTE}")
        return self._not_closed(self.context)

    def _not_closed(self, mark: yaml.Mark) -> Problem:
        opening = self._character(mark)
        message = f"The bracket '{opening}' that begins here is not closed."
        return self._at(mark, message, f"Close it with '{']' if opening == '[' else '}'}'.")

    def _still_open(self) -> yaml.Mark | None:
        """Where the last bracket that is not closed begins."""
        found: list[yaml.Mark] = []
        for token in _tokens(self.text):
            if isinstance(token, yaml.FlowSequenceStartToken | yaml.FlowMappingStartToken):
                found.append(token.start_mark)
            elif isinstance(token, yaml.FlowSequenceEndToken | yaml.FlowMappingEndToken) and found:
                found.pop()
        return found[-1] if found else None

    def _first_character(self) -> Problem | None:
        words = ("cannot start any token", "alphabetic or numeric character", "undefined alias")
        if not any(word in self.what for word in words):
            return None
        mark = self.context if "alphabetic" in self.what else self.mark
        character = self._character(mark)
        hint = f"A text that starts with {character} must stand in quotes."
        return self._at(mark, f"A text cannot begin with '{character}'.", hint)

    def _other(self) -> Problem:
        if "another document" in self.what:
            hint = "One file is one document: delete the line '---' and what belongs elsewhere."
            return self._at(self.mark, "A second document begins here.", hint)
        if "node content" in self.what:
            message = f"'{self._character(self.mark)}' is not expected here."
            hint = "Something is missing before it, or a text with , [ ] { } in it needs quotes."
            return self._at(self.mark, message, hint)
        if "chomping" in self.what or "line break" in self.what:
            message = "Behind '|' or '>' nothing more may stand in this line."
            return self._at(self.mark, message, "Begin the text in the next line, further right.")
        if any(word in self.what for word in ("<block end>", "expected key", "'-' indicator")):
            message = "This line does not line up with its neighbours."
            return self._at(self.mark, message, f"Check how far it is indented. {_LINE_UP}")
        message = f"This is not valid YAML: {self.what}."
        return self._at(
            self.mark, message, "Check indentation, quotes and brackets here and above."
        )


def _tokens(text: str) -> Iterator[yaml.Token]:
    """The tokens up to what cannot be read."""
    try:
        yield from yaml.scan(text, Loader=yaml.SafeLoader)
    except yaml.YAMLError:
        return
