"""The real web server over HTTP, and a person's way through its pages without a browser."""

import html.parser
import http.client
import http.cookies
import re
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self
from urllib.parse import urlencode

from tests.brokers import ROOT, free_port, wait_until

ANSWER_LIMIT_S = 60


class WebServer:
    """gunicorn as an operator starts it; ends with the ``with`` block.

    Args:
        environment: of the server.
        log: a file for what it says.
        options: further ones of gunicorn.
    """

    def __init__(self, environment: dict[str, str], log: Path, *options: str) -> None:
        self.port = free_port()
        bind = ("--bind", f"127.0.0.1:{self.port}", "--no-control-socket")
        with log.open("wb") as output:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "gunicorn", "portal.wsgi", *bind, *options],
                cwd=ROOT,
                env=environment,
                stdout=output,
                stderr=subprocess.STDOUT,
            )

    def __enter__(self) -> Self:
        wait_until(self._answers, timeout_s=90, what="the web server")
        return self

    def __exit__(self, *_: object) -> None:
        self.process.terminate()
        self.process.wait(timeout=40)

    def _answers(self) -> bool:
        try:
            Person(self.port).get("/healthz")
        except OSError:
            return False
        return True


@dataclass(frozen=True)
class Answer:
    """What came back, and after how many seconds."""

    status: int
    text: str
    location: str
    seconds: float

    @property
    def form(self) -> dict[str, list[str]]:
        """The boxes of the page's forms as they stand, by name."""
        reader = _FormReader()
        reader.feed(self.text)
        return reader.boxes


class Person:
    """Someone with cookies who opens pages and sends forms."""

    def __init__(self, port: int, **cookies: str) -> None:
        self.port = port
        self.cookies = cookies

    def get(self, path: str) -> Answer:
        return self._ask("GET", path)

    def post(self, path: str, data: dict[str, Any]) -> Answer:
        """Send a form, with the token of the page it stands on."""
        token = {"csrfmiddlewaretoken": self.cookies["csrftoken"]}
        body = urlencode({**data, **token}, doseq=True)
        return self._ask("POST", path, body)

    def sign_in(self, email: str, password: str) -> None:
        self.get("/sign-in/")
        answer = self.post("/sign-in/", {"username": email, "password": password})
        assert answer.status == http.client.FOUND, answer

    def _ask(self, method: str, path: str, body: str | None = None) -> Answer:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=ANSWER_LIMIT_S)
        began = time.monotonic()
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            text = answer.read().decode(errors="replace")
        finally:
            connection.close()
        for line in answer.headers.get_all("Set-Cookie", []):
            self.cookies |= {name: one.value for name, one in http.cookies.SimpleCookie(line).items()}
        return Answer(answer.status, text, answer.headers.get("Location", ""), time.monotonic() - began)


class _FormReader(html.parser.HTMLParser):
    """Reads what a browser would send of a page's forms."""

    def __init__(self) -> None:
        super().__init__()
        self.boxes: dict[str, list[str]] = {}
        self._select = self._text_of = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        fields = {name: value or "" for name, value in attrs}
        if tag == "input" and fields.get("name"):
            is_tick = fields.get("type") in {"checkbox", "radio"}
            if not is_tick or "checked" in fields:
                value = fields.get("value", "on" if is_tick else "")
                self.boxes.setdefault(fields["name"], []).append(value)
        elif tag == "select":
            self._select = fields.get("name", "")
        elif tag == "option" and self._select and ("selected" in fields or self._select not in self.boxes):
            self.boxes[self._select] = [fields.get("value", "")]
        elif tag == "textarea":
            self._text_of = fields.get("name", "")
            self.boxes[self._text_of] = [""]

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self._select = ""
        elif tag == "textarea":
            self._text_of = ""

    def handle_data(self, data: str) -> None:
        if self._text_of:
            self.boxes[self._text_of] = [re.sub(r"^\n", "", data)]
