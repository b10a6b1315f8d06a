"""`rackwalk serve` as a process of its own that can be killed at any moment and started again."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from small_server import DEMO, Visitor

PATIENCE = 60.0  # s


class Killed:
    """A server on a store in a folder, always on the same port."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self.code = ""
        self.process: subprocess.Popen[str] | None = None
        self.start()

    @property
    def address(self) -> tuple[str, int]:
        return "127.0.0.1", self.port

    def start(self) -> float:
        """Starts it; how many seconds passed until a page came."""
        begun = time.monotonic()
        self.process = subprocess.Popen(
            [
                sys.executable, "-m", "expert", "serve", "--port", str(self.port),
                "--site", str(DEMO / "site.yaml"), "--jobs", str(self.folder),
            ],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            stdin=subprocess.DEVNULL, cwd=Path(__file__).parents[2],
            env={**os.environ, "RACKWALK_HOME": str(self.folder)},
        )  # fmt: skip
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if match := re.search(r"Code .*: (\d{4} \d{4})", line):
                self.code = match[1]
                break
        else:
            raise AssertionError("the server did not start")
        while True:
            try:
                if Visitor(self.address).ask("GET", "/pair") == 200:
                    return time.monotonic() - begun
            except OSError:
                assert time.monotonic() - begun < PATIENCE, "the server does not answer"
                time.sleep(0.05)

    def kill(self) -> None:
        """Ends it without a word, as a power cut would."""
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(PATIENCE)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def visitor(self, name: str = "A. Sample") -> Visitor:
        visitor = Visitor(self.address)
        visitor.go("/pair")
        visitor.submit(visitor.form("/pair"), code=self.code, name=name)
        assert visitor.status == 200, visitor.text()
        return visitor
