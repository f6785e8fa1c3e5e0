"""The people of the tests: one of each role, and a stranger who may sign in and see nothing."""

from django.contrib.auth.models import Group

from portal.accounts.models import Role, User


def _user(full_name: str, role: Role | None = None) -> User:
    email = f"{full_name.lower().replace(' ', '.')}@example.org"
    user = User.objects.create_user(email, "correct horse battery", full_name=full_name)
    if role is not None:
        user.groups.add(Group.objects.get(name=role.value))
    return user


def office_admin() -> User:
    """Registers customers, equipment, people and cylinders."""
    return _user("Odile Marchetti", Role.OFFICE_ADMIN)


def technician_user() -> User:
    """Files service events."""
    return _user("Tamsin Okafor", Role.TECHNICIAN)


def officer() -> User:
    """Watches the clocks and amends events."""
    return _user("Clement Osei", Role.COMPLIANCE_OFFICER)


def stranger() -> User:
    """Holds no role."""
    return _user("Sten Stranger")
