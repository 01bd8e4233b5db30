"""Parts joined, blocks kept, a run cut off: always the bytes of one unbroken run."""

import pytest

from leaguesim.errors import InputError
from leaguesim.run.engine import Engine, shard_of, using
from leaguesim.run.rounds import play_nights
from leaguesim.run.shards import PartDoneError, join, read_part


def parts_of(small, folder, count, **options):
    made = []
    for i in range(1, count + 1):
        with using(Engine(shard=(i, count))), pytest.raises(PartDoneError) as done:
            small.compare(small.center(), "house", "flat", **options)
        path = folder / f"part-{i}"
        path.write_bytes(done.value.part.to_bytes({"cpu": "x"}))
        made.append((path.name, read_part(path)[0]))
    return made


def test_joined_parts_give_the_bytes_of_one_run(small, played, tmp_path):
    parts = parts_of(small, tmp_path, 3, nights=40)
    with using(Engine(joined=join(parts[::-1]))):
        whole = small.compare(small.center(), "house", "flat", nights=40)
    assert small.digest(whole) == small.digest(played("house", "flat", nights=40))
    with pytest.raises(InputError, match="part 2 of 3 is missing"):
        join([parts[0], parts[2]])
    with pytest.raises(InputError, match="is also in"):
        join([parts[0], parts[0]])
    again = [(name, read_part(tmp_path / name)[0]) for name, _ in parts]
    other = Engine(joined=join(again))
    with using(other), pytest.raises(InputError, match="another run"):
        small.compare(small.center(), "house", "flat", nights=40, seed=12)


def test_a_damaged_part_is_refused(small, tmp_path):
    (name, _), *_ = parts_of(small, tmp_path, 1, nights=2)
    data = bytearray((tmp_path / name).read_bytes())
    data[len(data) // 2] ^= 1
    (tmp_path / name).write_bytes(data)
    with pytest.raises(InputError, match="damaged"):
        read_part(tmp_path / name)


@pytest.mark.parametrize("text", ["0/2", "3/2", "1", "a/b", "1/", "-1/2", "1/2/3"])
def test_wrong_parts_are_refused(text):
    with pytest.raises(InputError, match="--shard"):
        shard_of(text)


def test_a_run_cut_off_goes_on_from_its_finished_blocks(small, played, tmp_path, monkeypatch):
    """Cut off after three tasks, one kept block damaged since: the same bytes, only the rest played."""
    from leaguesim.run import rounds

    calls = []
    real = rounds.play_task

    def count(plan, task):
        if plan.replicate == 0 and len(plan.settings) > 1:  # not the pilot under today alone
            calls.append(task)
            if len(calls) == 4:
                raise KeyboardInterrupt
        return real(plan, task)

    monkeypatch.setattr(rounds, "play_task", count)
    with using(Engine(keep=tmp_path)):
        with pytest.raises(KeyboardInterrupt):
            small.compare(small.center(), "house", "flat", nights=96)
        stores = (sorted(f.glob("block-*.npz")) for f in tmp_path.iterdir())
        kept = min(stores, key=len)  # the other is the pilot's, played whole
        assert len(kept) == 3
        kept[0].write_bytes(kept[0].read_bytes()[:-7])
        calls.clear()
        calls += ["not counted"] * 10
        again = small.compare(small.center(), "house", "flat", nights=96)
    assert len(calls) - 10 == 6 - 2
    assert small.digest(again) == small.digest(played("house", "flat", nights=96))


def test_a_place_that_keeps_nothing_stops_nothing(floor_and_pins, small, tmp_path):
    import numpy as np

    from leaguesim.run.rounds import Plan

    made, setting = floor_and_pins
    groups = np.ones((1, len(made.order)), np.bool_)
    plan = Plan([setting], made.pairs, made.pins, small.center().league, groups, 11)
    (tmp_path / "file").write_text("in the way")
    with using(Engine(keep=tmp_path / "file" / "below")):
        assert play_nights(plan, 0, 2, 1).nights == 2
