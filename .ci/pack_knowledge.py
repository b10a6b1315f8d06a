"""Puts the checked knowledge into the wheel, so that a first run need not read all YAML."""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PackShipped(BuildHookInterface):  # type: ignore[type-arg]
    """A wheel without it works as well, only the first start takes longer."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Before a wheel is made; an editable install reads the checkout."""
        if version == "editable":
            return
        sys.path.insert(0, self.root)
        self.folder = folder = Path(tempfile.mkdtemp(prefix="rackwalk-kept-"))
        try:
            from expert.cli.job.pack_shipped import pack_shipped

            pack_shipped(folder)
        except Exception as error:
            self.app.display_warning(f"The checked knowledge is not packed: {error!r}")
            return
        build_data["force_include"][str(folder)] = "expert/shipped/kept"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """After the wheel is made, which holds all of it."""
        if version != "editable":
            shutil.rmtree(self.folder, ignore_errors=True)
