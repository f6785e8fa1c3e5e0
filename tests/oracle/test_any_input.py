"""Whatever stands in a request, `assess` answers or names what is wrong; it never breaks."""

import copy
import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.oracle.contract import request_text, run_assess
from tests.oracle.histories import requests

JUNK = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(10**30), 10**30),
        st.floats(allow_nan=False, allow_infinity=False),
        st.text(max_size=12),
        st.sampled_from(["2026-02-29", "0000-01-01", "9999-12-31", "R-410A", "lb", "1e400", "\ud800", "NaN"]),
        st.sampled_from(
            [{"value": 1e300, "unit": "kg"}, {"value": 1e-300, "unit": "oz"}, {"lb": 1}, {"oz": 1}]
        ),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["value", "unit", "lb", "on", "kind"]), inner),
    ),
    max_leaves=4,
)


def places(value, way=()):
    """The path of every node of a JSON value."""
    yield way
    if isinstance(value, dict | list):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from places(inner, (*way, key))


def replaced(value, way, junk):
    if not way:
        return junk
    changed = copy.deepcopy(value)
    place = changed
    for step in way[:-1]:
        place = place[step]
    place[way[-1]] = junk
    return changed


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(requests(), st.data(), JUNK)
def test_one_odd_value_is_answered_or_named(request_, data, junk):
    plain = json.loads(request_text(request_))
    way = data.draw(st.sampled_from(list(places(plain))))

    status, out, err = run_assess(json.dumps(replaced(plain, way, junk)))

    if status == 0:
        assert json.loads(out)["as_of"]
        assert err == ""
    else:
        assert status == 2
        assert out == ""
        assert set(json.loads(err)["error"]) == {"field", "value", "expected"}


@settings(max_examples=100, deadline=None)
@given(st.one_of(st.text(max_size=60), JUNK.map(json.dumps)))
def test_any_text_is_named(text):
    status, out, err = run_assess(text)

    assert (status, out) == (2, "")
    assert set(json.loads(err)["error"]) == {"field", "value", "expected"}
