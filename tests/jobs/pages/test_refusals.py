"""A service's refusals shown at the fields of a form."""

from django import forms

from jobs.errors import Refusal, SubmissionRefused
from jobs.forms.refusals import add_refusals


class VisitForm(forms.Form):
    happened_on = forms.CharField()
    token = forms.CharField(widget=forms.HiddenInput)


class TransferForm(forms.Form):
    mass = forms.CharField()


TransferFormSet = forms.formset_factory(TransferForm, extra=2)


def visit() -> tuple[VisitForm, forms.BaseFormSet]:
    form = VisitForm({"happened_on": "2026-03-02", "token": "x"})
    rows = TransferFormSet(
        {"form-TOTAL_FORMS": "2", "form-INITIAL_FORMS": "0", "form-0-mass": "1", "form-1-mass": "700"}
    )
    assert form.is_valid()
    assert rows.is_valid()
    return form, rows


def test_add_refusals_puts_a_refusal_at_its_field_with_value_and_citation() -> None:
    form, _ = visit()

    add_refusals(
        form,
        SubmissionRefused(
            [Refusal("happened_on", "2026-03-02", "Expected no future date.", "40 CFR 84.106")]
        ),
    )

    assert form.errors["happened_on"] == ["Expected no future date. (40 CFR 84.106) You gave “2026-03-02”."]


def test_add_refusals_puts_a_row_s_refusal_at_the_row() -> None:
    form, rows = visit()

    add_refusals(
        form,
        SubmissionRefused([Refusal("transfers-1-mass", "700 lb", "Expected at most 30 lb.")]),
        {"transfers": rows},
    )

    assert "700 lb" in rows[1].errors["mass"][0]
    assert not rows[0].errors
    assert not form.errors


def test_add_refusals_keeps_what_belongs_to_no_field_shown() -> None:
    form, rows = visit()
    refusals = [
        Refusal("statements-0-kind", "retired", "Expected a date."),
        Refusal("token", "x", "Expected another token."),
        Refusal("", "Site 1", "Expected a name that is free."),
        Refusal("transfers-9-mass", "1", "Expected a row."),
    ]

    add_refusals(form, SubmissionRefused(refusals), {"transfers": rows})

    shown = form.non_field_errors()
    assert shown[0].startswith("Statements 0 kind: Expected a date.")
    assert shown[1].startswith("Token: ")
    assert shown[2] == "Expected a name that is free. You gave “Site 1”."
    assert len(shown) == 4


def test_a_refused_choice_is_named_as_the_form_offers_it() -> None:
    class OfferForm(forms.Form):
        basis = forms.ChoiceField(choices=[("no_parts", "Parts are not to be had")], required=False)

    form = OfferForm({"basis": "no_parts"})

    add_refusals(form, SubmissionRefused([Refusal("basis", "no_parts", "Expected another ground.")]))

    assert form.errors["basis"] == ["Expected another ground. You gave “Parts are not to be had”."]
