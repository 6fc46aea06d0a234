"""How long suppliers, factors and advice take over books with many lots and designs.

By hand, one process a question so that its memory is its own::

    uv run python tests/benchmarks/bench_solver.py --runs 7000 100000 --lots 0 300 3000 10000

Lots 0: neither lots nor designs are written down. Cold is the first time that a process asks, again
the second time in the same process, both without starting Python; steps are those of the largest
fit. With ``--dense`` each fit is made a second time with every sum exact, and the largest
difference of a supplier's figure or bound is told in standard errors.
"""

from __future__ import annotations

import argparse
import importlib
import json
import math
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from contract_year import ShopSize, keep_contract_year  # noqa: E402

from logbook.adjusted_comparison import CELLS_BY, adjusted_suppliers  # noqa: E402
from logbook.kernels.setup_model import fitting, moments  # noqa: E402
from logbook.store import open_book  # noqa: E402
from logbook.vocabulary.defects import ANY  # noqa: E402

ASKED: dict[str, tuple[str, dict[str, str]]] = {
    "suppliers": ("suppliers", {}),
    "factors": ("factors", {"defect": "puckering"}),
    "advise": ("advice", {"fabric": "fabric 0001"}),
}


def main() -> None:
    """Ask each book each question."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, nargs="+", default=[7_000, 100_000])
    parser.add_argument("--lots", type=int, nargs="+", default=[0, 300, 3_000, 10_000])
    parser.add_argument("--questions", nargs="+", choices=ASKED, default=list(ASKED))
    parser.add_argument("--dense", action="store_true", help="compare with exact sums as well")
    parser.add_argument("--one", nargs=2, metavar=("BOOK", "QUESTION"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.one:
        _tell(json.dumps(_asked(*options.one)))
        return
    _tell("| runs | lots | question | cold, s | processor, s | again, s | memory, MB | steps |")
    for runs in options.runs:
        for lots in options.lots:
            with tempfile.TemporaryDirectory() as place:
                book = Path(place) / "book"
                designs = min(2_000, runs // 20) if lots else 0
                keep_contract_year(book, ShopSize(runs, lots, designs))
                for question in options.questions:
                    _say(runs, lots, question, _in_a_process(book, question))
                if options.dense:
                    _tell(f"| {runs:,} | {lots:,} | beside exact sums: {_beside_exact(book):.5f} |")


def _say(runs: int, lots: int, question: str, took: dict[str, float]) -> None:
    _tell(
        f"| {runs:,} | {lots:,} | {question} | {took['cold']:.1f} | {took['processor']:.1f} | "
        f"{took['again']:.1f} | {took['memory']:,.0f} | {took['steps']:.0f} |"
    )


def _in_a_process(book: Path, question: str) -> dict[str, float]:
    command = [sys.executable, __file__, "--one", str(book), question]
    found = subprocess.run(command, capture_output=True, text=True, check=True)
    took: dict[str, float] = json.loads(found.stdout.splitlines()[-1])
    return took


def _asked(book: str, question: str) -> dict[str, float]:
    """Ask twice in this process."""
    steps: list[int] = []
    settle = fitting.settle

    def counted(*given: Any) -> Any:
        found = settle(*given)
        steps.append(found.iterations)
        return found

    fitting.settle = counted
    room, parameters = ASKED[question]
    module = importlib.import_module(f"logbook.questions.{room}")
    wall, processor = [], []
    with open_book(book) as store:
        for _ in range(2):
            begun, used = time.perf_counter(), time.process_time()
            module.ask(store, module.QUESTION.parameters(**parameters))
            wall.append(time.perf_counter() - begun)
            processor.append(time.process_time() - used)
    return {
        "cold": wall[0],
        "processor": processor[0],
        "again": wall[1],
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "steps": max(steps, default=0),
    }


def _beside_exact(book: Path) -> float:
    """Largest difference of suppliers' figures from those with every sum exact, in errors."""
    with open_book(str(book)) as store:
        cells = store.cells((ANY.name,), by=CELLS_BY)
    here = adjusted_suppliers(cells, kind=ANY)
    usual, moments.EXACT_WORK = moments.EXACT_WORK, math.inf
    exact = adjusted_suppliers(cells, kind=ANY)
    moments.EXACT_WORK = usual
    most = 0.0
    for name, found in exact.items():
        if math.isnan(found.difference):
            continue
        figures = np.array([found.difference, *found.difference_interval])
        beside = np.array([here[name].difference, *here[name].difference_interval])
        most = max(most, float(np.abs(figures - beside).max() / found.standard_error))
    return most


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
