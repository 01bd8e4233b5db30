"""The proof on hidden centers: who is hidden, what is kept of a run, how it becomes rows."""

import tomllib

import pytest

from leaguesim.errors import InputError, LibraryError
from leaguesim.outside import proof, proof_keep, proof_rows, proof_world
from leaguesim.outside.figures import unsourced
from leaguesim.outside.proof_rows import Row, checks_of, read_rows, to_toml


def row(number: int, **other: object) -> Row:
    values = {
        "number": number, "world": proof_world.world_of(number), "bowlers": 20, "covered": 18,
        "league_truth": -5.0, "league_told": -4.0, "league_low": -6.5, "league_high": -1.5,
        "spearman": 0.7, "rms_error": 4.0, "median_width": 12.0, "truth_se_median": 0.2,
        "truth_se_most": 0.29, "cpu_s": 100, **other,
    }  # fmt: skip
    return Row(**values)


def test_the_same_center_for_ever_and_the_truth_is_not_what_is_known():
    a, b = proof_world.hidden_center(3, seed=99), proof_world.hidden_center(3, seed=99)
    assert a.people == b.people
    assert a.truth.conditioners == b.truth.conditioners
    assert a.known.roster == b.known.roster
    assert a.truth.conditioners != a.known.conditioners
    assert a.truth.surface != a.known.surface
    assert a.truth.friction.load_sharing == a.known.friction.load_sharing
    told = {r.bowler: r.style for r in a.known.roster}
    true = {p.bowler: p.style for p in a.people}
    # In the world that fits a label may be missing, never wrong; no average and no trait is told.
    assert set(told.values()) - set(true.values()) <= {"unknown"}
    assert all(told[k] in (true[k], "unknown") for k in true)
    assert all(r.average is None and r.speed_mph is None for r in a.known.roster)


def test_other_worlds_have_wrong_labels_and_other_wear():
    base = proof_world.hidden_center(3, seed=99)
    lines = base.truth.roster
    told = [proof_world._told(lines, base.known, seed, proof_world.OTHER) for seed in range(60)]
    pairs = [(a.style, b.style) for roster in told for a, b in zip(roster, lines, strict=True)]
    labelled = [(a, b) for a, b in pairs if a != "unknown"]
    wrong = sum(a != b for a, b in labelled) / len(labelled)
    # 1,200 labels: three standard errors of a share of 1 in 4 are 0.04.
    assert abs(wrong - proof_world.MISLABELLED) < 0.045
    assert abs(1.0 - len(labelled) / len(pairs) - proof_world.UNKNOWN) < 0.04
    worn = proof_world._worn_otherwise(base.known, 5)
    moved = {
        c.left_behind != base.known.conditioners[k].left_behind
        for k, c in worn.conditioners.items()
    }
    assert True in moved


def test_half_and_half():
    worlds = [proof_world.world_of(k) for k in range(proof_world.CENTERS)]
    assert worlds.count(proof_world.SAME) == worlds.count(proof_world.OTHER) == 10


def test_a_run_is_read_back_as_it_was_written():
    rows = [row(12, league_told=-1.25), row(0)]
    data = tomllib.loads(to_toml(rows))
    assert read_rows(data) == sorted(rows, key=lambda r: r.number)
    assert data["sources_hash"] == proof_rows.proof_hash()
    assert unsourced(data) == []
    del data["centers"][0]["covered"]
    with pytest.raises(LibraryError, match="covered"):
        read_rows(data)


def test_rows_hit_and_miss():
    rows = [row(k) for k in range(20)]
    assert {c.verdict for c in checks_of(rows)} == {"pass"}
    assert len({c.name for c in checks_of(rows)}) == 6
    wide = checks_of([row(k, covered=20) for k in range(10)])
    assert wide[0].verdict == "miss"  # intervals that always cover are too wide
    narrow = checks_of([row(k, covered=13) for k in range(10, 20)])
    assert narrow[0].verdict == "miss"
    far = checks_of([row(k, league_told=-1.0 if k < 4 else -5.0) for k in range(20)])
    assert [c.verdict for c in far if "league" in c.name] == ["miss"]  # 16 of 20
    near = checks_of([row(k, league_told=-1.0 if k < 3 else -5.0) for k in range(20)])
    assert [c.verdict for c in near if "league" in c.name] == ["pass"]
    blunt = checks_of([row(k, truth_se_most=0.4) for k in range(20)])
    assert blunt[-1].verdict == "miss"


