"""Gives people a sign-in, a new password, and takes the sign-in away; roles other than the one named stay untouched."""

import secrets
from dataclasses import dataclass

from django.contrib.auth.models import Group
from django.core.exceptions import PermissionDenied
from django.db import transaction

from portal.accounts.models import Role, User

# Without letters and figures that are read for one another: 0 and o, 1, i and l.
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
GROUP_COUNT = 4
GROUP_LENGTH = 4


@dataclass(frozen=True)
class SignIn:
    """A user with a password that is shown once and must be changed at the first sign-in."""

    user: User
    password: str


@transaction.atomic
def sign_in_open(*, by: User, full_name: str, email: str, role: Role) -> SignIn:
    """Make a user with one role and a one-time password.

    Raises:
        ValidationError: the e-mail address is not one, or is taken.
        PermissionDenied: ``by`` may not make users.
    """
    _check_may_manage(by)
    user = User(full_name=full_name, email=email)
    password = _set_one_time_password(user)
    user.full_clean()
    user.save()
    user.groups.add(Group.objects.get(name=role.value))
    return SignIn(user, password)


@transaction.atomic
def password_renew(*, by: User, user: User, role: Role) -> SignIn:
    """Give a user of ``role`` alone a new one-time password; the former one ends, and so do the sessions.

    Raises:
        PermissionDenied: ``by`` may not, or the user is more than ``role`` and so not theirs to open.
    """
    _check_may_manage(by)
    _check_is_only(user, role)
    password = _set_one_time_password(user)
    user.save(update_fields=["password", "has_one_time_password"])
    return SignIn(user, password)


@transaction.atomic
def sign_in_set_open(*, by: User, user: User, role: Role, is_open: bool) -> None:
    """Open or close the sign-in of a user of ``role`` alone; of anyone else nothing changes.

    Raises:
        PermissionDenied: ``by`` may not.
    """
    _check_may_manage(by)
    if is_only(user, role) and user.is_active is not is_open:
        user.is_active = is_open
        user.save(update_fields=["is_active"])


def is_only(user: User, role: Role) -> bool:
    """Say whether the user holds ``role`` and no further power."""
    return user.role_names == {role.value} and not (user.is_staff or user.is_superuser)


def _set_one_time_password(user: User) -> str:
    groups = ("".join(secrets.choice(LETTERS) for _ in range(GROUP_LENGTH)) for _ in range(GROUP_COUNT))
    password = "-".join(groups)
    user.set_password(password)
    user.has_one_time_password = True
    return password


def _check_may_manage(by: User) -> None:
    if not by.has_perm("accounts.add_user"):
        raise PermissionDenied


def _check_is_only(user: User, role: Role) -> None:
    if not is_only(user, role):
        raise PermissionDenied
