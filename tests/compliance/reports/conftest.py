"""Who asks for the demo firm's reports."""

import pytest

from portal.accounts.models import Role, User


@pytest.fixture
def officer(demo_firm: None, db: None) -> User:
    """The demo's compliance officer."""
    return User.objects.get(groups__name=Role.COMPLIANCE_OFFICER)
