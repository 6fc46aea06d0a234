"""Parameters that cannot be taken are told in plain sentences, whatever the library calls them."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import pytest
from pydantic import BaseModel, Field, ValidationError

from logbook.questions.faults import said


class Asked(BaseModel):
    since: date | None = None
    by: Literal["run", "day"] = "run"
    limit: Annotated[int, Field(ge=1, le=2_000_000)] = 1


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"since": "2026-09-01T10:00"}, "is '2026-09-01T10:00', which is not a date such as"),
        ({"since": "soon"}, "is 'soon', which is not a date such as 2026-09-01"),
        ({"by": "hour"}, "is 'hour'; it can be run or day"),
        ({"limit": "many"}, "is 'many', which is not a whole number"),
        ({"limit": 0}, "is '0'; it must be at least 1"),
        ({"limit": 3_000_000}, "is '3000000'; it must be at most 2,000,000"),
    ],
)
def test_each_fault_is_a_sentence(sent: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValidationError) as found:
        Asked.model_validate(sent)
    (fault,) = found.value.errors()
    assert sentence in said({**fault, "loc": ("query", *fault["loc"])})
