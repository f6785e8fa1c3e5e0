"""The field in which a person types a mass."""

import pytest
from django import forms

from jobs.forms.masses import MassField
from jobs.services.entries import EnteredMass


class ScaleForm(forms.Form):
    mass = MassField()


class TareForm(forms.Form):
    mass = MassField(required=False)


def filled(value: str, ounces: str, unit: str, form: type[forms.Form] = ScaleForm) -> forms.Form:
    return form({"mass_value": value, "mass_ounces": ounces, "mass_unit": unit})


# The pound is 453.59237 g and the ounce a sixteenth of it (NIST Handbook 44, appendix C).
@pytest.mark.parametrize(
    ("value", "ounces", "unit", "mass_mg"),
    [
        ("12.5", "", "lb", 5_669_905),
        ("3", "4.5", "lb+oz", 1_488_350),
        ("", "8", "lb+oz", 226_796),
        ("2", "", "lb+oz", 907_185),
        (" 5 ", "", "kg", 5_000_000),
        ("750", "", "g", 750_000),
        ("16", "", "oz", 453_592),
    ],
)
def test_mass_field_reads_figure_and_unit(value: str, ounces: str, unit: str, mass_mg: int) -> None:
    form = filled(value, ounces, unit)

    assert form.is_valid(), form.errors
    assert form.cleaned_data["mass"].mass_mg == mass_mg
    assert form.cleaned_data["mass"].unit == unit


@pytest.mark.parametrize(
    ("value", "ounces", "unit", "words"),
    [
        ("", "", "lb", "required"),
        ("seven", "", "lb", "Expected a number. You gave “seven”."),
        ("3,5", "", "kg", "Expected a number. You gave “3,5”."),
        ("-2", "", "lb", "You gave “-2”."),
        ("0", "", "lb", "Expected a mass above zero. You gave “0 lb”."),
        ("3", "16", "lb+oz", "Expected less than 16 ounces beside the pounds. You gave “16” oz."),
        ("3", "4", "kg", "choose lb + oz, or empty the ounces. You gave “4”."),
        ("3", "", "stone", "Expected one of kg, g, lb, oz."),
        ("99999999", "", "kg", "You gave “99999999”."),
    ],
)
def test_mass_field_names_value_and_expectation_when_refused(
    value: str, ounces: str, unit: str, words: str
) -> None:
    form = filled(value, ounces, unit)

    assert not form.is_valid()
    assert words in form.errors["mass"][0]


def test_mass_field_is_nothing_when_optional_and_empty() -> None:
    form = filled("", "", "kg", TareForm)

    assert form.is_valid()
    assert form.cleaned_data["mass"] is None
    assert not form.has_changed()


def test_mass_field_shows_pounds_and_ounces_as_typed() -> None:
    form = ScaleForm(initial={"mass": EnteredMass("3+4.5", "lb+oz", 1_488_350)})

    html = str(form["mass"])

    assert 'name="mass_value" value="3"' in html
    assert 'name="mass_ounces" value="4.5"' in html
    assert '<option value="lb+oz" selected>' in html


@pytest.mark.parametrize(
    ("value", "unit", "is_changed"), [("28", "lb", False), ("28", "kg", True), ("29", "lb", True)]
)
def test_mass_field_has_changed_when_figure_or_unit_did(value: str, unit: str, is_changed: bool) -> None:
    initial = {"mass": EnteredMass("28", "lb", 12_700_586)}
    form = ScaleForm({"mass_value": value, "mass_ounces": "", "mass_unit": unit}, initial=initial)

    assert form.has_changed() is is_changed


def test_mass_field_label_leads_to_the_figure() -> None:
    form = ScaleForm()

    assert form["mass"].id_for_label == "id_mass_value"
    assert 'id="id_mass_value"' in str(form["mass"])
