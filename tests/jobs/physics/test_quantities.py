import pytest

from jobs.physics.errors import InvalidInput
from jobs.physics.quantities import (
    parse_altitude_m,
    parse_length_mm,
    parse_pressure_pa,
    parse_temperature_c,
    parse_volume_l,
)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("70 F", 21.1111),
        ("-40 F", -40),
        ("-40F", -40),
        ("−40 °C", -40),
        ("25 c", 25),
        ("298.15 K", 25),
        ("+.5 C", 0.5),
        ("  32 F ", 0),
    ],
)
def test_temperature_is_read(text, celsius):
    assert parse_temperature_c(text) == pytest.approx(celsius, abs=1e-4)


@pytest.mark.parametrize(
    ("text", "pascal"),
    [
        ("0 psig", 101_325),
        ("201 psig", 101_325 + 201 * 6894.757),
        ("-5 psig", 101_325 - 5 * 6894.757),
        ("14.695949 psia", 101_325),
        ("10 inHg_vac", 101_325 - 33_863.89),
        ("500 kPa", 500_000),
        ("500 kPag", 601_325),
        ("1 bar", 100_000),
        ("1 BARG", 201_325),
    ],
)
def test_pressure_is_read(text, pascal):
    assert parse_pressure_pa(text) == pytest.approx(pascal, rel=1e-6)


def test_gauge_pressure_counts_from_the_local_atmosphere():
    assert parse_pressure_pa("10 psig", atmosphere_pa=84_307) == pytest.approx(84_307 + 68_947.57)
    assert parse_pressure_pa("500 kPa", atmosphere_pa=84_307) == 500_000


@pytest.mark.parametrize(("text", "metres"), [("5000 ft", 1524), ("1524 m", 1524), ("-10 m", -10)])
def test_altitude_is_read(text, metres):
    assert parse_altitude_m(text) == pytest.approx(metres)


UNREADABLE = [
    "",
    "70",
    "F",
    "70 R",
    "seventy F",
    "NaN F",
    "inf F",
    "1e3 F",
    "70 F F",
    "7,0 F",
    "٧٠ F",
    None,
    70,
    "9" * 41,
]


@pytest.mark.parametrize("text", UNREADABLE)
@pytest.mark.parametrize(
    ("parse", "field"),
    [(parse_temperature_c, "temperature"), (parse_pressure_pa, "pressure"), (parse_altitude_m, "altitude")],
)
def test_unreadable_quantity_is_refused(parse, field, text):
    with pytest.raises(InvalidInput) as refused:
        parse(text)

    assert refused.value.field == field
    assert refused.value.value == text


@pytest.mark.parametrize("text", ["-459.68 F", "-273.15 C", "0 K", "-1 K"])
def test_temperature_at_absolute_zero_or_below_is_refused(text):
    with pytest.raises(InvalidInput, match="absolute zero"):
        parse_temperature_c(text)


@pytest.mark.parametrize("text", ["0 psia", "-14.7 psig", "30 inHg_vac", "-1 bar"])
def test_pressure_at_a_perfect_vacuum_or_below_is_refused(text):
    with pytest.raises(InvalidInput, match="vacuum"):
        parse_pressure_pa(text)


def test_volumes_and_lengths_are_read_in_their_units():
    assert parse_volume_l("2 gal") == pytest.approx(7.570823568)
    assert parse_volume_l("1 ft3") == pytest.approx(28.316846592)
    assert parse_length_mm("0.5 in") == pytest.approx(12.7)
    assert parse_length_mm("3 ft") == pytest.approx(914.4)
    assert parse_pressure_pa("25 mmHg") == pytest.approx(25_000 / 1000 * 133.3224)
    assert parse_pressure_pa("500 micron") == pytest.approx(66.6612)


@pytest.mark.parametrize("text", ["0 L", "-1 L", "1 lb", "12", "", None])
def test_unusable_volume_is_refused(text):
    with pytest.raises(InvalidInput, match="volume"):
        parse_volume_l(text)
    with pytest.raises(InvalidInput, match="length"):
        parse_length_mm(text)
