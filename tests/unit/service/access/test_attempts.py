from __future__ import annotations

from logbook.service.access.attempts import FREE, FREE_IN_ALL, LONGEST_SECONDS, Attempts

ELSEWHERE = "192.168.1.66"


class Clock:
    """Time that passes when told."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def _wrong(attempts: Attempts, clock: Clock, times: int, address: str = ELSEWHERE) -> list[int]:
    """Attempt as soon as it is allowed; the waits before each."""
    waits = []
    for _ in range(times):
        waited = 0
        while wait := attempts.begin(address):
            waited += wait
            clock.now += wait
        waits.append(waited)
    return waits


def test_who_is_wrong_waits_twice_as_long_every_time() -> None:
    clock = Clock()
    waits = _wrong(Attempts(clock), clock, 16)
    assert waits[:7] == [0, 0, 0, 1, 2, 4, 8]
    assert max(waits) == LONGEST_SECONDS
    assert sum(waits[:12]) >= 255


def test_many_at_once_do_not_slip_through() -> None:
    attempts = Attempts(Clock())
    assert [attempts.begin(ELSEWHERE) for _ in range(10)].count(0) == FREE


def test_a_right_one_does_not_wipe_out_wrong_ones() -> None:
    clock = Clock()
    attempts = Attempts(clock)
    _wrong(attempts, clock, FREE - 1)
    assert attempts.begin(ELSEWHERE) == 0
    attempts.right(ELSEWHERE)
    assert attempts.begin(ELSEWHERE) == 0  # the last free one, then it waits
    assert attempts.begin(ELSEWHERE) == 1


def test_guessing_from_many_addresses_is_slowed_but_known_phones_are_not() -> None:
    clock = Clock()
    attempts = Attempts(clock)
    assert attempts.begin("192.168.1.7") == 0
    attempts.right("192.168.1.7")
    waits = [_wrong(attempts, clock, 1, f"10.0.0.{last}")[0] for last in range(FREE_IN_ALL + 10)]
    assert waits[:FREE_IN_ALL] == [0] * FREE_IN_ALL
    assert waits[FREE_IN_ALL:] == [1, 2, 4, 8, 10, 10, 10, 10, 10, 10]
    assert attempts.begin("192.168.1.8") == 10
    assert attempts.begin("192.168.1.7") == 0


def test_wrong_ones_are_forgotten_in_the_end() -> None:
    clock = Clock()
    attempts = Attempts(clock)
    _wrong(attempts, clock, 6)
    clock.now += 3601
    assert _wrong(attempts, clock, 3) == [0, 0, 0]
