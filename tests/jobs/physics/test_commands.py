"""The commands cylinder_limit and saturation, as someone calls them from a script."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parents[3]
POUND_MG = 453_592.37


def run(capsys, *arguments):
    call_command(*arguments)
    return json.loads(capsys.readouterr().out)


def refused(capsys, *arguments):
    with pytest.raises(SystemExit) as exit_:
        call_command(*arguments)
    captured = capsys.readouterr()
    assert exit_.value.code == 2
    assert captured.out == ""
    error = json.loads(captured.err)["error"]
    assert error.keys() == {"field", "value", "expected"}
    return error


def test_cylinder_limit_answers_in_all_units(capsys):
    answer = run(capsys, "cylinder_limit", "--refrigerant=R-410A", "--water-capacity=47.7 lb")

    mg = answer["max_net"]["mg"]
    assert mg == 17_693_832
    assert answer["max_net"] == {"mg": mg, "kg": round(mg / 1e6, 3), "lb": round(mg / POUND_MG, 3)}
    assert answer["liquid_full_at_c"] == 60.0
    assert answer["governed_by"] == "100 % at 60 °C"
    assert answer["because"]
    assert answer["caution"]
    assert answer["warnings"] == []
    assert not {"max_gross", "net_now", "room_left"} & answer.keys()


def test_cylinder_limit_says_what_room_is_left(capsys):
    cylinder = ["--refrigerant=R-410A", "--water-capacity=47.7 lb", "--tare=28 lb"]

    answer = run(capsys, "cylinder_limit", *cylinder, "--gross=51 lb")

    assert answer["max_gross"]["mg"] == 17_693_832 + 12_700_586
    assert answer["net_now"]["lb"] == 23.0
    assert answer["net_now"]["mg"] + answer["room_left"]["mg"] == answer["max_net"]["mg"]


def test_cylinder_limit_warns_when_over_full(capsys):
    cylinder = ["--refrigerant=R-410A", "--water-capacity=47.7 lb", "--tare=28 lb"]

    answer = run(capsys, "cylinder_limit", *cylinder, "--gross=68 lb")

    assert answer["room_left"]["mg"] == 0
    assert answer["over_full_by"]["mg"] > 0
    assert "over-full" in answer["warnings"][0]


def test_cylinder_limit_of_an_estimated_blend_says_so(capsys):
    answer = run(capsys, "cylinder_limit", "--refrigerant=R-409A", "--water-capacity=20 kg")

    assert answer["is_estimated"] is True
    assert "estimated" in answer["warnings"][0]


@pytest.mark.parametrize("capacity", ["21.7 L", "21.635985 kg", "21635.985 g", "47 lb 11.18739 oz", "21.7l"])
def test_cylinder_limit_takes_a_capacity_in_any_unit(capsys, capacity):
    answer = run(capsys, "cylinder_limit", "--refrigerant=R-22", f"--water-capacity={capacity}")

    assert answer["max_net"]["kg"] == pytest.approx(0.8 * 1190.654 * 0.0217, abs=0.0011)


def test_cylinder_limit_of_a_mixture_is_below_each(capsys):
    def limit(*designations):
        chosen = [f"--refrigerant={designation}" for designation in designations]
        return run(capsys, "cylinder_limit", *chosen, "--water-capacity=50 lb")["max_net"]["mg"]

    assert limit("R-22", "HFC-134a", "R-32") == pytest.approx(0.99 * limit("R-32"), abs=1)
    assert limit("R-32") < limit("R-22") < limit("R-134a")


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (["--water-capacity=47.7 lb"], "refrigerant"),
        (["--refrigerant=R-9999", "--water-capacity=47.7 lb"], "refrigerant"),
        (["--refrigerant=R-23", "--water-capacity=47.7 lb"], "refrigerant"),
        (["--refrigerant=R-13B1", "--water-capacity=47.7 lb"], "refrigerant"),
        (["--refrigerant=R-22"], "water_capacity"),
        (["--refrigerant=R-22", "--water-capacity=47.7"], "water_capacity"),
        (["--refrigerant=R-22", "--water-capacity=0 lb"], "water_capacity"),
        (["--refrigerant=R-22", "--water-capacity=-3 lb"], "water_capacity"),
        (["--refrigerant=R-22", "--water-capacity=0 L"], "water_capacity"),
        (["--refrigerant=R-22", "--water-capacity=3 stone"], "water_capacity"),
        (["--refrigerant=R-22", "--water-capacity=999999999999 L"], "water_capacity"),
        (["--refrigerant=R-22", "--water-capacity=47.7 lb", "--tare=x"], "tare"),
        (["--refrigerant=R-22", "--water-capacity=47.7 lb", "--tare=-1 lb"], "tare"),
        (["--refrigerant=R-22", "--water-capacity=47.7 lb", "--gross=30 lb"], "tare"),
        (["--refrigerant=R-22", "--water-capacity=47.7 lb", "--tare=28 lb", "--gross=27 lb"], "gross"),
    ],
)
def test_cylinder_limit_refuses(capsys, arguments, field):
    assert refused(capsys, "cylinder_limit", *arguments)["field"] == field


def test_saturation_at_a_temperature(capsys):
    answer = run(capsys, "saturation", "--refrigerant=R-410A", "--temperature=70 F")

    for point in ("bubble", "dew"):
        assert answer[point].keys() == {"temperature_c", "temperature_f", "pressure_kpa_abs", "pressure_psig"}
        assert answer[point]["temperature_f"] == 70.0
    assert answer["bubble"]["pressure_psig"] == pytest.approx(201.7, abs=0.1)
    assert answer["dew"]["pressure_kpa_abs"] < answer["bubble"]["pressure_kpa_abs"]
    assert answer["liquid_density_kg_m3"] > answer["vapour_density_kg_m3"] > 0
    assert answer["model"]
    assert answer["accuracy"]


def test_saturation_at_a_gauge_pressure_counts_the_altitude(capsys):
    sea = run(capsys, "saturation", "--refrigerant=R-22", "--pressure=100 psig")
    high = run(capsys, "saturation", "--refrigerant=R-22", "--pressure=100 psig", "--altitude=5000 ft")
    absolute = run(capsys, "saturation", "--refrigerant=R-22", "--pressure=500 kPa", "--altitude=5000 ft")

    assert sea["bubble"]["pressure_psig"] == high["bubble"]["pressure_psig"] == 100.0
    assert sea["bubble"]["pressure_kpa_abs"] - high["bubble"]["pressure_kpa_abs"] == pytest.approx(
        17.018, abs=0.01
    )
    assert high["bubble"]["temperature_c"] < sea["bubble"]["temperature_c"]
    assert absolute["bubble"]["pressure_kpa_abs"] == 500.0


@pytest.mark.parametrize(
    ("arguments", "field", "value"),
    [
        ([], "refrigerant", None),
        (["--refrigerant=R-22"], "temperature", None),
        (["--refrigerant=R-22", "--temperature=70 F", "--pressure=1 bar"], "pressure", "1 bar"),
        (["--refrigerant=R-22", "--temperature=70"], "temperature", "70"),
        (["--refrigerant=R-744", "--temperature=29 C"], "temperature", "29 C"),
        (["--refrigerant=R-744", "--temperature=-60 C"], "temperature", "-60 C"),
        (["--refrigerant=R-22", "--pressure=800 psig"], "pressure", "800 psig"),
        (["--refrigerant=R-22", "--pressure=31 inHg_vac"], "pressure", "31 inHg_vac"),
        (["--refrigerant=R-22", "--pressure=1 psig", "--altitude=high"], "altitude", "high"),
        (["--refrigerant=R-22", "--pressure=1 psig", "--altitude=99999 ft"], "altitude", "99999 ft"),
        (["--refrigerant=R-438A", "--pressure=100 psig"], "refrigerant", "R-438A"),
        (["--refrigerant=R-438A", "--temperature=70 F"], "refrigerant", "R-438A"),
        (["--refrigerant=R-13B1", "--temperature=70 F"], "refrigerant", "R-13B1"),
    ],
)
def test_saturation_refuses(capsys, arguments, field, value):
    error = refused(capsys, "saturation", *arguments)

    assert (error["field"], error["value"]) == (field, value)


@pytest.mark.parametrize("arguments", [["--bogus"], ["--refrigerant"], ["--refrigerant=R-22", "surplus"]])
def test_wrong_options_are_refused_as_json_too(arguments):
    program = [sys.executable, "manage.py", "cylinder_limit", *arguments]

    done = subprocess.run(program, cwd=ROOT, capture_output=True, text=True, check=False)

    assert done.returncode == 2
    assert done.stdout == ""
    assert json.loads(done.stderr)["error"]["field"] == "arguments"
