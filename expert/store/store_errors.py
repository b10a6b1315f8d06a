"""What can go wrong with the job file."""

from __future__ import annotations

from expert.errors import RackwalkError, UsageError


class StoreError(RackwalkError):
    """The job file cannot be read or written; what was acknowledged before is untouched."""

    exit_code = 6


class NoSuchJobError(UsageError):
    """There is no job of that name."""


class JobBusyError(UsageError):
    """Another program is at work on the job."""
