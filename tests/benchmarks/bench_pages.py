"""How long each page takes to be drawn in a real browser, over small and large books.

By hand::

    uv run python tests/benchmarks/bench_pages.py [--runs 1000000] [--book FOLDER] [--page factors]

Each page is opened several times; the first, before its answer is remembered, counts apart.
Beside each stands its ratio to the page of plain text (Trials) in the same run: what drawing any
page costs on this machine. Last stands the most memory that the service took at any moment.

With ``--book`` that book alone is timed. Where there is none yet it is made, and left there to be
used again.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

HERE = Path(__file__).parent
for shared in (HERE, HERE.parent / "program"):
    sys.path.insert(0, str(shared))

from bench_store import made_up_runs  # noqa: E402
from chromium import chromium  # noqa: E402
from playwright.sync_api import Page, sync_playwright  # noqa: E402
from served import serving  # noqa: E402

from logbook.book.demo import make_demo  # noqa: E402
from logbook.store import new_book  # noqa: E402

ROUNDS = 3
LONGEST_MS = 900_000
DRAWING = '[data-testid="stApp"]:not([data-test-script-state="notRunning"])'
BUSY = f'{DRAWING}, [data-testid="stSpinner"], [data-stale="true"]'
"""What a page shows while it is being drawn."""
PLAIN = "trials"
ADDRESSES = (
    *("log", "review", "suppliers", "factors", "plan"),
    *("materials", "designs", "runs", "guide"),
)


def main() -> None:
    """Time every page over each book."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1_000_000, help="runs of the large book")
    parser.add_argument("--book", type=Path, help="this book alone; made where there is none")
    parser.add_argument(
        "--page", action="append", choices=ADDRESSES, help="this page alone (may be repeated)"
    )
    options = parser.parse_args()
    pages = options.page or ADDRESSES
    with tempfile.TemporaryDirectory() as place, _browser() as page:
        if options.book is not None:
            if not options.book.exists():
                _large(options.book, options.runs)
            _time_pages(page, str(options.book), options.book, pages)
            return
        for name, make in _books(options.runs).items():
            folder = Path(place) / name
            make(folder)
            _time_pages(page, name, folder, pages)


def _time_pages(page: Page, name: str, folder: Path, pages: Sequence[str]) -> None:
    with serving(folder) as served:
        _tell(f"{name}:")
        plain = _say(page, served.address, PLAIN, None)
        for name_of_page in pages:
            _say(page, served.address, name_of_page, plain)
        _tell(f"  the service took at most {_most_memory(served.process.pid):.0f} MB")


def _most_memory(pid: int) -> float:
    """The most memory that a process ever held, in MB, as the system counts it."""
    status = Path(f"/proc/{pid}/status").read_text()
    told = next(line for line in status.splitlines() if line.startswith("VmHWM:"))
    return int(told.split()[1]) / 1024


def _books(runs: int) -> dict[str, Callable[[Path], None]]:
    return {
        "empty": lambda folder: new_book(str(folder)).close(),
        "year": lambda folder: make_demo(str(folder))[0].close(),
        f"{runs} runs": lambda folder: _large(folder, runs),
    }


def _large(folder: Path, runs: int) -> None:
    with new_book(str(folder)) as store:
        store.put(made_up_runs(runs), source="benchmark")


def _say(page: Page, address: str, name: str, plain: float | None) -> float:
    at = f"{address}/{'' if name == 'log' else name}"
    cold, *warm = (_seconds(page, at) for _ in range(ROUNDS + 1))
    usual = statistics.median(warm)
    ratio = "" if plain is None else f", {usual / plain:.1f} times the plain page"
    _tell(f"  {name:10} first {cold:5.2f} s, warm {usual:5.2f} s{ratio}")
    return usual


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _seconds(page: Page, address: str) -> float:
    """From asking for a page until nothing on it moves any more."""
    begun = time.perf_counter()
    page.goto(address)
    page.wait_for_selector("h1", timeout=LONGEST_MS)
    while True:
        page.wait_for_function(
            f"() => !document.querySelector({BUSY!r})",
            timeout=LONGEST_MS,
        )
        done = time.perf_counter()
        page.wait_for_timeout(250)
        if not page.locator(BUSY).count():
            return done - begun


@contextmanager
def _browser() -> Iterator[Page]:
    with sync_playwright() as playwright:
        browser = chromium(playwright)
        yield browser.new_page(viewport={"width": 1440, "height": 900})
        browser.close()


if __name__ == "__main__":
    main()
