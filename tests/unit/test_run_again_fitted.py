"""A comparison with a fitted roster is repeated with it and with its number of unknowns."""

from leaguesim.run.again import words_again


def test_fitted_and_unknowns_stay_in_the_words() -> None:
    line = ["compare", "hall", "--now", "a", "--next", "b", "--fitted", "f.json", "--unknowns", "8"]
    kept = words_again({"argv": [*line, "--out", "x", "--json"], "seed": 3})
    assert kept == [*line, "--seed", "3"]
