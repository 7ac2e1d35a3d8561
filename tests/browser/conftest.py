"""A real server on a free port of this machine, and a real browser that may go nowhere else."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from bedplate.web.server import listen, server
from bedplate.workshop import Workshop

CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]


@dataclass
class Bench:
    """A workshop with its pages served; it can be killed and started again on the same data."""

    folder: Path
    port: int = 0
    workshop: Workshop | None = None
    _server: object = None
    _thread: threading.Thread | None = field(default=None, repr=False)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def shop(self) -> Workshop:
        assert self.workshop is not None
        return self.workshop

    def start(self) -> None:
        self.workshop = Workshop.open(self.folder)
        sock = listen("127.0.0.1", self.port)
        self.port = sock.getsockname()[1]
        ready = threading.Event()
        self._server = server(self.workshop, ready=ready.set)
        self._thread = threading.Thread(target=self._server.run, args=([sock],), daemon=True)
        self._thread.start()
        assert ready.wait(20), "the server did not start"

    def stop(self) -> None:
        if self._thread is None:
            return
        self._server.should_exit = True
        self._server.force_exit = True
        self._thread.join(20)
        self._thread = None
        self.shop.close()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    running = Bench(tmp_path / "data")
    running.start()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    playwright = pytest.importorskip("playwright.sync_api")
    if not CHROMIUM.exists():
        sentence = f"the browser tests were left out: there is no Chromium at {CHROMIUM}"
        if os.environ.get("CI"):
            pytest.fail(f"{sentence}, and CI has to run them")
        pytest.skip(sentence)
    with playwright.sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield chromium
        chromium.close()


class Watched:
    """A page that notes every complaint and every request that leaves this machine."""

    def __init__(self, context: object, address: str) -> None:
        self.context = context
        self.address = address
        self.complaints: list[str] = []
        self.outside: list[str] = []
        self.page = context.new_page()
        self.page.set_default_timeout(15_000)
        self.page.on("console", self._on_console)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", self._on_request)

    def _on_console(self, message: object) -> None:
        if message.type in {"error", "warning"}:
            self.complaints.append(message.text)

    def _on_request(self, request: object) -> None:
        if not request.url.startswith((self.address, "data:")):
            self.outside.append(request.url)

    def goto(self, path: str) -> object:
        return self.page.goto(self.address + path)


@pytest.fixture
def watched(bench: Bench, browser: object) -> Iterator[Watched]:
    context = browser.new_context(viewport={"width": 1180, "height": 820})
    yield Watched(context, bench.address)
    context.close()
