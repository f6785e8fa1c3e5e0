"""A mail server for tests: takes what SMTP (RFC 5321) brings and notes each message's Message-ID, slowly if asked."""

import email
import socketserver
import threading
import time
from typing import Self


class _Session(socketserver.StreamRequestHandler):
    """One connection; answers every command kindly and keeps what follows DATA."""

    def handle(self) -> None:
        self._say("220 ready")
        while line := self.rfile.readline():
            verb = line.strip().upper()[:4]
            if verb == b"QUIT":
                self._say("221 bye")
                return
            if verb == b"DATA":
                self._take()
            else:
                self._say("250 ok")

    def _take(self) -> None:
        self._say("354 go on")
        lines = []
        while (line := self.rfile.readline()) and line != b".\r\n":
            lines.append(line.removeprefix(b"."))
        if line:
            self.server.received.append(email.message_from_bytes(b"".join(lines))["Message-ID"])
            time.sleep(self.server.seconds_to_answer)
            self._say("250 taken")

    def _say(self, text: str) -> None:
        self.wfile.write(text.encode() + b"\r\n")


class MailServer(socketserver.ThreadingTCPServer):
    """Listens on a free port while it is entered. ``received`` holds the Message-IDs in the order they came."""

    daemon_threads = True

    def __init__(self, seconds_to_answer: float = 0) -> None:
        self.received: list[str] = []
        self.seconds_to_answer = seconds_to_answer
        super().__init__(("127.0.0.1", 0), _Session)

    @property
    def url(self) -> str:
        """Where it listens, as EMAIL_URL has it."""
        return f"smtp://127.0.0.1:{self.server_address[1]}"

    def handle_error(self, *_: object) -> None:
        """A client that was killed is no error of the server's."""

    def __enter__(self) -> Self:
        threading.Thread(target=self.serve_forever, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self.shutdown()
        self.server_close()
