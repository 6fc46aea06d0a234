"""Run rules: constructed series, and average run lengths by an exact Markov chain.

Champ & Woodall (1987), Technometrics 29:393-399, Table 1 (tolerance 0.02, the printed digits);
NIST/SEMATECH e-Handbook 6.3.2 and 6.3.3.1; Nelson (1984), J Quality Technology 16:237-239.
"""

from collections.abc import Iterator

import numpy as np
import pytest
from cases import load, positions
from scipy.stats import norm

from logbook.kernels import limits

NAMES = {
    "beyond_3sigma": "beyond_limits",
    "two_of_three_beyond_2sigma": "two_of_three",
    "four_of_five_beyond_1sigma": "four_of_five",
    "eight_same_side": "run_of_8",
    "nine_same_side": "run_of_9",
    "seven_same_side": "run_of_7",
    "six_trend": "trend_of_6",
    "fourteen_alternating": "alternating_14",
    "fifteen_within_1sigma": "within_one_sigma_15",
    "eight_beyond_1sigma_both_sides": "beyond_one_sigma_8",
}
RULES = dict(enumerate(("beyond_limits", "two_of_three", "four_of_five", "run_of_8"), start=1))
ZONES = np.array([-3.5, -2.5, -1.5, -0.5, 0.5, 1.5, 2.5, 3.5])
EDGES = np.array([-np.inf, -3, -2, -1, 0, 1, 2, 3, np.inf])


@pytest.mark.parametrize("key", NAMES)
def test_constructed_series(key):
    case = load("run_rules_constructed")
    signals = limits.run_signals(z=case.inputs["z"])
    assert positions(signals[NAMES[key]]) == case.expected[key]


@pytest.mark.parametrize("key", NAMES)
def test_nist_wafers(key):
    case = load("run_rules_nist_wafers")
    z = (np.asarray(case.inputs["counts"]) - case.inputs["center"]) / case.inputs["sigma"]
    assert positions(limits.run_signals(z=z)[NAMES[key]]) == case.expected[key]


class Chain:
    """A steady process as a Markov chain whose states remember what the rules look at.

    A state is what has bearing on later points: which of the last two lay beyond two sigma,
    which of the last four beyond one sigma, and how long the present side has lasted. Whether
    a step signals is asked of ``run_signals`` itself, on a history that leads to the state.
    """

    def __init__(self, *rules: int) -> None:
        self.rules = [RULES[rule] for rule in rules]
        start: tuple[float, ...] = ()
        self.states = {self.memory(start): start}
        self.steps: list[tuple[int, int, int]] = []
        order = list(self.states)
        index = {order[0]: 0}
        for state in self._walk(order):
            for zone, value in enumerate(ZONES):
                history = (*self.states[state], float(value))
                if self.signals(history):
                    continue
                reached = self.memory(history)
                if reached not in index:
                    index[reached] = len(order)
                    order.append(reached)
                    self.states[reached] = history[-7:]
                self.steps.append((index[state], index[reached], zone))
        self.size = len(order)

    @staticmethod
    def _walk(order: list) -> Iterator:
        """Yield states while ``order`` is still growing."""
        position = 0
        while position < len(order):
            yield order[position]
            position += 1

    def memory(self, history: tuple[float, ...]) -> tuple:
        last = np.array(history[::-1])
        twos = tuple(int(np.sign(z)) * (abs(z) > 2) for z in last[:2])
        ones = tuple(int(np.sign(z)) * (abs(z) > 1) for z in last[:4])
        same = np.cumprod(np.sign(last) == np.sign(last[0])) if last.size else np.array([0])
        side = int(np.sign(last[0])) * int(same.sum()) if last.size else 0
        return (
            twos if "two_of_three" in self.rules else (),
            ones if "four_of_five" in self.rules else (),
            side if "run_of_8" in self.rules else 0,
        )

    def signals(self, history: tuple[float, ...]) -> bool:
        found = limits.run_signals(z=np.array(history))
        return any(bool(found[rule][-1]) for rule in self.rules)

    def average_run_length(self, shift: float) -> float:
        """Expected points until a signal when the mean has moved by ``shift`` sigma."""
        chance = np.diff(norm.cdf(EDGES - shift))
        stay = np.zeros((self.size, self.size))
        for leaving, reached, zone in self.steps:
            stay[leaving, reached] += chance[zone]
        return float(np.linalg.solve(np.eye(self.size) - stay, np.ones(self.size))[0])


@pytest.fixture(scope="module")
def all_four() -> Chain:
    return Chain(1, 2, 3, 4)


def test_the_default_rules_are_those_of_the_chain():
    assert tuple(RULES.values()) == limits.WESTERN_ELECTRIC


def test_steady_process_signals_once_in_91_75_points(all_four):
    assert all_four.average_run_length(0) == pytest.approx(91.75, abs=0.005)


def test_all_four_rules(all_four):
    case = load("run_rules_arl_all_four")
    shifts = case.inputs["shifts_sigma"]
    case.check("arl_all_four", [all_four.average_run_length(shift) for shift in shifts])
    load("run_rules_arl_champ_woodall").check("arl0_all_four", all_four.average_run_length(0))


@pytest.mark.parametrize(
    ("key", "rules"),
    [
        ("arl_rule_1", (1,)),
        ("arl_rules_1_2", (1, 2)),
        ("arl_rules_1_3", (1, 3)),
        ("arl_rules_1_4", (1, 4)),
    ],
)
def test_one_rule_beside_the_limits(key, rules):
    case = load("run_rules_arl_champ_woodall")
    chain = Chain(*rules)
    case.check(key, [chain.average_run_length(shift) for shift in case.inputs["shifts_sigma"]])


@pytest.mark.parametrize("rules", [(1, 2, 3), (1, 2, 4), (1, 3, 4)])
def test_two_rules_beside_the_limits(rules):
    case = load("run_rules_arl_champ_woodall")
    case.check("arl0_" + "".join(map(str, rules)), Chain(*rules).average_run_length(0))
