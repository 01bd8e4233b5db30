"""Worked examples of other people's statistics, where our own code computes them."""

import numpy as np
import pytest

from leaguesim.outside.fairness_checks import paired
from leaguesim.outside.figures import figures
from leaguesim.study.equivalence import icc, t_interval
from leaguesim.study.tillmachine import against


def test_ratio_of_means_and_its_error_by_the_delta_method():
    example = figures("statistics_more")["patch"]
    y, z = (np.array(example[k], float)[:, None] for k in ("y", "z"))
    index, se = against(y, z)
    assert index[0] / 100.0 == pytest.approx(example["theta"], abs=1e-6)
    assert se[0] / 100.0 == pytest.approx(example["delta_se"], abs=example["tolerance"])


def test_interval_of_paired_differences():
    data, example = figures("fairness")["sleep"], figures("statistics_more")["sleep_interval"]
    mean, se, df = paired(data["first"], data["second"])
    assert mean == pytest.approx(example["mean"], abs=example["tolerance"])
    wanted = (example["low_95"], example["high_95"])
    assert t_interval(mean, se, df) == pytest.approx(wanted, abs=example["tolerance"])


def test_reliabilities_beyond_the_printed_digits():
    example = figures("statistics_more")["ratings_fine"]
    made = icc(figures("fairness")["ratings"]["rows"])
    assert len(made) == 6
    for name, value in made.items():
        assert value == pytest.approx(example[name], abs=example["tolerance"]), name
