"""The running portal, a browser, and people signed in at the two screen sizes."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, Playwright, sync_playwright

from portal.demo.firm import read_firm

ROOT = Path(__file__).resolve().parents[2]
#: Screenshots are build artefacts: kept beside the other things that a run writes, never in the repository.
PICTURES = ROOT / "var" / "test-pictures"

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}

START_LIMIT_S = 120
CHROMIUM_ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass(frozen=True)
class RunningPortal:
    """Where the portal answers and where it keeps its data."""

    url: str
    data_dir: Path


@pytest.fixture(scope="session")
def portal_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningPortal]:
    """The portal as `make demo` runs it, web server, worker and scheduler, in a data folder of its own."""
    data_dir = tmp_path_factory.mktemp("portal-data")
    environment = {
        **{name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "REDIS_URL")},
        "DATA_DIR": str(data_dir),
        "DJANGO_SETTINGS_MODULE": "portal.settings",
    }

    def manage(*words: str) -> None:
        subprocess.run([sys.executable, "manage.py", *words], cwd=ROOT, env=environment, check=True)

    manage("migrate", "--verbosity", "0")
    manage("collectstatic", "--noinput", "--verbosity", "0")
    manage("load_demo_firm")
    port = _free_port()
    url = f"http://127.0.0.1:{port}"
    log_path = data_dir / "serve.log"
    with log_path.open("w") as log:
        server = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--port", str(port)],
            cwd=ROOT,
            env=environment | {"SITE_URL": url},
            stdout=log,
            stderr=subprocess.STDOUT,
        )
    try:
        _wait_until_it_answers(f"{url}/healthz", server, log_path)
        yield RunningPortal(url, data_dir)
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=60)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_until_it_answers(url: str, server: subprocess.Popen[bytes], log_path: Path) -> None:
    give_up_at = time.monotonic() + START_LIMIT_S
    while time.monotonic() < give_up_at and server.poll() is None:
        try:
            with urllib.request.urlopen(url, timeout=2):  # noqa: S310 -- our own address
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.3)
    pytest.fail(f"the portal didn't start:\n{log_path.read_text()}")


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """The browser's driver."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    """The system's Chromium, without a window."""
    names = ("chromium", "chromium-browser", "google-chrome")
    program = next((path for name in names if (path := shutil.which(name))), None)
    if program is None:
        pytest.fail("no Chromium on this machine; `make test` installs it")
    started = playwright.chromium.launch(executable_path=program, args=list(CHROMIUM_ARGUMENTS))
    yield started
    started.close()


@pytest.fixture
def sign_in(browser: Browser, portal_site: RunningPortal) -> Iterator[Callable[[str, dict[str, int]], Page]]:
    """Open a page of the given size, signed in with a role of the demo firm."""
    firm = read_firm(timezone.localdate())
    contexts = []

    def open_page(role: str, size: dict[str, int]) -> Page:
        is_phone = size == PHONE
        context = browser.new_context(
            viewport=size, has_touch=is_phone, is_mobile=is_phone, base_url=portal_site.url
        )
        contexts.append(context)
        page = context.new_page()
        # A page that throws or asks for something that isn't there fails its test.
        page.on("pageerror", lambda error: pytest.fail(f"script error: {error}"))
        email = next(user["email"] for user in firm.data["users"] if user["role"] == role)
        page.goto("/sign-in/")
        page.get_by_label("E-mail address").fill(email)
        page.get_by_label("Password", exact=True).fill(firm.password)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_load_state("networkidle")
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture
def picture() -> Callable[[Page, str], None]:
    """Keep a picture of the page under a name."""

    def take(page: Page, name: str) -> None:
        PICTURES.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=PICTURES / f"{name}.png", full_page=True)

    return take
