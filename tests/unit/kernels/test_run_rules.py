import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels.run_rules import WESTERN_ELECTRIC, RunSignals, run_signals

NAN = float("nan")


def marked(rule: str, z: list[float]) -> list[int]:
    return np.flatnonzero(run_signals(z=z)[rule]).tolist()


def test_signals_read_as_a_mapping_and_by_name():
    signals = run_signals(z=[0.5] * 8)
    assert signals["run_of_8"] is signals.run_of_8
    assert set(WESTERN_ELECTRIC) < set(signals)
    assert len(signals) == len(list(signals.items())) == 10
    assert "run_of_8" in signals
    assert "by_point" not in signals
    with pytest.raises(KeyError, match="by_point"):
        signals["by_point"]


def test_names_by_point_for_the_rules_asked():
    signals = run_signals(z=[2.5, 2.5, 3.5])
    assert signals.by_point() == [[], ["two_of_three"], ["beyond_limits", "two_of_three"]]
    assert signals.by_point(rules=("beyond_limits",)) == [[], [], ["beyond_limits"]]


@pytest.mark.parametrize("z", [[], [1.5], [NAN], [NAN, NAN]])
def test_short_and_empty_series_signal_nothing(z):
    signals = run_signals(z=z)
    assert isinstance(signals, RunSignals)
    assert all(signal.shape == (len(z),) and not signal.any() for signal in signals.values())


@pytest.mark.parametrize(
    ("rule", "on_the_edge"),
    [
        ("beyond_limits", [3.0, -3.0]),
        ("two_of_three", [2.0, 2.0, 2.0]),
        ("four_of_five", [1.0] * 5),
        ("run_of_8", [0.0] * 9),
        ("trend_of_6", [1, 2, 3, 3, 4, 5, 6, 7]),
        ("within_one_sigma_15", [1.0, -1.0] * 8),
        ("beyond_one_sigma_8", [1.0, -1.0] * 4),
        ("alternating_14", [0.0, 1.0] * 3 + [1.0, 0.0] * 4),
    ],
)
def test_comparisons_are_strict(rule, on_the_edge):
    assert marked(rule, on_the_edge) == []


def test_the_completing_point_must_lie_in_the_zone():
    assert marked("two_of_three", [2.5, 2.5, 0.0]) == [1]
    assert marked("two_of_three", [2.5, 0.0, 2.5]) == [2]
    assert marked("two_of_three", [2.5, 0.0, 0.0, 2.5]) == []
    assert marked("four_of_five", [1.5, 1.5, 0.0, 1.5, 1.5]) == [4]


def test_zones_count_one_side_at_a_time():
    assert marked("two_of_three", [2.5, -2.5, 0.0]) == []
    assert marked("two_of_three", [-2.5, 3.5, -2.5]) == [2]
    assert marked("beyond_one_sigma_8", [1.5, -1.5] * 4) == [7]


def test_a_point_on_the_centre_breaks_a_run():
    assert marked("run_of_7", [0.1] * 4 + [0.0] + [0.1] * 7) == [11]


def test_trends_and_turns_count_points_not_steps():
    assert marked("trend_of_6", [6, 5, 4, 3, 2, 1]) == [5]
    assert marked("trend_of_6", [5, 4, 3, 2, 1]) == []
    assert marked("alternating_14", [0.0, 1.0] * 7) == [13]


@pytest.mark.parametrize(
    ("rule", "pattern"),
    [
        ("two_of_three", [2.5, NAN, 2.5]),
        ("four_of_five", [1.5, 1.5, NAN, 1.5, 1.5]),
        ("run_of_7", [0.5] * 4 + [NAN] + [0.5] * 4),
        ("run_of_8", [0.5] * 5 + [NAN] + [0.5] * 5),
        ("run_of_9", [0.5] * 5 + [NAN] + [0.5] * 5),
        ("trend_of_6", [1, 2, 3, NAN, 4, 5, 6]),
        ("alternating_14", [0.0, 1.0] * 4 + [NAN] + [0.0, 1.0] * 4),
        ("within_one_sigma_15", [0.5] * 8 + [NAN] + [0.5] * 8),
        ("beyond_one_sigma_8", [1.5] * 5 + [NAN] + [1.5] * 5),
    ],
)
def test_a_gap_breaks_every_pattern(rule, pattern):
    assert marked(rule, pattern) == []
    assert marked(rule, [value for value in pattern if not np.isnan(value)]) != []


def test_infinite_z_is_beyond_everything():
    assert marked("beyond_limits", [np.inf, -np.inf]) == [0, 1]
    assert marked("two_of_three", [np.inf, 0.0, np.inf]) == [2]


def test_a_table_is_refused():
    with pytest.raises(KernelError, match="z must be one line of points"):
        run_signals(z=np.zeros((2, 3)))
