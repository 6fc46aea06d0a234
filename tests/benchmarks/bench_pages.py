"""How long each page takes to be drawn in a real browser, over small and large books.

By hand::

    uv run python tests/benchmarks/bench_pages.py [--runs 1000000]

Each page is opened several times; the first counts apart. Beside each stands its ratio to the
page of plain text (Trials) in the same run: what drawing any page costs on this machine.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

HERE = Path(__file__).parent
for shared in (HERE, HERE.parent / "program"):
    sys.path.insert(0, str(shared))

from bench_store import made_up_runs  # noqa: E402
from playwright.sync_api import Page, sync_playwright  # noqa: E402
from served import serving  # noqa: E402

from logbook.answers.demo import make_demo  # noqa: E402
from logbook.store import new_book  # noqa: E402

ROUNDS = 3
BUSY = '[data-testid="stStatusWidget"], [data-testid="stSpinner"], [data-stale="true"]'
"""What a page shows while it is being drawn."""
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
PLAIN = "trials"
ADDRESSES = (
    *("log", "review", "suppliers", "factors", "plan"),
    *("materials", "designs", "runs", "guide"),
)


def main() -> None:
    """Time every page over each book."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1_000_000, help="runs of the large book")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place, _browser() as page:
        for name, make in _books(options.runs).items():
            folder = Path(place) / name
            make(folder)
            with serving(folder) as served:
                _tell(f"{name}:")
                plain = _say(page, served.address, PLAIN, None)
                for name_of_page in ADDRESSES:
                    _say(page, served.address, name_of_page, plain)


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
    page.wait_for_selector("h1", timeout=120_000)
    while True:
        page.wait_for_function(
            f"() => !document.querySelector({BUSY!r})",
            timeout=120_000,
        )
        done = time.perf_counter()
        page.wait_for_timeout(250)
        if not page.locator(BUSY).count():
            return done - begun


@contextmanager
def _browser() -> Iterator[Page]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        yield chromium.new_page(viewport={"width": 1440, "height": 900})
        chromium.close()


if __name__ == "__main__":
    main()
