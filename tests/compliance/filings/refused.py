"""What a service refuses, by field."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from jobs.errors import Refusal, SubmissionRefused


@contextmanager
def refused(field: str, words: str = "", paragraph: str = "") -> Iterator[None]:
    """Expect a refusal of a field with these words in it, of that paragraph."""
    with pytest.raises(SubmissionRefused) as caught:
        yield
    found: list[Refusal] = [one for one in caught.value.refusals if one.field == field]
    assert found, caught.value.refusals
    assert words in found[0].expected, found[0]
    assert paragraph in found[0].citation, found[0]
