"""The server process; only this module knows uvicorn."""

from __future__ import annotations

import socket
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from expert.errors import UsageError

GRACE = 3  # s for requests under way when it ends
MOST_CONNECTIONS = 1000  # own choice


def bound(address: str, port: int) -> socket.socket:
    """A socket that listens. Raises UsageError where the address cannot be had."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    try:
        return socket.create_server((address, port), family=family, backlog=256)
    except OSError as error:
        why = getattr(error, "strerror", None) or str(error)
        raise UsageError(
            f"Cannot listen on {address} port {port}: {why}. --port and --listen choose another."
        ) from None


def prepared(app: Starlette, *, certificate: Path | None = None,
             key: Path | None = None) -> uvicorn.Server:  # fmt: skip
    """A server that `serve` starts. Raises UsageError for a certificate that cannot work."""
    config = uvicorn.Config(
        app, log_config=None, access_log=False, server_header=False, proxy_headers=False,
        lifespan="on", timeout_graceful_shutdown=GRACE, limit_concurrency=MOST_CONNECTIONS,
        ssl_certfile=certificate, ssl_keyfile=key, ws="none", backlog=256,
    )  # fmt: skip
    try:
        config.load()
    except OSError as error:
        raise UsageError(f"The certificate or its key cannot be read: {error}.") from None
    return uvicorn.Server(config)


def serve(server: uvicorn.Server, listening: socket.socket) -> None:
    """Answer requests until a signal ends it."""
    server.run(sockets=[listening])
