"""The administration shows filed records and changes none."""

import pytest
from django.contrib.admin import site
from django.urls import reverse

from jobs.models import ChainLink, Holder, ServiceEvent, StockMovement, Transfer
from jobs.models.filed import FiledModel
from tests.factories import UserFactory, charged, file_event, supply_cylinder

pytestmark = pytest.mark.django_db

SHOWN = [ServiceEvent, StockMovement, Transfer, Holder, ChainLink]


@pytest.fixture
def superuser(client):
    user = UserFactory(is_staff=True, is_superuser=True)
    client.force_login(user)
    return client


def address(model, page, *args):
    return reverse(f"admin:jobs_{model._meta.model_name}_{page}", args=args)


@pytest.mark.parametrize("model", SHOWN)
def test_record_is_shown_and_not_changed(superuser, model):
    file_event(transfers=(charged(supply_cylinder()),))
    row = model.objects.first()

    assert superuser.get(address(model, "changelist")).status_code == 200
    assert superuser.get(address(model, "change", row.pk)).status_code == 200
    assert superuser.post(address(model, "change", row.pk), {}).status_code == 403
    assert superuser.get(address(model, "add")).status_code == 403
    assert superuser.get(address(model, "delete", row.pk)).status_code == 403


def test_no_filed_model_has_an_administration_that_writes():
    filed = [model for model in site._registry if issubclass(model, FiledModel)]

    assert filed
    assert all(not site._registry[model].has_delete_permission(None) for model in filed)
    assert all(not site._registry[model].has_change_permission(None) for model in filed)


@pytest.mark.parametrize("model", SHOWN)
def test_list_takes_no_query_for_each_row(superuser, model, django_assert_max_num_queries):
    cylinder = supply_cylinder("25 lb")
    for _ in range(6):
        file_event(transfers=(charged(cylinder, "1 lb"),))

    with django_assert_max_num_queries(14):
        superuser.get(address(model, "changelist"))
