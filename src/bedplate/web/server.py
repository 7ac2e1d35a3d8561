"""The server: a socket of our own, uvicorn behind it."""

from __future__ import annotations

import socket
import threading
import webbrowser
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import uvicorn

from bedplate.errors import NotPossibleError
from bedplate.web.app import create_app

if TYPE_CHECKING:
    from bedplate.workshop import Workshop


class _Server(uvicorn.Server):
    """A server that says when it is ready."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then tell."""
        await super().startup(sockets=sockets)
        if self.started:
            self._ready()


def listen(host: str, port: int) -> socket.socket:
    """Return a bound socket.

    :raises NotPossibleError: the address cannot be had
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Named as TCP, so that asyncio turns off the delay of small packets: 40 ms an answer otherwise.
    sock = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((host, port))
    except OSError as error:
        sock.close()
        sentence = f"The page cannot be served at {host} port {port}: {error.strerror}."
        hint = "Another program may have it; give another port with --port."
        raise NotPossibleError(sentence, hint=hint) from error
    return sock


def server(
    workshop: Workshop,
    *,
    names: tuple[str, ...] = (),
    ready: Callable[[], None] = lambda: None,
) -> uvicorn.Server:
    """Return a server; `run(sockets=[...])` starts it on a socket that `listen` bound."""
    hosts = [*names, "localhost", socket.gethostname(), f"{socket.gethostname()}.local"]
    app: Any = create_app(workshop, allowed_hosts=hosts)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=True,
        lifespan="off",
        timeout_graceful_shutdown=2,
    )
    return _Server(config, ready)


def run(
    workshop: Workshop,
    host: str,
    port: int,
    *,
    open_browser: bool,
    on_ready: Callable[[str], None] | None,
    path: str,
    names: tuple[str, ...],
) -> None:
    """Serve until interrupted."""
    sock = listen(host, port)
    shown = "localhost" if host in {"0.0.0.0", "::", "127.0.0.1"} else host  # noqa: S104
    address = f"http://{f'[{shown}]' if ':' in shown else shown}:{sock.getsockname()[1]}{path}"

    def ready() -> None:
        if on_ready is not None:
            on_ready(address)
        if open_browser:
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    try:
        server(workshop, names=names, ready=ready).run(sockets=[sock])
    except KeyboardInterrupt:
        pass
    finally:
        sock.close()
