"""What is wrong stands at its field and in the list at the top; nothing typed is lost, nothing is filed."""

import pytest
from django.urls import reverse

from jobs.models import ServiceEvent
from tests.compliance.events.posting import addition, removal, visit_data
from tests.compliance.events.scene import register_appliance, register_cylinder


@pytest.fixture
def send(technician_client, scene):
    """Send a form that must not be filed, and return the page that comes back."""
    url = reverse("event-add", args=[scene.appliance.pk])

    def post(rows=None, **boxes):
        response = technician_client.post(url, visit_data(scene, rows, **boxes))
        assert response.status_code == 200
        assert ServiceEvent.objects.count() == 0
        return response

    return post


def _errors(response):
    """The list at the top: id of the field -> message."""
    return {error.field_id: error.message for error in response.context["page"].errors}


def test_a_mass_that_is_no_number_is_refused_with_what_was_given(send, scene):
    response = send({"transfers": [addition(scene, "seven")]}, work_done="Charge topped up")

    assert _errors(response) == {"id_transfers-0-mass_value": "Expected a number. You gave “seven”."}
    page = response.content.decode()
    assert 'href="#id_transfers-0-mass_value"' in page
    assert 'value="seven"' in page
    assert "Charge topped up" in page


def test_more_than_the_cylinder_holds_is_refused_at_the_mass(send, scene):
    response = send({"transfers": [{}, addition(scene, "26")]})

    message = _errors(response)["id_transfers-1-mass_value"]
    assert "25.000 lb" in message
    assert "CY-100" in message


def test_an_overfilled_recovery_cylinder_is_refused(send, scene):
    # 80 % of the volume in liquid of about water's density or a little more leaves room for some 40 lb of 47.7 lb.
    response = send({"transfers": [removal(scene, "46")]})

    assert "id_transfers-0-mass_value" in _errors(response)


def test_own_work_needs_the_cylinder_that_was_weighed(send):
    response = send({"transfers": [{"direction": "in", "mass_value": "3"}]})

    assert "Expected the cylinder" in _errors(response)["id_transfers-0-cylinder"]


def test_a_refusal_after_a_blank_row_stands_at_the_row_that_was_typed(send, scene):
    other = register_cylinder(scene.admin, "CY-400", "refillable", refrigerant="R-22", contents="9")

    response = send({"transfers": [{}, {}, addition(scene, "3", cylinder=other.pk)]})

    assert {field.rsplit("-", 1)[0] for field in _errors(response)} == {"id_transfers-2"}


def test_a_day_in_the_future_is_refused(send):
    assert "2026-09-01" in _errors(send(happened_on="2026-09-02"))["id_happened_on"]


@pytest.mark.parametrize(
    ("box", "given", "expected"),
    [
        ("happened_on", "soon", "a date such as 2026-03-02"),
        ("owner_told_on", "31.8.2026", "a date such as 2026-03-02"),
        ("final_vacuum", "low", "a number"),
        ("final_vacuum", "-5", "a number, 0 or more"),
        ("origin", "nobody", "one of the choices offered"),
        ("technician", "0", "one of the choices offered"),
    ],
)
def test_what_cant_be_read_is_named_with_what_is_expected(send, box, given, expected):
    message = _errors(send(**{box: given}))[f"id_{box}"]

    assert message == f"Expected {expected}. You gave “{given}”."


def test_a_day_and_a_mass_that_are_wrong_show_in_one_round(send, scene):
    rows = {"transfers": [addition(scene, "-1")]}

    errors = _errors(send(rows, happened_on="2099-01-01", owner_told_on="2017-01-01", owner_told_name="Ida"))

    assert errors["id_happened_on"] == (
        "Expected a date no later than 2026-09-01, today at the site. You gave “2099-01-01”."
    )
    assert errors["id_owner_told_on"].startswith(f"Expected a date from {scene.appliance.installed_on} to ")
    assert errors["id_transfers-0-mass_value"] == "Expected a mass of zero or more. You gave “-1”."


def test_a_day_that_is_wrong_is_told_once(send):
    response = send(happened_on="2099-01-01")

    assert len(response.context["page"].errors) == 1


