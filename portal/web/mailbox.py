"""An e-mail backend that writes each message into a folder, one file a message."""

import time
import uuid
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.mail.backends.base import BaseEmailBackend
from django.core.mail.message import EmailMessage

from portal.web.smtp import Handover


class MailboxFolderBackend(BaseEmailBackend):
    """Keeps messages in ``settings.MAILBOX_DIR`` instead of sending them; ``handover`` is told of each."""

    def __init__(self, *args: Any, handover: Handover | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.handover = handover

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """Write each message under a name that sorts by time; return how many were written."""
        folder = Path(settings.MAILBOX_DIR)
        folder.mkdir(parents=True, exist_ok=True)
        for message in email_messages:
            name = f"{time.time_ns():020d}-{uuid.uuid4().hex[:8]}"
            # Written aside and renamed, so that the page never reads half a message.
            draft = folder / f"{name}.part"
            draft.write_bytes(message.message().as_bytes())
            if self.handover:
                self.handover.begin()
            draft.rename(folder / f"{name}.eml")
            if self.handover:
                self.handover.end(is_taken=True)
        return len(email_messages)
