"""A book's folder with passcodes and tokens, served to others."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from guarded_app import credentials_of_both, with_tokens

from logbook.service.access.credentials import Credentials, Role
from logbook.service.access.rights import Access
from logbook.service.state import set_access


@pytest.fixture(scope="session")
def both() -> Credentials:
    """Both passcodes; made once, since hashing takes long on purpose."""
    return credentials_of_both()


@pytest.fixture
def tokens(tmp_path: Path, both: Credentials) -> dict[Role, str]:
    """A token a role, beside both passcodes."""
    return with_tokens(tmp_path, both)


@pytest.fixture
def access(tmp_path: Path, tokens: dict[Role, str]) -> Iterator[Access]:
    """Of a service that others can reach."""
    access = Access(tmp_path, reached_by_others=True)
    set_access(access)
    yield access
    set_access(None)
