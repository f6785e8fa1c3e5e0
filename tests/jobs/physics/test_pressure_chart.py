import pytest

from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import all_fluids
from jobs.physics.gauge_readings import GaugeReading
from jobs.physics.pressure_chart import pressure_chart
from jobs.physics.pressures import PA_PER_PSI, standard_atmosphere_pa
from jobs.physics.service_pressures import service_pressure_psi


def test_chart_runs_from_minus_40_to_150_f():
    chart = pressure_chart("R-22")

    assert [chart.rows[0].temperature_f, chart.rows[-1].temperature_f, len(chart.rows)] == [-40, 150, 96]


def test_chart_ends_below_the_critical_temperature_and_reaches_down_instead():
    chart = pressure_chart("R-744")

    # Critical at 30.98 °C (87.8 °F), triple point at -56.56 °C (-69.8 °F).
    assert chart.rows[-1].temperature_f == 82
    assert chart.rows[0].temperature_f == -66


@pytest.mark.parametrize(
    "fluid", [each for each in all_fluids() if not each.is_estimated], ids=lambda fluid: fluid.designation
)
def test_every_chart_rises(fluid):
    rows = pressure_chart(fluid.designation).rows

    for reading in ("bubble", "dew"):
        pressures = [getattr(row, reading).pressure_pa for row in rows]
        assert pressures == sorted(pressures)


def test_columns_hold_every_row_once():
    chart = pressure_chart("R-23")

    assert sum(chart.columns(3), ()) == chart.rows


def test_gauge_shows_inches_of_mercury_below_the_atmosphere():
    chart = pressure_chart("R-134a")

    # R-134a boils at -26.1 °C (-15 °F) at one atmosphere (from memory).
    by_temperature = {row.temperature_f: str(row.bubble) for row in chart.rows}
    assert by_temperature[-16].endswith("inHg vacuum")
    assert by_temperature[-14].endswith("psig")


def test_gauge_at_altitude_reads_more_by_what_the_atmosphere_is_less():
    high_up = standard_atmosphere_pa(3000)

    difference_psi = GaugeReading(1e6, high_up).psig - GaugeReading(1e6).psig

    assert difference_psi == pytest.approx((101_325 - high_up) / PA_PER_PSI)


def test_blend_without_measured_pairs_has_no_chart():
    with pytest.raises(InvalidInput, match="no published table"):
        pressure_chart("R-409A")


# Common practice, no source: R-410A and R-32 go into cylinders of the 400 psig class, R-22 and R-134a into common ones.
@pytest.mark.parametrize(
    ("designation", "least", "most"),
    [("R-410A", 350, 400), ("R-32", 350, 400), ("R-22", 200, 300), ("R-134a", 100, 200)],
)
def test_service_pressure(designation, least, most):
    assert least < service_pressure_psi(designation) < most


def test_service_pressure_is_unknown_where_the_pressure_is():
    assert service_pressure_psi("R-744") is None
    assert service_pressure_psi("R-401A") is None
