"""The public face of scoring: names, start-up, examples in docstrings."""

import doctest
import subprocess
import sys
from importlib import import_module

import pytest

import leaguesim.scoring


def test_public_names():
    assert leaguesim.scoring.__all__ == [
        "count_games",
        "game_score",
        "running_totals",
        "score_distribution",
    ]
    assert set(leaguesim.scoring.__all__) <= set(dir(leaguesim.scoring))
    assert all(callable(getattr(leaguesim.scoring, name)) for name in leaguesim.scoring.__all__)
    with pytest.raises(AttributeError, match="no_such"):
        _ = leaguesim.scoring.no_such


def test_compiler_is_loaded_only_by_the_first_distribution():
    code = (
        "import sys, leaguesim.scoring as s\n"
        "assert not {'numpy', 'numba'} & set(sys.modules)\n"
        "assert s.game_score([10] * 12) == 300 and sum(s.count_games()) == 66**9 * 241\n"
        "s.score_distribution\n"
        "assert 'numba' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


@pytest.mark.parametrize(
    "name",
    [
        "leaguesim.scoring.games",
        "leaguesim.scoring.counts",
        "leaguesim.scoring.distribution",
        "leaguesim.outside.figures",
        "leaguesim.outside.check",
    ],
)
def test_examples_in_docstrings(name):
    result = doctest.testmod(import_module(name))
    assert result.attempted > 0
    assert result.failed == 0
