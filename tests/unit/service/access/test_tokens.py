from __future__ import annotations

import pytest

from logbook.errors import ServiceError
from logbook.service.access.credentials import new_credentials
from logbook.service.access.tokens import token_of, with_token, without_token


def test_a_token_is_found_until_it_is_removed() -> None:
    credentials, token = with_token(new_credentials(), "counter", "operator")
    credentials, other = with_token(credentials, "office", "reviewer")
    found = token_of(credentials, token)
    assert found is not None
    assert (found.name, found.role) == ("counter", "operator")
    assert token != other
    assert len(token) >= 43  # 256 bits
    assert token_of(credentials, token + "x") is None
    assert token_of(without_token(credentials, "counter"), token) is None
    with pytest.raises(ServiceError, match="already"):
        with_token(credentials, "counter", "reviewer")
    with pytest.raises(ServiceError, match="no token named nobody"):
        without_token(credentials, "nobody")
    with pytest.raises(ServiceError, match="name"):
        with_token(credentials, "  ", "reviewer")
