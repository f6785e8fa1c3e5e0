"""What a log may look like, and what is said where it can't be read."""

import pytest

from jobs.weighing import Columns, InvalidLog, UnclearLog, read_log, weigh
from jobs.weighing.table import MAX_BYTES

G_PER_LB = 453.59237


def weights_g(data, **options):
    return [mg / 1000 for mg in read_log(data.encode(), **options).weights_mg.tolist()]


@pytest.mark.parametrize(
    ("log", "expected_g"),
    [
        ("time,weight_kg\n0,1.5\n1,1.6\n", [1500, 1600]),
        ("Time;Weight (LB)\n09:30:00;1\n09:30:01;2\n", [453.592, 907.185]),
        ("TIME\tMasse [g]\r\n09:30:00\t12,5\r\n09:30:01\t13\r\n", [12.5, 13]),
        ("0,3 lb 4.5 oz\n1,3lb 4.5oz\n", [1488.35, 1488.35]),
        ("0;3 lb 4,5 oz\n1;3 lb 4,6 oz\n", [1488.35, 1491.185]),
        ("0,12.5 kg\n1,12.5kg\n", [12500, 12500]),
        ("\ufefftime,weight_oz\n0,1\n1,2\n", [28.35, 56.699]),
        ("time,weight,unit\n0,1,lb\n1,2,lb\n", [453.592, 907.185]),
        ("Serial,77\n# a remark\nUnit: lb\n\nTime,Weight\n0,1\n\n1,2\n", [453.592, 907.185]),
        ("# time,weight_kg\n0,1\n1,2\n# another remark\n2,3\n", [1000, 2000, 3000]),
        ("Time,Weight\ns,kg\n0,1\n1,2\n", [1000, 2000]),
        ("n,elapsed_s,gross_kg,temperature_c,rate_kg_per_min\n1,0,1,20,0\n2,1,2,21,0.1\n", [1000, 2000]),
        ("time,tare_kg,weight_kg\n0,9,1\n1,9,2\n", [1000, 2000]),
    ],
)
def test_a_plain_readers_reading(log, expected_g):
    assert weights_g(log) == pytest.approx(expected_g, abs=0.0006)


def test_utf_16_with_its_mark_is_read():
    log = read_log("time,weight_kg\n0,1\n1,2\n".encode("utf-16"))

    assert log.weights_mg.tolist() == [1_000_000, 2_000_000]


def test_a_weight_rounds_half_up_to_the_milligram():
    assert read_log(b"time,weight_g\n0,0.0015\n1,0.0025\n").weights_mg.tolist() == [2, 3]


@pytest.mark.parametrize(
    ("times", "expected_s"),
    [
        (("2026-05-04T09:30:00", "2026-05-04T09:30:01.5"), [0, 1.5]),
        (("2026-05-04 09:30:00Z", "2026-05-04T11:30:02+02:00"), [0, 2]),
        (("23:59:59", "00:00:01"), [0, 2]),
        (("9:00:00", "9:00:10"), [0, 10]),
        (("100:00:00", "100:00:01"), [0, 1]),
        (("1000.5", "1001"), [0, 0.5]),
    ],
)
def test_times_are_seconds_since_the_first_reading(times, expected_s):
    first, second = times

    log = read_log(f"time,weight_kg\n{first},1\n{second},2\n".encode())

    assert log.times_s.tolist() == expected_s


def test_a_header_may_name_another_unit_of_time():
    log = read_log(b"Time (ms),Weight (kg)\n0,1\n500,2\n")

    assert log.times_s.tolist() == [0, 0.5]


def test_a_clock_that_was_put_back_goes_on_at_its_usual_interval():
    rows = ["01:59:58", "01:59:59", "01:00:00", "01:00:01"]

    log = read_log(("time,weight_kg\n" + "".join(f"{row},1\n" for row in rows)).encode())

    assert log.times_s.tolist() == [0, 1, 2, 3]
    assert log.went_back_at == (2,)


