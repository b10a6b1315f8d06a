"""The checklist runner: a pure state machine over an append-only list of entries."""
