"""Whatever a form can't take is refused with the value given and what is expected."""

import pytest
from django import forms
from django.urls import reverse

from compliance.forms.events.listing import EventListForm
from jobs.forms.customers import CustomerForm, SiteForm
from jobs.forms.messages import NamedValues
from tests.factories import CustomerFactory, SiteFactory

pytestmark = pytest.mark.django_db


class SampleForm(NamedValues, forms.Form):
    name = forms.CharField(max_length=10)
    count = forms.IntegerField(min_value=1, max_value=9)
    vacuum = forms.DecimalField(min_value=0, max_digits=6, decimal_places=2)
    on = forms.DateField()
    email = forms.EmailField()
    kind = forms.ChoiceField(choices=[("a", "A")])
    kinds = forms.MultipleChoiceField(choices=[("a", "A"), ("b", "B")])
    reason = forms.CharField(error_messages={"required": "Say why."})


def _error(name, *given):
    form = SampleForm({name: list(given) if name == "kinds" else given[0]})
    [message] = form.errors[name]
    return message


@pytest.mark.parametrize(
    ("name", "given", "message"),
    [
        ("name", "", "Expected an entry. You gave nothing."),
        ("name", "a name too long", "Expected at most 10 characters. You gave “a name too long”."),
        ("name", "a\x00b", "Expected text without null characters. You gave “a\N{REPLACEMENT CHARACTER}b”."),
        ("count", "two", "Expected a whole number. You gave “two”."),
        ("count", "0", "Expected a whole number, 1 or more. You gave “0”."),
        ("count", "12", "Expected a whole number, 9 or less. You gave “12”."),
        ("vacuum", "NaN", "Expected a number. You gave “NaN”."),
        ("vacuum", "-3", "Expected a number, 0 or more. You gave “-3”."),
        ("vacuum", "1.234", "Expected at most 2 decimals. You gave “1.234”."),
        ("vacuum", "12345", "Expected at most 4 digits before the decimal point. You gave “12345”."),
        ("on", "", "Expected a date such as 2026-03-02. You gave nothing."),
        ("on", "31 June", "Expected a date such as 2026-03-02. You gave “31 June”."),
        ("email", "vera", "Expected an e-mail address such as office@example.org. You gave “vera”."),
        ("kind", "b", "Expected one of the choices offered. You gave “b”."),
        ("kinds", "c", "Expected one or more of the choices offered. You gave “c”."),
        ("reason", "", "Say why."),
    ],
)
def test_an_error_names_the_value_and_what_is_expected(name, given, message):
    assert _error(name, given) == message


def test_a_long_value_is_cut():
    message = _error("name", "x" * 5000)

    assert message.endswith(f"You gave “{'x' * 80}…”.")


def test_an_error_of_the_form_as_a_whole_stays_as_it_is():
    form = SampleForm({})
    form.add_error(None, "Two of them contradict each other.")

    assert form.non_field_errors() == ["Two of them contradict each other."]


@pytest.mark.parametrize(
    ("form", "data", "name"),
    [
        (CustomerForm, {"email": "vera-at-alder"}, "email"),
        (CustomerForm, {"name": "A" * 161}, "name"),
        (SiteForm, {"country": "United States"}, "country"),
        (SiteForm, {"altitude_m": "high"}, "altitude_m"),
        (SiteForm, {"time_zone": "Mars/Olympus"}, "time_zone"),
        (EventListForm, {"since": "yesterday"}, "since"),
        (EventListForm, {"technician": "99"}, "technician"),
    ],
)
def test_registers_and_lists_speak_so_too(form, data, name):
    [message] = form(data).errors[name]

    assert message.startswith("Expected ")
    assert message.rpartition("You gave ")[2].strip("“”.…") == data[name][:80]


def test_no_form_of_a_page_speaks_otherwise(admin):
    customer, site = CustomerFactory(), SiteFactory()
    addresses = [
        reverse("customer-add"),
        reverse("site-add", args=[customer.pk]),
        reverse("appliance-add", args=[site.pk]),
        reverse("technician-add"),
        reverse("cylinder-add"),
    ]
    for address in addresses:
        errors = admin.post(address, {}).context["form"].errors
        assert errors
        assert "This field is required." not in str(errors)
