"""What amendable records share: their hashes cover every column, and they are quoted by a number of their kind."""

import datetime

import pytest

from jobs.models import CaseFiling, LeakRateMethodChange, LeakRateMethodCorrection

DAY = datetime.date(2026, 3, 2)
INSTANT = datetime.datetime(2026, 3, 2, 18, tzinfo=datetime.UTC)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("model", "more", "beside"),
    [
        (CaseFiling, {}, {"record", "attachments"}),
        (LeakRateMethodChange, {"acquired_on": DAY}, {"record"}),
        (LeakRateMethodCorrection, {}, {"record"}),
    ],
)
def test_the_hash_covers_every_column(model, more, beside):
    row = model(pk=7, happened_on=DAY, filed_at=INSTANT, **more)

    columns = {field.name for field in model._meta.concrete_fields if not field.primary_key}
    assert row.canonical().keys() == columns | beside


def test_each_kind_has_letters_of_its_own():
    models = (CaseFiling, LeakRateMethodChange, LeakRateMethodCorrection)

    assert [model(pk=7).reference for model in models] == ["CF-000007", "MC-000007", "RC-000007"]
