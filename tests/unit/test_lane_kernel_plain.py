"""Every line of the lane's kernels as plain Python, against scipy's interpolation and a count of oil done here.

``check`` takes the functions of the module however they were made: compiled, plain, or with one thing changed
(``tests/soak/mutants.py``).
"""

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from leaguesim.lane import _kernel

RNG = np.random.default_rng(12)
FILM = RNG.uniform(0.0, 3e-6, (5, 41))
FILM[:, 0], FILM[:, 40] = FILM[:, 1], FILM[:, 39]
DRAG, BARE = RNG.random((3, 6, 5)), RNG.random((3, 13))  # nodes of film, of slip; twice as fine
PER_FILM, PER_SLIP = 2.0e6, 0.4
SIDES = ((0, 1), (40, -1))


def check_film(made):
    for start, step in SIDES:
        own = FILM[:, ::step]
        for row in range(5):
            for board in (0.5, 0.75, 1.0, 3.25, 3.5, 3.75, 19.5, 38.49, 39.0, 39.49):
                h, column = made.film_at(FILM, row, board, start, step)
                assert abs(h - np.interp(board, np.arange(41), own[row])) < 1e-18
                assert column == start + step * int(board + 0.5)


def check_friction(made):
    films = [0.0, 1e-7, 6e-7, 1.3e-6, 2.49e-6, 2.5e-6, 2.6e-6, 2.9e-6, 3.1e-6, 4e-6]
    slips = [0.0, 1.0, 2.5, 6.3, 9.99, 10.0, 11.0, 30.0]
    for mix in range(3):
        y = RegularGridInterpolator((np.arange(6), np.arange(5)), DRAG[mix])
        for film in films:
            for crowd in (1.0, 1.7):
                for slip in slips:
                    for effective in (False, True):
                        a = min(crowd * film * PER_FILM, 5.0)
                        drag = y((a, min(slip * PER_SLIP, 4.0))).item()
                        read = (crowd * film if effective else film) * PER_FILM * 2.0
                        phi = np.interp(read, np.arange(13), BARE[mix])
                        got = made.table_mu(
                            DRAG, BARE, mix, 0.23, film, crowd * film, slip, PER_FILM, PER_SLIP, effective,
                        )  # fmt: skip
                        assert abs(got - 0.23 * (phi * (1.0 - drag) + drag)) < 1e-12


def plain_wear(film, mix, boards, rows, side, take, kept, lay):
    """A ball row by row in its own frame on boards 1 to 39: takes, keeps, lays down, in shares of two boards."""
    own = film[:, 1:40][:, ::side].copy()
    oils = mix[:, 1:40][:, ::side]
    loose = soaked = 0.0
    for row in range(rows):
        near = int(np.clip(np.floor(boards[row]), 1, 39))
        far = int(np.clip(np.floor(boards[row]) + 1, 1, 39))
        part = {near: 1.0} if near == far else {near: 1.0 - boards[row] % 1, far: boards[row] % 1}
        oil = oils[row, max(part, key=lambda b: (part[b], -b)) - 1]
        picked = {b: own[row, b - 1] * share * take[oil] for b, share in part.items()}
        for b, share in part.items():
            own[row, b - 1] += loose * lay * share - picked[b]
        total = sum(picked.values())
        soaked += kept[oil] * total
        loose += (1.0 - kept[oil]) * total - loose * lay
    return own[:, ::side], soaked, loose


def check_wear(made):
    mix = np.random.default_rng(2).integers(0, 3, FILM.shape)
    mix[:, 0], mix[:, 40] = mix[:, 1], mix[:, 39]
    take, kept = np.array([0.3, 0.2, 0.6]), np.array([0.5, 0.1, 0.9])
    courses = (
        [0.5, 0.7, 1.0, 1.5, 1.75], [39.0, 39.3, 38.75, 38.5, 38.25], [12.25, 12.5, 12.9, 13.1, 14.0],
    )  # fmt: skip
    for course in courses:
        for start, step in SIDES:
            for rows in (0, 3, 5):
                film, ledger = FILM.copy(), np.array([1e-7, 2e-7])
                made.wear_track(
                    film, mix, np.array(course), rows, start, step, take, kept, 0.3, ledger
                )
                want, soaked, loose = plain_wear(FILM, mix, course, rows, step, take, kept, 0.3)
                assert np.allclose(film[:, 1:40], want, rtol=1e-12, atol=0.0)
                assert (film[:, 0] == film[:, 1]).all()
                assert (film[:, 40] == film[:, 39]).all()
                assert np.allclose(ledger, (1e-7 + soaked, 2e-7 + loose), rtol=1e-12, atol=0.0)
                gone = FILM[:, 1:40].sum() - film[:, 1:40].sum()
                assert abs(gone - (ledger.sum() - 3e-7)) < 1e-18


def check(made):
    """AssertionError if a kernel does not do what it says."""
    check_film(made)
    check_friction(made)
    check_wear(made)


def test_compiled_kernels():
    check(_kernel)


def test_a_kernel_that_is_wrong_is_seen(changeable):
    wrong = changeable(_kernel)
    wrong.table_mu = lambda *given: _kernel.table_mu(*given) + 1e-9
    with pytest.raises(AssertionError):
        check(wrong)
