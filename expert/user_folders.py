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


def of_user(kind: str) -> Path:
    """The user's own folder for 'cache', 'config' or 'data'."""
    if _xdg():
        variable, usual = _XDG[kind]
        return Path(os.environ.get(variable, "").strip() or usual).expanduser() / NAME
    import platformdirs

    path: Path = getattr(platformdirs, f"user_{kind}_path")(NAME, appauthor=False)
    return path


def of_machine() -> Path:
    """The folder of settings for all users of the machine."""
    if _xdg():
        folders = os.environ.get("XDG_CONFIG_DIRS", "").strip() or "/etc/xdg"
        return Path(folders.split(os.pathsep)[0]).expanduser() / NAME
    from platformdirs import site_config_path

    return site_config_path(NAME, appauthor=False)


def _xdg() -> bool:
    return sys.platform.startswith("linux") and "ANDROID_ROOT" not in os.environ
