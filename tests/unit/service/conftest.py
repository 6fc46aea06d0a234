"""A book's folder with passcodes and tokens, served to others."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from guarded_app import rights_of_both, with_tokens

from logbook.service.access import Access, hold_access
from logbook.service.passcodes import Rights, Role


@pytest.fixture(scope="session")
def both() -> Rights:
    """Both passcodes; made once, since hashing takes long on purpose."""
    return rights_of_both()


@pytest.fixture
def tokens(tmp_path: Path, both: Rights) -> dict[Role, str]:
    """A token a role, beside both passcodes."""
    return with_tokens(tmp_path, both)


@pytest.fixture
def access(tmp_path: Path, tokens: dict[Role, str]) -> Iterator[Access]:
    """Of a service that others can reach."""
    access = Access(tmp_path, reached_by_others=True)
    hold_access(access)
    yield access
    hold_access(None)
