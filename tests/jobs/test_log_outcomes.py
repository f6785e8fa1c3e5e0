"""A log is read once for each set of answers, however often its row is looked at; the file is what was read."""

import zlib

import pytest

from jobs.models import WeighLogUpload
from jobs.services.log_entries import LogAnswers
from jobs.services.log_outcomes import OUTCOMES_MAX, shelved_weigh
from jobs.services.log_uploads import log_upload
from jobs.weighing import InvalidLog, UnclearLog
from tests.factories import FILED_AT, UserFactory
from tests.jobs.logged_visits import file_with_log, log_of
from tests.scale_logs import scale_log

pytestmark = pytest.mark.django_db

POUNDS = LogAnswers("lb")


@pytest.fixture
def user():
    return UserFactory()


def upload(user, **log):
    return log_upload(by=user, name="scale.csv", content=scale_log(**log), uploaded_at=FILED_AT)


def spoilt(shelved):
    """The upload as it is on record, its file replaced: whatever reads it again fails."""
    WeighLogUpload.objects.filter(pk=shelved.pk).update(compressed=zlib.compress(b"no log at all"))
    return WeighLogUpload.objects.get(pk=shelved.pk)


def ask(shelved, answers=LogAnswers(), direction="in", division_mg=None):  # noqa: B008 -- frozen
    return shelved_weigh(shelved, answers, direction=direction, division_mg=division_mg)


def test_it_is_read_once(user):
    shelved = upload(user)
    first = ask(shelved)

    again = ask(spoilt(shelved))

    assert vars(again) == vars(first)
    # 7 lb are 3.175147 kg (NIST Handbook 44, appendix C); the last digit is 0.001 lb, half a gram.
    assert again.net_mg == pytest.approx(3_175_147, abs=1_000)


@pytest.mark.parametrize("other", [{"direction": ""}, {"division_mg": 5_000}, {"answers": POUNDS}])
def test_another_question_reads_it_again(user, other):
    shelved = upload(user)
    ask(shelved)

    with pytest.raises(InvalidLog, match="file"):
        ask(spoilt(shelved), **other)


def test_what_it_leaves_open_is_kept_too(user):
    shelved = upload(user, header=False)
    with pytest.raises(UnclearLog) as first:
        ask(shelved)

    with pytest.raises(UnclearLog) as again:
        ask(spoilt(shelved))

    assert vars(again.value) == vars(first.value)
    assert again.value.first_rows[0][0] == "2026-03-02T14:05:00"


def test_what_is_wrong_with_it_is_kept_too(user):
    shelved = upload(user, rises=True)
    with pytest.raises(InvalidLog) as first:
        ask(shelved)

    with pytest.raises(InvalidLog) as again:
        ask(spoilt(shelved))

    assert str(again.value) == str(first.value)


def test_the_same_file_sent_again_brings_its_reading(user):
    ask(upload(user))

    again = spoilt(upload(user))

    assert ask(again).net_mg == pytest.approx(3_175_147, abs=1_000)
    with pytest.raises(InvalidLog):
        ask(spoilt(upload(UserFactory())))


def test_no_more_is_kept_than_a_person_asks(user):
    shelved = upload(user)

    for division_mg in range(1_000, 1_000 * (OUTCOMES_MAX + 3), 1_000):
        ask(shelved, division_mg=division_mg)

    assert 0 < len(WeighLogUpload.objects.get().outcomes) <= OUTCOMES_MAX


def test_a_filed_log_is_answered_from_its_reading():
    log = log_of(file_with_log())
    log.reading.net_mg = 1

    assert ask(log).net_mg == 1
    assert ask(log, answers=POUNDS).net_mg == pytest.approx(3_175_147, abs=1_000)
    assert ask(log, division_mg=5_000).net_mg == pytest.approx(3_175_147, abs=2_500)


def test_a_reading_of_a_former_engine_is_read_anew():
    log = log_of(file_with_log())
    log.reading.net_mg, log.reading.engine_version = 1, "0"

    assert ask(log).net_mg == pytest.approx(3_175_147, abs=1_000)
