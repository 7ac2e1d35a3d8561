"""Make the pictures of the pages from the demo build: `make pictures`."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

HERE = Path(__file__).parent / "pictures"
SHOTS = {
    "stand": "",
    "measure": "measure?feature=main-journal-6&station=0-deg-front-end",
}
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


def main() -> None:
    """Serve a fresh demo and photograph it."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise SystemExit("The pictures need Chromium; on Debian: apt-get install chromium")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        command = [sys.executable, "-m", "bedplate.cli", "--data", folder, "demo"]
        server = subprocess.Popen(
            [*command, "--no-browser", "--port", "0"], stdout=subprocess.PIPE, text=True
        )
        try:
            address = _address(server)
            for name, page in SHOTS.items():
                _shoot(browser, f"{address}{page}", HERE / f"{name}.png")
        finally:
            server.terminate()
            server.wait()
            browser.close()


def _address(server: subprocess.Popen[str]) -> str:
    while server.stdout is not None and (line := server.stdout.readline()):
        match = re.search(r"http://\S+", line)
        if match:
            return match.group().rstrip("/") + "/"
    raise SystemExit("The demo did not start.")


def _shoot(browser: Browser, address: str, picture: Path) -> None:
    page = browser.new_page(viewport={"width": 1180, "height": 820})
    page.goto(address)
    page.wait_for_load_state("networkidle")
    page.screenshot(path=picture)
    page.close()
    print(f"Wrote {picture.name}.")


main()