def test_how_many_the_forecasts_themselves_promise():
    # Half widths of 1.645 standard deviations: 2 pins are one, two and hardly any of them.
    rows = [
        row(k, league_low=-5.0 - w, league_high=-5.0 + w)
        for k, w in enumerate((3.29, 1.645, 329.0))
    ]
    assert proof_rows.promised(rows) == pytest.approx(0.6827 + 0.9545 + 0.008, abs=0.001)
    assert "promise 2 within 2" in checks_of(rows)[-2].model


def test_a_bias_is_told_from_intervals_too_wide_to_promise_more():
    def said(offs: list[float], half: float) -> str:
        rows = [
            row(k, league_told=-5.0 + off, league_low=-5.0 - half, league_high=-5.0 + half)
            for k, off in enumerate(offs)
        ]
        return checks_of(rows)[-2].model

    # By hand: 3, 3, 1, 1 have mean 2, sd 1.155, standard error 0.577; 3, -3, 1, -1 sd 2.582, 1.291.
    assert "mean error +2.0, standard error 0.6: a bias" in said([3.0, 3.0, 1.0, 1.0], 5.0)
    wide = said([3.0, -3.0, 1.0, -1.0], 5.0)
    assert "mean error +0.0, standard error 1.3: no bias shows, and what the scores leave" in wide
    assert "too wide" not in said([3.0, -3.0, 1.0, -1.0], 2.0)


def test_centers_that_were_not_run_are_told():
    told = checks_of([row(0), row(10)])
    assert all("1 centers of 10: the rest was not run" in c.model for c in told[:4])
    assert "2 centers of 20" in told[4].model
    assert checks_of([]) == []
    assert "stale" in checks_of([row(0)], "; stale: x")[0].model


def test_a_run_goes_on_where_it_was_and_parts_share_the_work(tmp_path, monkeypatch):
    done: list[int] = []

    def prove(number, *, workers=None):
        done.append(number)
        return number

    monkeypatch.setattr(proof, "prove", prove)
    monkeypatch.setattr(proof, "row_of", row)
    place = ["--keep", str(tmp_path / "kept"), "--out", str(tmp_path / "proof.toml")]
    assert proof.main([*place, "--centers", "4", "--part", "1/2"]) == 0
    assert done == [0, 1]
    assert proof.main([*place, "--part", "2/2"]) == 0
    assert done[2:] == list(range(10, 20))
    assert proof.main(place) == 0
    assert sorted(done) == list(range(20))
    data = tomllib.loads((tmp_path / "proof.toml").read_text())
    assert [r.number for r in read_rows(data)] == list(range(20))
    # What other sources made does not count, and what is no center is told.
    file = tmp_path / "kept" / "center-03.json"
    file.write_text(file.read_text().replace(proof_rows.proof_hash(), "other"))
    assert 3 not in proof_keep.kept(tmp_path / "kept")
    file.write_text("{}")
    with pytest.raises(InputError, match="center-03"):
        proof_keep.kept(tmp_path / "kept")


@pytest.mark.parametrize("part", ["0/2", "3/2", "2", "a/b", ""])
def test_a_part_that_is_none_is_refused(part):
    with pytest.raises(InputError, match="--part"):
        proof_keep.part_of(range(4), part)


def test_words_do_not_count_in_the_hash():
    bare = "def f(x):\n    return x + 1\n"
    told = '"""What."""\n\n# why\ndef f(x):\n    """How."""\n    return x + 1\n'
    assert proof_rows._without_words(bare) == proof_rows._without_words(told)
    assert proof_rows._without_words(bare) != proof_rows._without_words(bare.replace("1", "2"))


def test_validate_shows_the_proof():
    checks = proof_rows.proof_checks()
    assert checks
    assert all(c.name.startswith("proof") and c.use == "check" for c in checks)