def test_all_that_is_wrong_shows_at_once(send, scene):
    rows = {
        "transfers": [addition(scene, "")],
        "repairs": [{"work_done": "Flare remade"}],
        "tests": [{"method": "Bubble solution"}],
    }

    response = send(rows, work_done="", work_kinds=[])

    assert set(_errors(response)) == {
        "id_work_kinds",
        "id_work_done",
        "id_transfers-0-mass_value",
        "id_repairs-0-leak",
        "id_tests-0-leak",
        "id_tests-0-kind",
        "id_tests-0-is_passed",
    }


def test_a_section_with_something_wrong_stands_open(send):
    response = send({"tests": [{"method": "Bubble solution"}]})

    assert response.context["page"].is_open["tests"]
    assert not response.context["page"].is_open["repairs"]


def test_a_new_leak_that_is_named_must_be_filled_in(send, scene):
    rows = {
        "transfers": [addition(scene, "3", leak="new-2")],
        "leaks": [{"part": "Valve", "location": "Roof"}],
    }

    response = send(rows, inspection_methods=["Bubble solution"])

    assert "New leak 2" in _errors(response)["id_transfers-0-leak"]


def test_a_leak_found_asks_for_the_inspection_that_found_it(send):
    response = send({"leaks": [{"part": "Valve core", "location": "Suction line"}]})

    assert "inspection" in _errors(response)["id_inspection_methods"]


def test_an_apprentice_without_a_supervisor_is_refused(send, scene):
    response = send(technician=scene.apprentice.pk)

    assert "40 CFR 82.161(a)" in _errors(response)["id_supervisor"]


def test_an_opened_circuit_asks_for_its_vacuum(send):
    assert "40 CFR 82.156(a)" in _errors(send(is_circuit_opened="on"))["id_final_vacuum"]


def test_another_contractors_work_asks_for_the_name(send):
    assert "name of the contractor" in _errors(send(origin="other_contractor"))["id_contractor_name"]


def test_statements_are_refused_at_their_own_row_beside_normal_operation(send):
    rows = {"statements": [{"kind": "retired"}, {"kind": "full_charge_change"}]}

    response = send(rows, is_back_to_normal="on")

    assert _errors(response) == {
        "id_statements-1-full_charge_value": "Expected the new full charge. You gave nothing."
    }


def test_a_drawing_asks_for_the_name_of_who_signed(send):
    assert set(_errors(send(signature_svg_path="M1 1L2 2"))) == {"id_signature_name"}


@pytest.mark.parametrize("path", ['M1 1L2 2"/><script>', "url(x)", "M1 1", "M1 1L2 2 " + "L3 3" * 9000])
def test_a_drawing_that_the_pad_did_not_write_is_refused(send, path):
    response = send(signature_svg_path=path, signature_name="Lev Brandt")

    assert "drawing can't be read" in " ".join(_errors(response).values())


def test_a_form_filed_before_with_other_contents_is_refused(technician_client, scene):
    url = reverse("event-add", args=[scene.appliance.pk])
    data = visit_data(scene, {"transfers": [addition(scene, "3")]})
    technician_client.post(url, data)

    response = technician_client.post(url, data | {"transfers-0-mass_value": "4"})

    assert ServiceEvent.objects.count() == 1
    assert "was filed before as SE-" in response.content.decode()


def test_another_appliances_leak_is_no_choice(technician_client, scene):
    other = register_appliance(scene.admin, scene.technician, customer="Harrow Dairy", name="Chiller 9")
    technician_client.post(
        reverse("event-add", args=[other.pk]),
        visit_data(
            scene, {"leaks": [{"part": "Valve", "location": "Roof"}]}, inspection_methods=["Oil traces"]
        ),
    )
    leak = other.leaks.get()

    response = technician_client.post(
        reverse("event-add", args=[scene.appliance.pk]),
        visit_data(scene, {"repairs": [{"leak": leak.pk, "work_done": "Sealed"}]}),
    )

    assert "id_repairs-0-leak" in _errors(response)


LOST = "The rows of this section didn't arrive whole. Enter them again."
TOO_MANY = "Expected at most 40 rows. File the others as a second visit of the same day."


@pytest.mark.parametrize(
    ("total", "message"), [("", LOST), ("x", LOST), ("99999", TOO_MANY), ("²", LOST), ("9" * 5000, LOST)]
)
def test_a_broken_count_of_rows_is_answered_with_a_word(send, total, message):
    response = send(**{"leaks-TOTAL_FORMS": total, "transfers-TOTAL_FORMS": total})

    assert _errors(response) == {"section-leaks": message, "section-transfers": message}
