"""Laws tabled on a grid: at the nodes the rows' own, between them continuous, picked as told."""

import numpy as np
import pytest

from leaguesim.pins import _kernel, _kernel_rows
from leaguesim.pins.carry import CarryLibrary, grid_nodes
from leaguesim.pins.spec import FULL_RACK


@pytest.fixture(scope="module")
def library():
    return CarryLibrary.load()


def whole_law(arrays, *place):
    masks, weights = np.empty(_kernel.MAX_OUTCOMES, np.int64), np.empty(_kernel.MAX_OUTCOMES)
    n = _kernel.outcome_law(arrays, *place, masks, weights)
    law = np.zeros(FULL_RACK + 1)
    law[masks[:n]] = weights[:n]
    return law


def some_places(n, seed=0):
    rng = np.random.default_rng(seed)
    spans = ((-19.5, 19.5), (-4.0, 10.0), (1.0, 11.0), (2.0, 8.0))
    return np.column_stack([rng.uniform(*span, n) for span in spans])


def test_at_a_node_the_law_is_that_of_the_rows(library):
    nodes = grid_nodes()
    masks, weights = np.empty(_kernel_rows.MAX_ROWS, np.int64), np.empty(_kernel_rows.MAX_ROWS)
    for at in ((61, 4, 3, 2), (73, 6, 4, 3), (20, 0, 0, 0), (121, 8, 5, 3)):
        place = [float(node[k]) for node, k in zip(nodes, at, strict=True)]
        if abs(place[0]) > _kernel.DECK_EDGE_BOARD:
            continue
        n = _kernel_rows.row_law(library.bucketed_rows, *place, masks, weights)
        law = whole_law(library.arrays, *place)
        assert law[masks[:n]] == pytest.approx(weights[:n], abs=1e-9)
        assert law.sum() == pytest.approx(1.0, abs=1e-12)


def test_five_shares_add_up_and_give_the_place_back(library):
    nodes = grid_nodes()
    shape = [len(n) for n in nodes]
    for place in some_places(300):
        got = _kernel.simplex(*place)
        shares = np.array(got[5:])
        assert shares.sum() == pytest.approx(1.0, abs=1e-12)
        assert (shares >= 0).all()
        back = np.unravel_index(np.array(got[:5]), shape)
        held = [np.clip(x, n[0], n[-1]) for x, n in zip(place, nodes, strict=True)]
        for node, k, want in zip(nodes, back, held, strict=True):
            assert shares @ node[k] == pytest.approx(want, abs=1e-9)


def test_a_hair_further_the_law_hardly_changes(library):
    rng = np.random.default_rng(4)
    for place in some_places(60, 3):
        there = place + rng.normal(0, 1e-6, 4)
        if abs(there[0]) > _kernel.DECK_EDGE_BOARD:
            continue
        gap = np.abs(whole_law(library.arrays, *place) - whole_law(library.arrays, *there)).sum()
        assert gap < 1e-3


def test_a_draw_is_the_pick_from_the_whole_law_and_its_expectations(library):
    rng = np.random.default_rng(1)
    places, luck = some_places(400, 2), rng.random(400)
    clear, more = rng.random(1024), 3 * rng.random(1024)
    clear[0] = more[0] = 0.0
    seen = np.full((len(library.arrays.known), 2), np.nan)
    down, value = np.empty(400, np.int64), np.empty(4)
    _kernel.draw_many(library.arrays, *np.ascontiguousarray(places.T), luck, down)
    pins = np.bitwise_count(np.arange(1024)).astype(float)
    for repeat in range(2):  # the second time from what was seen
        for k, place in enumerate(places):
            law = whole_law(library.arrays, *place)
            masks = np.flatnonzero(law)
            masks = masks[np.lexsort((masks, pins[masks]))]
            assert down[k] == _kernel.pick(masks, law[masks], len(masks), luck[k])
            got = _kernel.carry(library.arrays, *place, luck[k], clear, more, seen, value)
            assert got == down[k]
            want = [law[1023], law @ pins, law @ clear[::-1], law @ (pins + more[::-1])]
            assert value == pytest.approx(want, abs=1e-12), repeat


def test_compiled_and_plain_give_the_same_bytes(library):
    rng = np.random.default_rng(6)
    clear, more = rng.random(1024), rng.random(1024)
    seen = [np.full((len(library.arrays.known), 2), np.nan) for _ in range(2)]
    values = np.empty((2, 4))
    for place in (*some_places(40, 5), np.array([25.0, 5.0, 7.0, 6.0]), np.array([np.nan] * 4)):
        u = rng.random()
        given = [float(x) for x in place]
        one = _kernel.carry(library.arrays, *given, u, clear, more, seen[0], values[0])
        two = _kernel.carry.py_func(library.arrays, *given, u, clear, more, seen[1], values[1])
        assert one == two
        assert values[0].tobytes() == values[1].tobytes()
        if abs(given[0]) <= _kernel.DECK_EDGE_BOARD:
            assert _kernel.simplex(*given) == _kernel.simplex.py_func(*given)
    a, b = np.empty(40, np.int64), np.empty(40, np.int64)
    columns = np.ascontiguousarray(some_places(40, 5).T)
    luck = rng.random(40)
    _kernel.draw_many(library.arrays, *columns, luck, a)
    _kernel.draw_many.py_func(library.arrays, *columns, luck, b)
    assert (a == b).all()
