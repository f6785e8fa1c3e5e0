"""Sends e-mail by SMTP and tells, as it happens, when a message is handed over and what the server answers.

From the end of the text until the answer nobody but the server knows whether the message was taken (RFC 1047, RFC 5321
section 4.5.3.2.6). Whoever must not send twice has to write down that this moment begins before it does.
"""

import smtplib
from functools import partial
from typing import Any, Protocol

from django.core.mail.backends import smtp

GO_ON = 354
TAKEN = 250
# RFC 5321, section 4.5.3.2.6: a server that has all of the text may take ten minutes for its answer, and whoever
# leaves earlier is likely to send a second copy.
ANSWER_WAIT_S = 10 * 60


class Handover(Protocol):
    """Is told of one message."""

    def begin(self) -> None:
        """Take note that the text goes out next; what this raises keeps it from going."""

    def end(self, *, is_taken: bool) -> None:
        """Take note of the answer."""


class HandoverBackend(smtp.EmailBackend):
    """Django's SMTP backend; ``handover``, where given, is told of each message."""

    def __init__(self, *args: Any, handover: Handover | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.handover = handover

    @property
    def connection_class(self) -> Any:
        """What opens a connection."""
        if self.handover is None:
            return super().connection_class
        return partial(_TellingTLS if self.use_ssl else _Telling, handover=self.handover)


class _Telling(smtplib.SMTP):
    """One connection. Of all answers, 354 alone asks for the text, and the next one says whether it was taken."""

    def __init__(self, *args: Any, handover: Handover, **kwargs: Any) -> None:
        self.handover = handover
        self.is_handing_over = False
        super().__init__(*args, **kwargs)

    def getreply(self) -> tuple[int, bytes]:
        code, text = super().getreply()
        if self.is_handing_over:
            self.is_handing_over = False
            self.handover.end(is_taken=code == TAKEN)
        elif code == GO_ON:
            try:
                self.handover.begin()
            except BaseException:
                # The server waits for the text and would take a farewell for it.
                self.close()
                raise
            self.is_handing_over = True
            if self.sock:
                self.sock.settimeout(ANSWER_WAIT_S)
        return code, text


class _TellingTLS(_Telling, smtplib.SMTP_SSL):
    """The same over TLS from the start."""
