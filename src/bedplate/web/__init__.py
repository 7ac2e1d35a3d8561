"""The state as pages for a tablet on the bench."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from bedplate.workshop import Workshop


def serve(
    workshop: Workshop,
    host: str = "127.0.0.1",
    port: int = 8377,
    *,
    open_browser: bool = False,
    on_ready: Callable[[str], None] | None = None,
    path: str = "/",
    names: tuple[str, ...] = (),
) -> None:
    """Serve the pages until interrupted.

    :param port: 0 takes any free one
    :param on_ready: called with the address once it answers
    :param path: the page to open first
    :param names: more host names under which the pages may be asked for
    :raises NotPossibleError: the port is taken
    """
    from bedplate.web.server import run

    run(
        workshop,
        host,
        port,
        open_browser=open_browser,
        on_ready=on_ready,
        path=path,
        names=names,
    )
