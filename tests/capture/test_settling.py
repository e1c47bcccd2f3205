"""A file is taken when it stood still long enough, and never before."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from capture.settling import EMPTY_PATIENCE, Settling, Stamp

A, B = Path("a.wav"), Path("b.wav")


def test_a_growing_file_waits() -> None:
    settling = Settling(5)
    for second in range(60):
        assert settling.look({A: Stamp(100 * (second + 1), second)}, second) == []
    assert settling.look({A: Stamp(6000, 59)}, 63.9) == []
    assert settling.look({A: Stamp(6000, 59)}, 64) == [A]


def test_the_time_alone_counts_as_change() -> None:
    settling = Settling(5)
    settling.look({A: Stamp(1, 1)}, 0)
    assert settling.look({A: Stamp(1, 2)}, 5) == []
    assert settling.look({A: Stamp(1, 2)}, 10) == [A]


def test_an_empty_file_is_given_more_time() -> None:
    settling = Settling(5)
    settling.look({A: Stamp(0, 1)}, 0)
    assert settling.look({A: Stamp(0, 1)}, 49) == []
    assert settling.look({A: Stamp(0, 1)}, 5 * EMPTY_PATIENCE) == [A]


def test_a_file_that_was_gone_starts_anew() -> None:
    settling = Settling(5)
    settling.look({A: Stamp(1, 1)}, 0)
    settling.look({}, 3)
    assert settling.look({A: Stamp(1, 1)}, 6) == []


def test_a_clock_that_jumps_back_only_makes_it_wait() -> None:
    settling = Settling(5)
    settling.look({A: Stamp(1, 1)}, 1000)
    assert settling.look({A: Stamp(1, 1)}, 10) == []
    assert settling.look({A: Stamp(1, 1)}, 15) == [A]


def test_the_next_look_is_due_when_the_next_file_settles() -> None:
    settling = Settling(5)
    assert settling.next_due(0) is None
    settling.look({A: Stamp(1, 1)}, 0)
    settling.look({A: Stamp(1, 1), B: Stamp(1, 1)}, 3)
    assert settling.next_due(3) == 2
    assert settling.look({A: Stamp(1, 1), B: Stamp(1, 1)}, 5) == [A]
    assert settling.next_due(5) == 3
    assert settling.look({A: Stamp(1, 1), B: Stamp(1, 1)}, 8) == [A, B]
    assert settling.next_due(8) is None


def test_without_a_wait_everything_is_ready_at_once() -> None:
    assert Settling(0).look({A: Stamp(0, 0), B: Stamp(1, 1)}, 0) == [A, B]


@given(st.lists(st.tuples(st.floats(0, 4), st.integers(1, 3)), min_size=1, max_size=40))
def test_ready_means_the_same_stamp_for_the_whole_time(steps: list[tuple[float, int]]) -> None:
    settling, now, since, last = Settling(5), 0.0, 0.0, None
    for wait, size in steps:
        now += wait
        if size != last:
            since, last = now, size
        assert (settling.look({A: Stamp(size, 0)}, now) == [A]) == (since + 5 <= now)


def test_a_file_that_was_closed_waits_less() -> None:
    settling = Settling(5, 1)
    files = {A: Stamp(100, 1), B: Stamp(100, 1)}
    assert settling.look(files, 0, {A}) == []
    assert settling.next_due(0) == 1
    assert settling.look(files, 0.9, {A}) == []
    assert settling.look(files, 1, {A}) == [A]
    assert settling.look(files, 1, ()) == []
    assert settling.look(files, 5, ()) == [A, B]


def test_a_file_that_changed_after_it_was_closed_starts_anew() -> None:
    settling = Settling(5, 1)
    settling.look({A: Stamp(100, 1)}, 0, {A})
    assert settling.look({A: Stamp(100, 2)}, 1, {A}) == []
    assert settling.look({A: Stamp(100, 2)}, 2, {A}) == [A]


def test_closing_never_makes_a_file_wait_longer_nor_an_empty_one_less() -> None:
    settling = Settling(0.5, 1)
    settling.look({A: Stamp(100, 1), B: Stamp(0, 1)}, 0, {A, B})
    assert settling.look({A: Stamp(100, 1), B: Stamp(0, 1)}, 0.5, {A, B}) == [A]
    assert settling.look({B: Stamp(0, 1)}, 0.5 * EMPTY_PATIENCE, {B}) == [B]


class Folder(RuleBasedStateMachine):
    """Files come, grow and go in any order; the history of each says whether it may be taken."""

    def __init__(self) -> None:
        super().__init__()
        self.settling = Settling(5)
        self.now = 0.0
        self.files: dict[Path, Stamp] = {}
        self.changed: dict[Path, float] = {}
        self.ready: list[Path] = []

    @rule(path=st.sampled_from([A, B]), size=st.integers(0, 3))
    def write(self, path: Path, size: int) -> None:
        self.files[path] = Stamp(size, self.files.get(path, Stamp(0, 0)).mtime_ns + 1)
        self.changed[path] = self.now

    @rule(path=st.sampled_from([A, B]))
    def remove(self, path: Path) -> None:
        self.files.pop(path, None)

    @rule(seconds=st.floats(0, 30))
    def look(self, seconds: float) -> None:
        self.now += seconds
        self.ready = self.settling.look(self.files, self.now)

    @invariant()
    def only_what_stood_still_is_ready(self) -> None:
        for path in self.ready:
            if path in self.files and self.changed[path] < self.now:
                assert self.now - self.changed[path] >= 5


TestFolder = Folder.TestCase
