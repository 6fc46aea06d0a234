"""What all tests share: folders of modules, and one book of the sample year."""

from __future__ import annotations

import fcntl
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from shutil import copytree

# As the command says for itself (`logbook/cli`): threads wait for one another on small systems.
# It must be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import settings

from logbook.book.demo import make_demo
from logbook.store import open_book
from logbook.store.duckdb_store import DuckStore

# How long one example takes says more about the machine than about the code.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

for shared in ("fixtures", "program", "reference", "unit/adjusted_comparison", "unit/store"):
    sys.path.insert(0, str(Path(__file__).parent / shared))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let a changed help text be kept on purpose."""
    parser.addoption("--keep-help", action="store_true", help="write the commands' help texts anew")


@pytest.fixture(scope="session")
def sample_year(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of the sample year, made once for all workers; whoever opens it takes a copy."""
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    place = shared / "sample-year"
    with (shared / "sample-year.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not place.exists():
            making = shared / "sample-year-in-the-making"
            make_demo(str(making))[0].close()
            making.rename(place)
    return place


@pytest.fixture(scope="session")
def year(sample_year: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    """The sample year, open for questions; no test writes in it."""
    copy = copytree(sample_year, tmp_path_factory.mktemp("year") / "book")
    with open_book(str(copy)) as store:
        yield store


@pytest.fixture
def year_held(year: DuckStore) -> Iterator[DuckStore]:
    """The sample year as the book of this process, as the service holds it."""
    from logbook import service  # late: the pages' library takes seconds to load

    service.set_book(year)
    yield year
    service.set_book(None)
