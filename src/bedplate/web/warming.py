"""Kernels that are compiled beside the pages, and the page that says so meanwhile."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from bedplate.errors import BedplateError
from bedplate.web.render import page

if TYPE_CHECKING:
    from bedplate.shop.duty.given import Given
    from bedplate.shop.model import State
    from bedplate.workshop import Workshop


class Warming:
    """Compiles the kernels of the duty check once a process, where this machine has none."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None

    def page(self, request: Request, state: State, tab: str, what: str) -> Response | None:
        """Return the page that says what is awaited, None where there is nothing to wait for.

        A person reads the page, which asks again by itself; a program, which could not, waits.
        An engine file that gives no mass of a piston has no loads, and so needs no kernels.
        """
        if state.engine.duty.figure("weights.piston") is None:
            return None
        thread = self._started(state.build)
        if thread is None or not thread.is_alive():
            return None
        if "text/html" not in request.headers.get("accept", ""):
            thread.join()
            return None
        answer = page(request, "compiling.html", state=state, tab=tab, status=202, what=what)
        answer.headers["Retry-After"] = "3"
        answer.headers["Cache-Control"] = "no-store"
        return answer

    def _started(self, build: str) -> threading.Thread | None:
        from bedplate.physics._compiled import is_compiled

        with self._lock:
            if self._thread is None and not is_compiled():
                given = self._workshop.given(build)
                self._thread = threading.Thread(target=_warm, args=(given,), daemon=True)
                self._thread.start()
            return self._thread


def _warm(given: Given) -> None:
    """Run the check at one speed, so that every kernel it needs is compiled and kept."""
    from bedplate.shop.duty.check import duty_check, speeds_of
    from bedplate.shop.duty.study import film_band

    try:
        check = duty_check(given, speeds_of(given)[:1])
        if check.least is not None and check.least.least is not None:
            film_band(given, check.least.least)
    except BedplateError:
        return  # The page itself says what is wrong.
