"""The pages of filings: what may be filed, the form filled in, the record, and who may do what."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.html import strip_tags

from compliance.models import Obligation
from jobs.models import CaseFiling
from tests.compliance.filings.acts import COMPLETE, file_case, mothball
from tests.compliance.firm import day, file, noon, over_the_threshold
from tests.compliance.reports.asking import pdf_text

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-20"))


@pytest.fixture
def leaking(admin, chiller, time_machine):
    """12 % on 2 March 2026: the repair is due on 1 April (40 CFR 84.106(d)); today is the 20th of March."""
    over_the_threshold(admin, chiller, "2026-03-02")
    time_machine.move_to(NOW)
    return chiller


@pytest.fixture
def desk(client, officer):
    """The compliance officer's browser."""
    client.force_login(officer)
    return client


def _add(appliance, kind):
    return reverse("filing-add", args=[appliance.pk, kind.replace("_", "-")])


def _post(page, **boxes):
    """The form as it came, with boxes filled in."""
    form = page.context["form"]
    data = {name: form[name].value() for name in form.fields if name != "documents"}
    data = {name: value for name, value in {**data, **boxes}.items() if value not in (None, False)}
    return {name: "on" if value is True else value for name, value in data.items()}


class TestPick:
    def test_it_offers_what_the_paragraphs_allow_and_says_why_not(self, desk, leaking):
        page = desk.get(reverse("filing-pick", args=[leaking.pk]))

        assert {option.spec.kind for option in page.context["open"]} == {
            "extension",
            "mothballed",
            "purged_and_destroyed",
            "retrofit_or_retirement_elected",
            "retrofit_or_retirement_plan",
            "automatic_leak_detection",
        }
        assert "Expected industrial process refrigeration" in strip_tags(page.text)

    def test_a_technician_files_none(self, client, technician_user, leaking):
        client.force_login(technician_user)

        assert client.get(reverse("filing-pick", args=[leaking.pk])).status_code == 403
        assert (
            reverse("filing-pick", args=[leaking.pk])
            not in client.get(reverse("appliance-detail", args=[leaking.pk])).text
        )


class TestForm:
    def test_it_comes_filled_in_from_the_case(self, desk, leaking):
        owed = Obligation.objects.get(kind="initial_verification_test")

        form = desk.get(f"{_add(leaking, 'extension')}?obligation={owed.pk}").context["form"]

        assert form["obligation"].value() == "initial_verification_test"
        assert form["happened_on"].value() == day("2026-03-20")

    def test_what_it_files_stands_on_its_page(self, desk, leaking):
        page = desk.get(_add(leaking, "extension"))
        letter = SimpleUploadedFile("quote.pdf", b"%PDF-1.7 six weeks", "application/pdf")

        answer = desk.post(
            _add(leaking, "extension"),
            {**_post(page, **COMPLETE["extension"]), "documents": [letter]},
            follow=True,
        )

        filing = CaseFiling.objects.get()
        assert filing.details == COMPLETE["extension"]
        text = strip_tags(answer.text)
        for words in (
            "Filed as CF-",
            "Shaft seal kit",
            "quote.pdf",
            "40 CFR 84.106(f)(4)",
            "12.00 % on 2026-03-02",
        ):
            assert words in text
        document = desk.get(reverse("filing-document", args=[filing.pk, 0]))
        assert b"".join(document.streaming_content) == b"%PDF-1.7 six weeks"
        assert document["Content-Type"] == "application/octet-stream"

    def test_what_is_missing_is_said_at_its_field_with_the_paragraph(self, desk, leaking):
        page = desk.get(_add(leaking, "extension"))

        answer = desk.post(
            _add(leaking, "extension"), _post(page, **{**COMPLETE["extension"], "reasons": ""})
        )

        assert "(40 CFR 84.106(f)(4))" in answer.context["form"].errors["reasons"][0]
        assert not CaseFiling.objects.exists()

    def test_what_another_ground_asks_for_is_left_out(self, desk, leaking):
        page = desk.get(_add(leaking, "extension"))
        boxes = {**COMPLETE["extension"], "regulation": "left over"}

        desk.post(_add(leaking, "extension"), _post(page, **boxes))

        assert "regulation" not in CaseFiling.objects.get().details

    def test_masses_and_refrigerants_are_read_as_elsewhere(self, desk, leaking):
        page = desk.get(_add(leaking, "retrofit_or_retirement_plan"))
        plan = {
            **COMPLETE["retrofit_or_retirement_plan"],
            "intention": "retrofit",
            "new_refrigerant": "r454b",
        }
        boxes = _post(page, **plan, conversion_procedure="Flush, new valves.", leaks_are_repaired=True)
        boxes |= {"new_full_charge_value": "90", "new_full_charge_unit": "lb", "completion_on": "2026-10-31"}

        desk.post(_add(leaking, "retrofit_or_retirement_plan"), boxes)

        details = CaseFiling.objects.get().details
        # 90 lb of 453,592.37 mg.
        assert details["new_full_charge"] == {"value": "90", "unit": "lb", "mg": 40_823_313}
        assert details["new_refrigerant"] == "R-454B"
        assert "appliance_disposition" not in details

    def test_it_says_when_it_is_not_for_today(self, desk, leaking):
        assert "It can’t be filed for today." in desk.get(_add(leaking, "returned_to_service")).text

    def test_it_names_the_visits_that_moved_refrigerant(self, desk, admin, leaking):
        visit = file(admin, leaking, "2026-03-12", removed=[("80", None)])

        form = desk.get(_add(leaking, "mothballed")).context["form"]

        assert form["evacuation_visit"].value() == visit.reference
        assert f"2026-03-12 · {visit.reference} · took out 80.000 lb" in str(form["evacuation_visit"])

    def test_an_unknown_kind_is_no_page(self, desk, leaking):
        assert desk.get(_add(leaking, "relocated")).status_code == 404

    def test_names_that_look_like_markup_stay_text(self, desk, officer, leaking):
        filing = file_case(officer, leaking, "extension", "2026-03-20", supplier="<script>alert(1)</script>")

        assert "<script>alert(1)" not in desk.get(reverse("filing-detail", args=[filing.pk])).text


