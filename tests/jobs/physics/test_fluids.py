import pytest

from compliance.rulebook.refrigerants import all_refrigerants
from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import Model, all_fluids, find

# CoolProp has no equation of state for it.
WITHOUT_EQUATION = {"R-13B1"}


def test_every_refrigerant_of_the_rulebook_has_an_equation():
    known = {fluid.designation for fluid in all_fluids()}

    assert {refrigerant.designation for refrigerant in all_refrigerants()} - known == WITHOUT_EQUATION


def _is_pure(fluid):
    return fluid.model is Model.PURE


@pytest.mark.parametrize("fluid", all_fluids(), ids=lambda fluid: fluid.designation)
def test_components_are_those_of_the_rulebook(fluid):
    CoolProp = pytest.importorskip("CoolProp")  # noqa: N806
    refrigerant = next(each for each in all_refrigerants() if each.designation == fluid.designation)
    assert _is_pure(fluid) == (len(refrigerant.composition) == 1)
    if fluid.model is Model.MIXTURE:
        state = CoolProp.AbstractState("HEOS", fluid.name)
        if fluid.mass_fractions:
            state.set_mass_fractions(list(fluid.mass_fractions))

        fractions = state.get_mass_fractions()

        shares = [float(share) / 100 for _, share in refrigerant.composition]
        assert sorted(fractions) == pytest.approx(sorted(shares), abs=1e-6)


@pytest.mark.parametrize("fluid", list(filter(_is_pure, all_fluids())), ids=lambda fluid: fluid.designation)
def test_limits_of_a_pure_fluid_are_its_equations(fluid):
    CoolProp = pytest.importorskip("CoolProp")  # noqa: N806
    state = CoolProp.AbstractState("HEOS", fluid.name)

    assert fluid.critical_c == pytest.approx(state.T_critical() - 273.15, abs=0.011)
    assert fluid.lowest_c == pytest.approx(max(state.Ttriple(), state.Tmin()) - 273.15, abs=0.011)
    assert fluid.reference == CoolProp.CoolProp.get_BibTeXKey(fluid.name, "EOS")


@pytest.mark.parametrize("spelling", ["R-410A", "R410A", "r-410a", " R 410 A"])
def test_spelling_of_a_designation_is_free(spelling):
    assert find(spelling).designation == "R-410A"


@pytest.mark.parametrize("unknown", ["R-999", "", None, 410, "R-410"])
def test_unknown_refrigerant_is_refused(unknown):
    with pytest.raises(InvalidInput) as refused:
        find(unknown)

    assert refused.value.field == "refrigerant"
    assert refused.value.value == unknown
