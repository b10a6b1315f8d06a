"""A server that ends closes the store of each of its threads, in that thread."""

from __future__ import annotations

import threading
import time
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace
from typing import Any

from expert.web.app import close_all


def test_each_thread_that_was_begun_closes_its_own_store() -> None:
    begun: list[int] = []
    closed: list[int] = []
    pool = ThreadPoolExecutor(12, initializer=lambda: begun.append(threading.get_ident()))
    together = threading.Barrier(3)
    for each in [pool.submit(together.wait, 5) for _ in range(3)]:
        each.result(5)
    time.sleep(0.05)  # the pool counts them as idle a moment after their task
    stores = SimpleNamespace(close=lambda: closed.append(threading.get_ident()))
    service: Any = SimpleNamespace(companies={"": SimpleNamespace(stores=stores)})
    close_all(service, pool, len(begun))
    assert len(begun) == 3 and sorted(closed) == sorted(begun)
