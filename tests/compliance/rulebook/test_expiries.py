"""Until when certificates, apprentices' exemptions, cylinders' tests and calibrations count, by the laws' own texts."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rulebook.certification import CertificationType, Scheme
from compliance.rulebook.expiries import (
    Certificate,
    apprenticeship_counts_until,
    calibration_counts_until,
    certificate_counts_until,
    cylinder_counts_until,
)

date = datetime.date
TODAY = date(2026, 3, 2)
A1, FORMER, GB = CertificationType.EU_A1, CertificationType.EU_CATEGORY_I, CertificationType.GB_CATEGORY_I


def _until(kind, issued_on, **fields):
    found = certificate_counts_until(Certificate(kind, issued_on, **fields), on=TODAY)
    return found and found.on


@pytest.mark.parametrize("kind", [kind for kind in CertificationType if kind.scheme is Scheme.US])
def test_a_certificate_of_the_united_states_has_no_last_day(kind):
    # 40 CFR 82.161(a)(5): no expiry. That those of section 609 have none is from memory.
    assert _until(kind, date(1995, 1, 2)) is None


@pytest.mark.parametrize(
    ("kind", "fields", "until"),
    [
        # Regulation (EU) 2024/573 Art. 10(9): at least every 7 years; counted from the issue or the last refresher by
        # the portal's own reading. 29 February clamps to the 28th, the earlier day: the portal's own choice.
        (A1, {"issued_on": date(2024, 6, 3)}, date(2031, 6, 3)),
        (A1, {"issued_on": date(2024, 6, 3), "refreshed_on": date(2026, 1, 9)}, date(2033, 1, 9)),
        (A1, {"issued_on": date(2024, 2, 29)}, date(2031, 2, 28)),
        (A1, {"issued_on": date(2025, 3, 1), "refreshed_on": date(2026, 2, 28)}, date(2033, 2, 28)),
        # Art. 10(9): who holds one under Regulation (EU) No 517/2014 has the first refresher by 12 March 2029,
        # however old the certificate; a refresher before the Regulation was none under it.
        (FORMER, {"issued_on": date(2011, 5, 4)}, date(2029, 3, 12)),
        (FORMER, {"issued_on": date(2023, 12, 1)}, date(2029, 3, 12)),
        (FORMER, {"issued_on": date(2011, 5, 4), "refreshed_on": date(2024, 3, 10)}, date(2029, 3, 12)),
        (FORMER, {"issued_on": date(2011, 5, 4), "refreshed_on": date(2024, 3, 11)}, date(2031, 3, 11)),
        # Implementing Regulation (EU) 2024/2215 Art. 4(2): the last day printed on it, if any.
        (A1, {"issued_on": date(2024, 6, 3), "expires_on": date(2029, 6, 2)}, date(2029, 6, 2)),
        (A1, {"issued_on": date(2024, 6, 3), "expires_on": date(2034, 6, 2)}, date(2031, 6, 3)),
        # Great Britain asks for no refresher, as far as the portal knows (from memory).
        (GB, {"issued_on": date(2012, 6, 3)}, None),
        (GB, {"issued_on": date(2012, 6, 3), "expires_on": date(2027, 6, 2)}, date(2027, 6, 2)),
    ],
)
def test_a_certificate_counts_until_its_refresher_or_its_printed_last_day(kind, fields, until):
    assert _until(kind, **fields) == until


def test_the_reason_names_the_paragraph_and_the_choice():
    last = certificate_counts_until(Certificate(A1, date(2024, 6, 3), expires_on=date(2034, 1, 1)), on=TODAY)

    assert last.source == "Regulation (EU) 2024/573 Art. 10(9)"
    assert last.is_confirmed
    assert "at least every 7 years" in last.because
    assert "the earlier one counts" in last.because


@pytest.mark.parametrize(
    ("registered_on", "until"),
    [
        # 40 CFR 82.161(a): no more than two years from the first registration.
        (date(2024, 6, 3), date(2026, 6, 3)),
        (date(2024, 2, 28), date(2026, 2, 28)),
        # The portal's own choice for a day that the year lacks: the earlier one.
        (date(2024, 2, 29), date(2026, 2, 28)),
        (date(2024, 3, 1), date(2026, 3, 1)),
        (date(2026, 2, 28), date(2028, 2, 28)),
    ],
)
def test_an_apprentices_exemption_ends_two_years_after_registration(registered_on, until):
    last = apprenticeship_counts_until(registered_on)

    assert (last.on, last.source) == (until, "40 CFR 82.161(a)")


@given(st.dates(date(2000, 1, 1), date(2060, 12, 31)))
def test_an_exemption_is_never_longer_than_two_calendar_years(registered_on):
    on = apprenticeship_counts_until(registered_on).on

    assert on.year == registered_on.year + 2
    assert (on.month, on.day) in {
        (registered_on.month, registered_on.day),
        (2, 28),
    }


def test_a_cylinders_test_counts_to_the_end_of_its_month_and_names_the_table():
    last = cylinder_counts_until(date(2021, 2, 3), 7, "DOT-4BA400")

    assert last.on == date(2028, 2, 29)
    assert last.source == "49 CFR 180.209(a), table 1; 85 FR 68790"
    assert last.is_confirmed
    assert not cylinder_counts_until(date(2021, 2, 3), 5, "unknown").is_confirmed


def test_a_calibration_counts_as_recorded_and_no_law_is_named():
    last = calibration_counts_until(date(2025, 3, 2), date(2026, 3, 2))

    assert last.on == date(2026, 3, 2)
    assert "CFR" not in last.source
