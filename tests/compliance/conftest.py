"""People and an appliance for the tests of what the law makes of records."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from jobs.models import Appliance
from portal.accounts.models import User
from portal.celery import app
from tests import people
from tests.compliance import firm


@pytest.fixture
def admin(db: None) -> User:
    return people.office_admin()


@pytest.fixture
def officer(db: None) -> User:
    return people.officer()


@pytest.fixture
def technician_user(db: None) -> User:
    return people.technician_user()


@pytest.fixture
def stranger(db: None) -> User:
    return people.stranger()


@pytest.fixture
def chiller(admin: User) -> Appliance:
    """See :func:`tests.compliance.firm.add_appliance`."""
    return firm.add_appliance(admin)


@pytest.fixture
def mailbox(settings, tmp_path: Path) -> Path:
    """The folder into which e-mails go, each a file."""
    settings.EMAIL_BACKEND = "portal.web.mailbox.MailboxFolderBackend"
    settings.MAILBOX_DIR = tmp_path / "mailbox"
    return settings.MAILBOX_DIR


@pytest.fixture
def tasks_at_once() -> Iterator[None]:
    """Tasks run where they are sent, without a worker."""
    app.conf.task_always_eager = True
    yield
    app.conf.task_always_eager = False
