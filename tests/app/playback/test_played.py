from app.playback.played import PlayedCount


class Counter:
    def __init__(self):
        self.seconds = {"A": 0.0, "B": 0.0}

    def played_s(self, side):
        return self.seconds[side]


def test_that_every_moment_is_handed_out_once_and_on_its_side():
    player = Counter()
    count = PlayedCount(player)
    player.seconds["A"] = 4.0
    assert count.take() == {"A": 4.0}
    assert count.take() == {}
    player.seconds = {"A": 5.5, "B": 2.0}
    assert count.take() == {"A": 1.5, "B": 2.0}


def test_that_a_new_pair_counts_from_its_own_start():
    player = Counter()
    count = PlayedCount(player)
    player.seconds["A"] = 9.0
    count.take()
    player.seconds["A"] = 0.0
    count.begin()
    player.seconds["A"] = 3.0
    assert count.take() == {"A": 3.0}
