"""Asks for the refusals of a call, by the field that each names."""

from collections.abc import Callable
from typing import Any

import pytest

from jobs.errors import Refusal, SubmissionRefused


def refused(call: Callable[..., Any], *args: Any, **kwargs: Any) -> dict[str, Refusal]:
    """Call, expect SubmissionRefused, and return its refusals by field; the first where a field has several."""
    with pytest.raises(SubmissionRefused) as caught:
        call(*args, **kwargs)
    fields: dict[str, Refusal] = {}
    for refusal in caught.value.refusals:
        fields.setdefault(refusal.field, refusal)
    return fields
