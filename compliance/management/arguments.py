"""Arguments that several commands take."""

import getpass
import os
from datetime import datetime

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from portal.accounts.models import User


def instant(text: str) -> datetime:
    """An instant such as ``2026-03-02T14:30``; at the firm unless it names its offset.

    Raises:
        ValueError: it is none.
    """
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo else timezone.make_aware(moment)


def add_by(parser: CommandParser) -> None:
    """Let the command be told who runs it; :func:`run_by` says it in words."""
    parser.add_argument(
        "--by",
        metavar="EMAIL",
        help="who runs it, as the file says: a user's e-mail address; your login on this machine unless given",
    )


def run_by(email: str | None) -> str:
    """Who runs a command: the user of that address, if one is given, and the login that ran it in any case.

    The command can't know whether its login belongs to that user, so both are named.

    Raises:
        CommandError: nobody who may sign in has that address.
    """
    login = f"login {_login()} at the command line"
    if email is None:
        return login
    user = User.objects.filter(email=email.strip().lower(), is_active=True).first()
    if user is None:
        message = f"--by: {email!r} was given; expected the e-mail address of a user who may sign in"
        raise CommandError(message)
    return f"{user} ({login})"


def _login() -> str:
    """The name of the login; its number where the machine knows no name for it, as in many containers."""
    try:
        return getpass.getuser()
    except (ImportError, KeyError, OSError):
        return f"no. {os.getuid()}" if hasattr(os, "getuid") else "without a name"
