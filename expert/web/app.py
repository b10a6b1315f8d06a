"""The application: every way of the table behind the guard, each request in a thread of its own."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
import traceback
from collections.abc import AsyncIterator, Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager, suppress

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from expert.errors import MovedOnError, RackwalkError, ReadingError, UsageError
from expert.store.store_errors import NoSuchJobError, StoreError
from expert.web.guard import (
    FORM_FIELD,
    FORM_HEADER,
    HEADERS,
    STRICT_TRANSPORT,
    Comer,
    RefusedRequest,
    comer_of,
    from_own_page,
    let_through,
    right_form,
)
from expert.web.page_request import NOBODY, PageRequest, Upload
from expert.web.pages import page
from expert.web.route_table import WAYS
from expert.web.service import Service
from expert.web.ways import Way

THREADS = 12  # most of them wait for the disk (own choice)
MOST_FIELDS, MOST_FIELD = 500, 20_000
Endpoint = Callable[[Request], Awaitable[Response]]


def make_app(service: Service, ways: tuple[Way, ...] = WAYS) -> Starlette:
    """The application of a service."""
    begun: list[int] = []  # the threads that were made so far
    workers = ThreadPoolExecutor(
        THREADS, "rackwalk", initializer=lambda: begun.append(threading.get_ident())
    )

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        for each in service.companies.values():
            workers.submit(each.desk.warm)
        yield
        await asyncio.to_thread(close_all, service, workers, max(len(begun), 1))

    routes = [
        Route(way.path, _endpoint(service, way, workers), methods=[way.method],
              max_body_size=way.body)
        for way in ways
    ]  # fmt: skip

    async def no_way(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        said = "There is no such page." if error.status_code == 404 else str(error.detail)
        if error.status_code == 413:
            said = "That is too much at once."
        return _told(service, request, error.status_code, said)

    return Starlette(routes=routes, lifespan=lifespan, exception_handlers={HTTPException: no_way})


def close_all(service: Service, workers: ThreadPoolExecutor, threads: int) -> None:
    """Close the stores of every thread in that thread.

    Of so many threads as were begun and not of all that might be: the pool counts a thread as
    idle that has taken the next task already, and then makes none for the last one.
    """
    together = threading.Barrier(threads)

    def close() -> None:
        with suppress(threading.BrokenBarrierError):  # one is still at work: the others close
            together.wait(5)
        for each in service.companies.values():
            each.stores.close()

    done = [workers.submit(close) for _ in range(threads)]
    for each in done:
        each.exception(10)
    workers.shutdown()


def _endpoint(service: Service, way: Way, workers: ThreadPoolExecutor) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        try:
            comer = comer_of(service, request)
            let_through(service, way, comer)
            ask = await _read(request, way, comer)
        except RefusedRequest as refused:
            return _told(service, request, refused.status, refused.said, refused.headers)
        work = asyncio.get_running_loop().run_in_executor(workers, _handled, service, way, ask)
        return _guarded(await work, comer.secure)

    return endpoint


async def _read(request: Request, way: Way, comer: Comer) -> PageRequest:
    """The request as the pages know it. Raises RefusedRequest for a form that is not our own."""
    form: dict[str, list[str]] = {}
    files: list[Upload] = []
    document: object = None
    if way.method == "POST":
        from_own_page(request)
        carried = request.headers.get(FORM_HEADER, "")
        if request.headers.get("content-type", "").startswith("application/json"):
            try:
                document = await request.json()
            except (ValueError, RecursionError):
                raise RefusedRequest(400, "What was sent cannot be read.") from None
        else:
            limits = {"max_files": 4, "max_fields": MOST_FIELDS}
            async with request.form(**limits, max_part_size=MOST_FIELD) as sent:
                for name, value in sent.multi_items():
                    if isinstance(value, str):
                        form.setdefault(name, []).append(value)
                    else:
                        files.append(Upload(value.filename or "", await value.read()))
            carried = carried or (form.get(FORM_FIELD) or [""])[0]
        if comer.known:
            right_form(comer, carried)
    return PageRequest(
        comer.person, comer.address, comer.token, request.path_params, request.query_params, form,
        files, document, comer.key if comer.known else "", comer.secure, comer.visit is not None,
    )  # fmt: skip


def _handled(service: Service, way: Way, ask: PageRequest) -> Response:
    """The answer of a page; what goes wrong is told in a sentence, never as a traceback."""
    try:
        return way.handler(service, ask)
    except NoSuchJobError:
        return page("message", ask, 404, title="Not here", says="There is no such job.")
    except MovedOnError as error:
        return page("message", ask, 409, title="Not entered", says=str(error))
    except (UsageError, ReadingError) as error:
        return page("message", ask, 400, title="Not done", says=str(error))
    except StoreError as error:
        return page("message", ask, 503, title="Not saved", says=str(error))
    except RackwalkError as error:
        return page("message", ask, 500, title="Not done", says=str(error))
    except Exception as error:  # the last net
        said = f"an error in the program: {type(error).__name__}"
        sys.stderr.write(f"rackwalk: {way.method} {way.path}: {said}\n")
        if os.environ.get("RACKWALK_DEBUG"):
            traceback.print_exc()
        says = "An error in the program. What was entered before is kept."
        return page("message", ask, 500, title="Not done", says=says)


def _told(
    service: Service, request: Request, status: int, said: str,
    headers: dict[str, str] | None = None,
) -> Response:  # fmt: skip
    """What is said to whoever goes no further: a page, or a document where a script asks."""
    plain = "text/html" not in request.headers.get("accept", "*/*")
    if plain or request.headers.get(FORM_HEADER):
        answer: Response = JSONResponse({"refused": said}, status)
    elif status == 401:
        answer = RedirectResponse("/pair", 303)
    else:
        ask = PageRequest(NOBODY, "", "")
        answer = page("message", ask, status, title="Not for you" if status == 403 else "Not done",
                      says=said)  # fmt: skip
    answer.headers.update(headers or {})
    return _guarded(answer, service.secure)


def _guarded(answer: Response, secure: bool) -> Response:
    for name, value in {**HEADERS, **(STRICT_TRANSPORT if secure else {})}.items():
        answer.headers.setdefault(name, value)
    return answer
