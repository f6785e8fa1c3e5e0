"""The table of roles: every permission in it exists, and the groups hold exactly the table's."""

import pytest
from django.contrib.auth.models import Group, Permission
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management import call_command

from portal.accounts.models import Role, User
from portal.accounts.roles import ROLE_PERMISSIONS
from portal.accounts.services import password_renew, sign_in_open, sign_in_set_open
from tests import people

pytestmark = pytest.mark.django_db


def held_by(role: Role) -> set[str]:
    permissions = Group.objects.get(name=role.value).permissions
    return {f"{app}.{name}" for app, name in permissions.values_list("content_type__app_label", "codename")}


@pytest.mark.parametrize("role", Role)
def test_a_role_s_group_holds_the_table_s_permissions(role: Role) -> None:
    assert held_by(role) == ROLE_PERMISSIONS[role]


def test_the_next_migrate_takes_back_what_was_given_by_hand() -> None:
    group = Group.objects.get(name=Role.TECHNICIAN.value)
    group.permissions.add(Permission.objects.get(codename="delete_customer"))

    call_command("migrate", verbosity=0)

    assert held_by(Role.TECHNICIAN) == ROLE_PERMISSIONS[Role.TECHNICIAN]


def test_nobody_s_role_deletes_anything() -> None:
    names = {name for names in ROLE_PERMISSIONS.values() for name in names}

    assert not [name for name in names if ".delete_" in name]
    assert not [name for name in names if name.split(".")[1] in ("change_serviceevent", "change_transfer")]


def test_only_the_technician_files_and_only_the_officer_amends() -> None:
    holders = {
        name: {role for role, names in ROLE_PERMISSIONS.items() if name in names}
        for name in ("jobs.add_serviceevent", "jobs.amend_serviceevent", "compliance.add_reportrun")
    }

    assert holders == {
        "jobs.add_serviceevent": {Role.TECHNICIAN},
        "jobs.amend_serviceevent": {Role.COMPLIANCE_OFFICER},
        "compliance.add_reportrun": {Role.COMPLIANCE_OFFICER},
    }


def test_a_sign_in_has_one_role_and_a_password_of_its_own() -> None:
    by = people.office_admin()

    first = sign_in_open(by=by, full_name="Ines Varga", email="Ines@Example.org", role=Role.TECHNICIAN)
    second = sign_in_open(by=by, full_name="Jon Varga", email="jon@example.org", role=Role.TECHNICIAN)

    assert first.user.email == "ines@example.org"
    assert first.user.role_names == {"technician"}
    assert first.password != second.password
    assert len(first.password) == len("abcd-efgh-ijkm-npqr")
    assert first.user.check_password(first.password)


def test_a_taken_e_mail_address_makes_no_second_user() -> None:
    by = people.office_admin()

    with pytest.raises(ValidationError, match="already exists"):
        sign_in_open(by=by, full_name="Impostor", email=by.email.upper(), role=Role.TECHNICIAN)

    assert User.objects.count() == 1


@pytest.mark.parametrize("maker", [people.technician_user, people.officer, people.stranger])
def test_nobody_but_the_office_manages_sign_ins(maker) -> None:
    by = maker()
    user = User.objects.create_user("ines@example.org", "x", full_name="Ines Varga")
    user.groups.add(Group.objects.get(name=Role.TECHNICIAN.value))

    with pytest.raises(PermissionDenied):
        sign_in_open(by=by, full_name="Jon", email="jon@example.org", role=Role.TECHNICIAN)
    with pytest.raises(PermissionDenied):
        password_renew(by=by, user=user, role=Role.TECHNICIAN)
    with pytest.raises(PermissionDenied):
        sign_in_set_open(by=by, user=user, role=Role.TECHNICIAN, is_open=False)


def test_an_e_mail_address_is_kept_in_small_letters_however_it_is_entered() -> None:
    user = User(email="Mixed.Case@Example.org", full_name="Mixed Case", password="!")

    user.full_clean()

    assert user.email == "mixed.case@example.org"
