"""The folders of the user and of the machine."""

from __future__ import annotations

import os
import sys
from pathlib import Path

NAME = "rackwalk"
# The XDG Base Directory Specification 0.8, read here: importing platformdirs, which knows it and
# the other systems, would take a tenth of the time of a short calculation.
_XDG = {
    "cache": ("XDG_CACHE_HOME", "~/.cache"),
    "config": ("XDG_CONFIG_HOME", "~/.config"),
    "data": ("XDG_DATA_HOME", "~/.local/share"),
}


# The home of a user who has none, as Debian calls it; there is no such folder, so that what cannot
# be read or written there is said where it is needed.
_NO_HOME = Path("/nonexistent")


def expanded(path: str) -> Path:
    """A path with the home of a user in place of '~'; as it is where nobody knows that home."""
    try:
        return Path(path).expanduser()
    except RuntimeError:
        return Path(path)


def of_user(kind: str) -> Path:
    """The user's own folder for 'cache', 'config' or 'data'."""
    if _xdg():
        variable, usual = _XDG[kind]
        place = expanded(os.environ.get(variable, "").strip() or usual)
        return (_NO_HOME / place.relative_to("~") if place.parts[:1] == ("~",) else place) / NAME
    import platformdirs

    path: Path = getattr(platformdirs, f"user_{kind}_path")(NAME, appauthor=False)
    return path


def of_machine() -> Path:
    """The folder of settings for all users of the machine."""
    if _xdg():
        folders = os.environ.get("XDG_CONFIG_DIRS", "").strip() or "/etc/xdg"
        return expanded(folders.split(os.pathsep)[0]) / NAME
    from platformdirs import site_config_path

    return site_config_path(NAME, appauthor=False)


def _xdg() -> bool:
    return sys.platform.startswith("linux") and "ANDROID_ROOT" not in os.environ
