"""A mail server for tests: takes what SMTP (RFC 5321) brings, notes each Message-ID, is slow or fails where asked."""

import email
import random
import socketserver
import threading
import time
from collections.abc import Callable
from enum import StrEnum
from typing import Self


class Fault(StrEnum):
    """Where a connection goes wrong."""

    CLOSED = "closed before the greeting"
    GREETING = "too busy for EHLO"
    SENDER = "the sender refused"
    RECIPIENT = "the recipient refused"
    DATA = "no text wanted"
    CUT = "closed within the text"
    REFUSED = "the text refused"
    TAKEN_UNANSWERED = "the text taken, closed without an answer"
    LOST_UNANSWERED = "the text thrown away, closed without an answer"
    QUIT = "closed instead of a farewell"


#: After these the client can't know whether its text was taken.
UNDECIDABLE = {Fault.CUT, Fault.TAKEN_UNANSWERED, Fault.LOST_UNANSWERED}
LINES_BEFORE_THE_CUT = 5


class _Session(socketserver.StreamRequestHandler):
    """One connection; answers commands and keeps what follows DATA, but for the one fault that it has."""

    def handle(self) -> None:
        self.fault = self.server.fault()
        if self.fault == Fault.CLOSED:
            self.server.faults.append(self.fault)
            return
        self._say("220 ready")
        answers = {
            b"EHLO": (Fault.GREETING, "421 too busy", self._nod),
            b"HELO": (Fault.GREETING, "421 too busy", self._nod),
            b"MAIL": (Fault.SENDER, "451 not now", self._nod),
            b"RCPT": (Fault.RECIPIENT, "450 mailbox busy", self._nod),
            b"DATA": (Fault.DATA, "451 no room", self._take),
            b"QUIT": (Fault.QUIT, "", self._part),
        }
        is_open = True
        while is_open and (line := self.rfile.readline()):
            fault, refusal, answer = answers.get(line.strip().upper()[:4], (None, "", self._nod))
            if fault and fault == self.fault:
                self.server.faults.append(fault)
                self._say(refusal)
                is_open = fault not in {Fault.GREETING, Fault.QUIT}
            else:
                is_open = answer()

    def _nod(self) -> bool:
        self._say("250 ok")
        return True

    def _part(self) -> bool:
        self._say("221 bye")
        return False

    def _take(self) -> bool:
        self._say("354 go on")
        lines = []
        while (line := self.rfile.readline()) and line != b".\r\n":
            lines.append(line.removeprefix(b"."))
            if self.fault == Fault.CUT and len(lines) == LINES_BEFORE_THE_CUT:
                self.server.faults.append(self.fault)
                return False
        if not line:
            return False
        after_the_text = {Fault.REFUSED, Fault.TAKEN_UNANSWERED, Fault.LOST_UNANSWERED}
        if self.fault in after_the_text:
            self.server.faults.append(self.fault)
        if self.fault not in {Fault.REFUSED, Fault.LOST_UNANSWERED}:
            self.server.received.append(email.message_from_bytes(b"".join(lines))["Message-ID"])
        time.sleep(self.server.seconds_to_answer)
        if self.fault in UNDECIDABLE:
            return False
        self._say("451 no" if self.fault == Fault.REFUSED else "250 taken")
        return True

    def _say(self, text: str) -> None:
        if text:
            self.wfile.write(text.encode() + b"\r\n")


class MailServer(socketserver.ThreadingTCPServer):
    """Listens on a free port while it is entered.

    ``received`` holds the Message-IDs of what it took in the order they came, ``faults`` what went wrong.
    """

    daemon_threads = True

    def __init__(
        self, seconds_to_answer: float = 0, fault: Callable[[], Fault | None] = lambda: None
    ) -> None:
        self.received: list[str] = []
        self.faults: list[Fault] = []
        self.fault = fault
        self.seconds_to_answer = seconds_to_answer
        super().__init__(("127.0.0.1", 0), _Session)

    @property
    def url(self) -> str:
        """Where it listens, as EMAIL_URL has it."""
        return f"smtp://127.0.0.1:{self.server_address[1]}"

    def handle_error(self, *_: object) -> None:
        """A client that was killed is no error of the server's."""

    def __enter__(self) -> Self:
        threading.Thread(target=self.serve_forever, args=(0.02,), daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self.shutdown()
        self.server_close()


def fails_half_the_time(source: random.Random) -> Callable[[], Fault | None]:
    """Let every other connection go wrong on average, each fault as often as the others."""
    return lambda: source.choice(list(Fault)) if source.random() < 1 / 2 else None
