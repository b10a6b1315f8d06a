"""Whoever goes on with a kept job is told that its checklist has changed, by its revision."""

from __future__ import annotations

import released


def test_a_checklist_that_changed_since_it_was_given_out_has_a_new_revision() -> None:
    assert released.older(released.noted(), released.now()) == []


def test_a_change_without_a_new_revision_is_noticed() -> None:
    given_out = {"oil": ["2", "a"], "air": ["2", "a"], "gone": ["1", "x"]}
    found = {"oil": ["2", "b"], "air": ["3", "b"], "new": ["1", "c"]}
    assert released.older(given_out, found) == ["oil"]