@pytest.mark.parametrize(
    ("log", "options", "field", "value", "expected"),
    [
        ("0,1\n1,2\n", {}, "time_column", ["", ""], "which column is the time"),
        ("t,weight\n0,1\n1,1\n", {}, "unit", "weight", "the unit of the weights: kg, g, lb or oz"),
        ("t,w (lb kg)\n0,1\n1,1\n", {}, "unit", ["lb", "kg"], "the unit of the weights: kg, g, lb or oz"),
        (
            "t,gross_kg,net_kg\n0,2,1\n1,3,2\n",
            {},
            "weight_column",
            ["gross_kg", "net_kg"],
            "which column is the weight",
        ),
    ],
)
def test_what_is_unclear_is_asked(log, options, field, value, expected):
    with pytest.raises(UnclearLog) as refusal:
        read_log(log.encode(), **options)

    assert (refusal.value.field, refusal.value.value, refusal.value.expected) == (field, value, expected)
    assert refusal.value.first_rows == [line.split(",") for line in log.splitlines()]


def test_answers_settle_what_is_unclear():
    log = "t,gross_kg,net_kg\n0,2,1\n1,3,2\n"

    assert weights_g(log, columns=Columns(weight=2)) == [1000, 2000]
    assert weights_g("0,1\n1,2\n", columns=Columns(time=0, weight=1), unit="lb") == pytest.approx(
        [G_PER_LB, 2 * G_PER_LB], abs=0.001
    )


def rows(*weights):
    return "time,weight_lb\n" + "".join(f"{second},{weight}\n" for second, weight in enumerate(weights))


@pytest.mark.parametrize(
    ("log", "field", "value", "expected"),
    [
        (rows(12, "NaN", 12, 12), "line 3, weight", "NaN", "a weight in lb, such as 12.5"),
        (rows(12, 12, "inf", 12), "line 4, weight", "inf", "a weight in lb, such as 12.5"),
        (rows(12, "12 kg", 12, 12), "line 3, weight", "12 kg", "a weight in lb, such as 12.5"),
        (rows(12, "", 12, 12), "line 3, weight", "", "a weight in column 2; there is none"),
        (
            rows(12, 12, -5, 12),
            "line 4, weight",
            "-5",
            "a weight of zero or more; only a scale that was zeroed with its load shows less",
        ),
        (rows(12, 99_999_999, 12), "line 3, weight", "99999999", "a weight of at most 10000 kg"),
        (
            "time,weight_kg\n09:00:00,1\n09:61:00,1\n09:00:02,1\n",
            "line 3, time",
            "09:61:00",
            "a time such as 09:30:00",
        ),
        (
            "time,weight_kg\n2026-05-04T09:00:00Z,1\n2026-05-04T09:00:01,1\n",
            "line 3, time",
            "2026-05-04T09:00:01",
            "a time with its zone, as on the lines before",
        ),
        (
            "time,weight_kg\n2026-05-04T09:00:00,1\n2026-02-30T09:00:01,1\n",
            "line 3, time",
            "2026-02-30T09:00:01",
            "a time such as 2026-05-04T09:30:00",
        ),
        (
            "time,weight_kg\n5,1\n5,1\n",
            "time_column",
            "the same time on each row",
            "times that go on from row to row",
        ),
        (
            rows(12),
            "file",
            "1 reading",
            "a reading before and a reading after the flow at least",
        ),
        ("", "file", "", "a log with rows of a time and a weight; it is empty"),
        (
            "hello\nworld\n",
            "file",
            "hello",
            "rows whose cells are separated by commas, semicolons or tabs",
        ),
        ("a,b\nc,d\n", "file", ["a", "b"], "rows with a time and a weight; no row has both"),
        ("\0\1,\2\n", "file", "a binary file", "text, separated by commas, semicolons or tabs"),
    ],
)
def test_what_cant_be_read_is_named(log, field, value, expected):
    with pytest.raises(InvalidLog) as refusal:
        read_log(log.encode())

    assert (refusal.value.field, refusal.value.value, refusal.value.expected) == (field, value, expected)


def test_rows_out_of_order_are_refused():
    with pytest.raises(InvalidLog) as refusal:
        read_log(("time,weight_kg\n" + "".join(f"{second},1\n" for second in range(50, 0, -1))).encode())

    assert refusal.value.field == "time_column"
    assert refusal.value.expected == "rows in order of time"