class TestAmending:
    @pytest.fixture
    def filing(self, officer, leaking):
        return file_case(officer, leaking, "extension", "2026-03-20")

    def test_the_form_stands_filled_with_what_was_filed(self, desk, filing):
        address = reverse("filing-amend", args=[filing.pk])
        page = desk.get(address)

        desk.post(address, _post(page, supplier="Other works", reason="Wrong firm"))

        amended = CaseFiling.objects.get(supersedes=filing)
        assert amended.details == {**filing.details, "supplier": "Other works"}
        former = strip_tags(desk.get(reverse("filing-detail", args=[filing.pk])).text)
        assert "This counts no more." in former
        assert "Wrong firm" in former

    def test_withdrawing_it_asks_why(self, desk, filing):
        address = reverse("filing-withdraw", args=[filing.pk])
        page = desk.get(address)

        desk.post(address, _post(page, reason="Sent for another rack"))

        assert CaseFiling.objects.get(supersedes=filing).is_void
        assert Obligation.objects.get(kind="repair").due_on == day("2026-04-01")

    def test_the_office_files_and_leaves_amending_to_the_officer(self, client, admin, filing):
        client.force_login(admin)

        assert client.get(_add(filing.appliance, "extension")).status_code == 200
        assert client.get(reverse("filing-amend", args=[filing.pk])).status_code == 403
        assert client.get(reverse("filing-withdraw", args=[filing.pk])).status_code == 403

    def test_a_technician_reads_it(self, client, technician_user, filing):
        client.force_login(technician_user)

        assert client.get(reverse("filing-detail", args=[filing.pk])).status_code == 200

    def test_it_is_printed_as_it_was_filed(self, desk, filing):
        address = reverse("filing-pdf", args=[filing.pk])
        withdraw = reverse("filing-withdraw", args=[filing.pk])
        desk.post(withdraw, _post(desk.get(withdraw), reason="Sent for another rack"))

        said = pdf_text(desk.get(address).content)

        assert f'href="{address}"' in desk.get(reverse("filing-detail", args=[filing.pk])).text
        assert "Withdrawn by" in said
        assert filing.spec.name in said
        assert f"Chain appliance:{filing.appliance_id}" in said

    def test_a_stranger_sees_nothing(self, client, stranger, filing):
        client.force_login(stranger)

        assert client.get(reverse("filing-detail", args=[filing.pk])).status_code == 403


class TestCasePage:
    def test_the_case_tells_visits_and_filings_in_order(self, desk, admin, officer, leaking):
        file_case(officer, leaking, "extension", "2026-03-20")
        repair = Obligation.objects.get(kind="repair")

        text = strip_tags(desk.get(reverse("obligation-detail", args=[repair.pk])).text)

        places = [
            text.index(words) for words in ("Found Leak 1", "More time for a repair or test:", "Due in")
        ]
        assert places[:2] == sorted(places[:2])
        assert "2026-08-29" in text

    def test_it_offers_what_may_be_filed_now(self, desk, leaking):
        repair = Obligation.objects.get(kind="repair")

        text = desk.get(reverse("obligation-detail", args=[repair.pk])).text

        offered = set(
            re.findall(rf"/appliances/{leaking.pk}/filings/([a-z-]+)/add/\?obligation={repair.pk}", text)
        )
        assert offered == {
            "extension",
            "mothballed",
            "retrofit-or-retirement-elected",
            "retrofit-or-retirement-plan",
        }

    def test_what_a_filing_settles_is_led_to_it(self, desk, officer, leaking):
        file_case(officer, leaking, "retrofit_or_retirement_elected", "2026-03-19")
        plan = Obligation.objects.get(kind="retrofit_or_retirement_plan")

        text = desk.get(reverse("obligation-detail", args=[plan.pk])).text

        assert "File what settles this" in text
        assert "?settles=" not in text

    def test_what_is_suspended_offers_the_return(self, desk, admin, leaking):
        mothball(admin, leaking, "2026-03-12")
        repair = Obligation.objects.get(kind="repair")

        assert (
            "/filings/returned-to-service/add/"
            in desk.get(reverse("obligation-detail", args=[repair.pk])).text
        )

    def test_the_appliance_shows_it_among_its_visits(self, desk, officer, leaking):
        filing = file_case(officer, leaking, "extension", "2026-03-20")

        page = desk.get(reverse("appliance-detail", args=[leaking.pk]))

        assert [entry.filing for entry in page.context["page"].history][:1] == [filing]
        assert filing.reference in page.text
