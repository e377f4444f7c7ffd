from app.playback.pulse import Pulse


def looked(pulse: Pulse, counts: list[int], step_s: float = 0.1) -> list[bool]:
    return [pulse.has_stopped(count, 5.0 + n * step_s) for n, count in enumerate(counts)]


def test_that_a_counter_that_stands_still_has_stopped_after_the_longest_time() -> None:
    assert looked(Pulse(0.25), [1, 2, 2, 2, 2, 2]) == [False, False, False, False, True, True]


def test_that_a_counter_that_goes_on_lives_again() -> None:
    assert looked(Pulse(0.15), [1, 2, 2, 2, 3, 4]) == [False, False, False, True, False, False]


def test_that_one_that_never_counted_has_not_stopped() -> None:
    assert not any(looked(Pulse(0.15), [7] * 20))


def test_that_one_that_is_expected_to_count_has_stopped_when_it_never_does() -> None:
    pulse = Pulse(0.25, is_expected=True)
    assert looked(pulse, [7] * 6) == [False, False, False, True, True, True]


def test_that_after_a_rest_it_may_stand_still_until_it_counts() -> None:
    pulse = Pulse(0.15)
    assert looked(pulse, [1, 2, 2, 2])[-1]
    pulse.rest()
    assert not any(pulse.has_stopped(2, 6.0 + n * 0.1) for n in range(9))
    assert not pulse.has_counted


def test_that_whoever_slept_too_blames_nobody() -> None:
    pulse = Pulse(0.25)
    assert not any(looked(pulse, [1, 2, 3]))
    assert not pulse.has_stopped(3, 900.0)
    assert not pulse.has_stopped(3, 900.2)
    assert pulse.has_stopped(3, 900.4)