def test_a_file_in_another_coding_is_refused_with_its_line():
    with pytest.raises(InvalidLog) as refusal:
        read_log("time,weight_kg\n0,1\né,2\n".encode("latin-1"))

    assert (refusal.value.field, refusal.value.line) == ("line 3", 3)
    assert refusal.value.expected == "text in UTF-8"


def test_a_file_too_large_is_refused():
    with pytest.raises(InvalidLog) as refusal:
        read_log(b"0" * (MAX_BYTES + 1))

    assert refusal.value.expected == "a log of at most 32 MB"


@pytest.mark.parametrize(
    ("options", "field", "value", "expected"),
    [
        ({"unit": "stone"}, "unit", "stone", "one of kg, g, lb or oz"),
        ({"unit": "kg"}, "unit", "kg", "lb, which the file itself says"),
        ({"columns": Columns(weight=7)}, "weight_column", 8, "one of the columns 1 to 2"),
        ({"columns": Columns(time=0, weight=0)}, "weight_column", 1, "another column than the time's"),
    ],
)
def test_an_answer_that_cant_be_right_is_refused(options, field, value, expected):
    with pytest.raises(InvalidLog) as refusal:
        read_log(rows(12, 13).encode(), **options)

    assert (refusal.value.field, refusal.value.value, refusal.value.expected) == (field, value, expected)


def test_a_zeroed_scale_may_go_below_zero():
    assert read_log(rows(0, 0, -0.1, -0.2, -3).encode()).weights_mg[-1] < 0


@pytest.mark.parametrize(
    "log",
    [
        "time,lb,oz\n0,3,4.5\n1,3,4.6\n",
        "time,Weight (lb),Weight (oz)\n0,3.0,4.5\n1,3.0,4.6\n",
        "lb;oz;time\n3;4,5;0\n3;4,6;1\n",
        "Time\tScale\tScale\ns\tlb\toz\n0\t3\t4.5\n1\t3\t4.6\n",
    ],
)
@pytest.mark.parametrize("stated", [{}, {"unit": "lb"}])
def test_pounds_and_ounces_in_two_columns_are_one_weight(log, stated):
    read = read_log(log.encode(), **stated)

    assert [mg / 1000 for mg in read.weights_mg.tolist()] == pytest.approx([1488.35, 1491.185], abs=0.0006)
    assert read.has_ounces_apart
    assert weigh(read).because.startswith("Pounds and ounces of two columns are read as one weight.")


@pytest.mark.parametrize("column", [1, 2])
def test_half_of_a_weight_cant_be_stated_alone(column):
    log = "time,lb,oz\n0,0,0.1\n1,-0,4.6\n"

    assert weights_g(log, columns=Columns(weight=column)) == pytest.approx([2.835, -130.408], abs=0.001)


@pytest.mark.parametrize(
    "rows",
    ["0,3,52.5\n1,3,52.6\n", "0,0.5,8\n1,0.6,9.6\n", "0,3,4.5\n1,3,16.0\n", "0,3,-4.5\n1,3,4.5\n"],
    ids=["all in ounces too", "pounds with decimals", "sixteen ounces", "ounces below zero"],
)
def test_pounds_and_ounces_that_may_be_two_weights_are_asked_about(rows):
    with pytest.raises(UnclearLog) as refusal:
        read_log(("time,lb,oz\n" + rows).encode())

    assert (refusal.value.field, refusal.value.value) == ("weight_column", ["lb", "oz"])


@pytest.mark.parametrize(
    ("log", "options", "field", "value"),
    [
        ("time,lb,oz\n0,3,4.5\n1,3,NaN\n2,3,4\n", {}, "line 3, weight", "3 lb NaN oz"),
        ("time,lb,oz\n0,3,4.5\n1,3,\n2,3,4\n", {}, "line 3, weight", ""),
        ("time,lb,oz\n0,3,4.5\n1,3,4\n", {"unit": "kg"}, "unit", "kg"),
        ("time,lb,oz,kg\n0,3,4.5,1.5\n1,3,4,1.5\n", {}, "weight_column", ["lb", "kg"]),
    ],
)
def test_what_is_wrong_with_pounds_and_ounces_is_named(log, options, field, value):
    with pytest.raises(InvalidLog) as refusal:
        read_log(log.encode(), **options)

    assert (refusal.value.field, refusal.value.value) == (field, value)
