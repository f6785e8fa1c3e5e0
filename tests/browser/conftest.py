"""The running portal, a browser, and people signed in at the two screen sizes."""

import itertools
import os
import re
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
from http import HTTPStatus
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright

from portal.demo.firm import read_firm
from tests.browser.office import register_customer, register_equipment, register_site
from tests.browser.screens import DESK, PHONE, Equip, Equipment, OpenPage, Size, TakePicture

ROOT = Path(__file__).resolve().parents[2]
#: Screenshots are build artefacts: kept beside the other things that a run writes, never in the repository.
PICTURES = ROOT / "var" / "test-pictures"

StorageState = Any

START_LIMIT_S = 120
#: Long enough for a busy machine; a page that needs longer is broken.
WAIT_LIMIT_MS = 20_000
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


@pytest.fixture(params=[PHONE, DESK], ids=["390x844", "1440x900"])
def size(request: pytest.FixtureRequest) -> Size:
    """A phone held upright and a desk's screen; a test that asks for it runs at both."""
    return request.param


@pytest.fixture(scope="session")
def signed_in(browser: Browser, portal_site: RunningPortal) -> Callable[[str], StorageState]:
    """The cookies of a role of the demo firm, which signs in once a run."""
    firm = read_firm(timezone.localdate())
    kept: dict[str, StorageState] = {}

    def cookies(role: str) -> StorageState:
        if role not in kept:
            context = browser.new_context(base_url=portal_site.url)
            page = context.new_page()
            email = next(user["email"] for user in firm.data["users"] if user["role"] == role)
            page.goto("/sign-in/")
            page.get_by_label("E-mail address").fill(email)
            page.get_by_label("Password").fill(firm.password)
            page.get_by_role("button", name="Sign in").click()
            page.get_by_role("button", name="Sign out").first.wait_for(state="attached")
            kept[role] = context.storage_state()
            context.close()
        return kept[role]

    return cookies


@pytest.fixture
def open_page(
    browser: Browser, portal_site: RunningPortal, signed_in: Callable[[str], StorageState]
) -> Iterator[OpenPage]:
    """Open a page of a size, signed in with a role or as a stranger.

    A script that throws, a word in the console, or an answer of 400 and above fails the test.
    """
    contexts: list[BrowserContext] = []
    troubles: list[str] = []

    def open_page(role: str, size: Size, *, has_javascript: bool = True) -> Page:
        is_phone = size == PHONE
        context = browser.new_context(
            base_url=portal_site.url,
            viewport=size,
            is_mobile=is_phone,
            has_touch=is_phone,
            locale="en-US",
            # Scrolling jumps, so that a place that was measured stays where it is.
            reduced_motion="reduce",
            java_script_enabled=has_javascript,
            storage_state=signed_in(role) if role else None,
        )
        contexts.append(context)
        context.set_default_timeout(WAIT_LIMIT_MS)
        page = context.new_page()
        _watch(page, troubles)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert troubles == []


def _watch(page: Page, troubles: list[str]) -> None:
    page.on("pageerror", lambda error: troubles.append(f"{page.url} threw {error}"))
    page.on(
        "console",
        lambda line: line.type in ("error", "warning") and troubles.append(f"{page.url}: {line.text}"),
    )
    page.on(
        "response",
        lambda answer: (
            answer.status >= HTTPStatus.BAD_REQUEST
            and troubles.append(f"{page.url}: {answer.status} from {answer.url}")
        ),
    )


@pytest.fixture(scope="session")
def yard_url(
    browser: Browser, portal_site: RunningPortal, signed_in: Callable[[str], StorageState]
) -> Iterator[str]:
    """A site without appliances, where tests put their own."""
    context = browser.new_context(base_url=portal_site.url, storage_state=signed_in("office_admin"))
    page = context.new_page()
    register_customer(page, "Varga Provisions")
    register_site(page, "Tanner's Yard")
    yield page.url
    context.close()


@pytest.fixture
def equip(open_page: OpenPage, yard_url: str) -> Equip:
    """Put a rack with no past and a cylinder for it on record."""

    def register(size: Size, *, charge_lb: str, contents_lb: str) -> Equipment:
        page = open_page("office_admin", DESK)
        page.goto(yard_url)
        return register_equipment(page, size, charge_lb=charge_lb, contents_lb=contents_lb)

    return register


@pytest.fixture
def picture(request: pytest.FixtureRequest) -> TakePicture:
    """Keep a picture of the whole page under the test's name and a step's; nothing may need sideways scrolling."""
    steps = itertools.count(1)
    test = re.sub(r"\W+", "-", request.node.name).strip("-").removeprefix("test_")

    def take(page: Page, step: str) -> None:
        PICTURES.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=PICTURES / f"{test}-{next(steps):02}-{step}.png", full_page=True)
        width, room = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
        assert width <= room, f"{page.url} is {width} px wide on a screen of {room} px"

    return take
