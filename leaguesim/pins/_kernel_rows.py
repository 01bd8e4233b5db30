"""Recorded shots to laws: what the rows near one place say, weighted by a product of four parabolas.

Runs when a library is loaded, not ball by ball: ``_kernel`` reads the tables that come out of it.  Knows
only the right-hander's deck.
"""

from typing import NamedTuple

import numpy as np

from leaguesim.compiled import kernel, small_kernel

MAX_ROWS = 4096  # the most candidates a bucket may hold; length of the callers' buffers


class RowArrays(NamedTuple):
    """Recorded rows in buckets; rows within a bucket are sorted by pins down, then mask.

    ``edges``: (8,) low and high ends of offset [boards], angle [deg], speed [m/s], mass [kg].
    ``steps``: (4,) size of a bucket in offset and angle, and ``shape``: (4,) buckets in each, first
    for queries inside the dense box, then for the others (coarser).
    ``widths``: (8,) half-widths of the kernel where rows are dense, then where they are sparse.
    ``dense``: (6,) the dense box: largest offset, speed low, high, mass low, high, ramp.
    ``starts``: (buckets + 1,) where a bucket's candidates begin in ``offset`` ... ``mask``.
    """

    edges: np.ndarray
    steps: np.ndarray
    shape: np.ndarray
    widths: np.ndarray
    dense: np.ndarray
    starts: np.ndarray
    offset: np.ndarray
    angle: np.ndarray
    speed: np.ndarray
    mass: np.ndarray
    mask: np.ndarray


@small_kernel
def _away(value: float, low: float, high: float) -> float:
    """Distance of a value from an interval."""
    return float(max(0.0, low - value, value - high))


@small_kernel
def sparseness(lib: RowArrays, offset: float, speed: float, mass: float) -> float:
    """0 inside the densely sampled box, 1 well outside, a ramp between."""
    dense = lib.dense
    out = max(
        _away(offset, -dense[0], dense[0]) / dense[5],
        _away(speed, dense[1], dense[2]) / (0.5 * dense[5]),
        _away(mass, dense[3], dense[4]) / (0.5 * dense[5]),
    )
    return float(min(1.0, out))


@kernel
def build_buckets(
    lib: RowArrays, rows: np.ndarray, masks: np.ndarray, counts: np.ndarray, fill: bool
) -> None:
    """Count (``fill`` false) or write each bucket's candidates; rows come in sorted order.

    ``rows`` is (n, 4): offset, angle, speed, mass. A row belongs to every bucket one of whose
    queries can reach it. Two layers: queries inside the dense box (narrow kernel), all others.
    """
    w, d = lib.widths, lib.dense
    for r in range(rows.shape[0]):
        for layer in range(2):
            if layer == 0 and (
                _away(rows[r, 2], d[1], d[2]) > w[2] or _away(rows[r, 3], d[3], d[4]) > w[3]
            ):
                continue
            step_b, step_a = lib.steps[2 * layer], lib.steps[2 * layer + 1]
            n_b, n_a = lib.shape[2 * layer], lib.shape[2 * layer + 1]
            base = layer * lib.shape[0] * lib.shape[1]
            b0 = int(np.floor((rows[r, 0] - w[4 * layer] - lib.edges[0]) / step_b))
            b1 = int(np.floor((rows[r, 0] + w[4 * layer] - lib.edges[0]) / step_b))
            a0 = int(np.floor((rows[r, 1] - w[4 * layer + 1] - lib.edges[2]) / step_a))
            a1 = int(np.floor((rows[r, 1] + w[4 * layer + 1] - lib.edges[2]) / step_a))
            for i in range(max(0, b0), min(n_b - 1, b1) + 1):
                for j in range(max(0, a0), min(n_a - 1, a1) + 1):
                    k = base + i * n_a + j
                    if fill:
                        at = lib.starts[k] + counts[k]
                        lib.offset[at] = rows[r, 0]
                        lib.angle[at] = rows[r, 1]
                        lib.speed[at] = rows[r, 2]
                        lib.mass[at] = rows[r, 3]
                        lib.mask[at] = masks[r]
                    counts[k] += 1


@small_kernel
def _bucket(lib: RowArrays, offset: float, angle: float, thin: float) -> int:
    """The bucket of a query that lies inside the library's range."""
    layer = 1 if thin > 0.0 else 0
    n_b, n_a = lib.shape[2 * layer], lib.shape[2 * layer + 1]
    i = min(n_b - 1, int((offset - lib.edges[0]) / lib.steps[2 * layer]))
    j = min(n_a - 1, int((angle - lib.edges[2]) / lib.steps[2 * layer + 1]))
    return int(layer * lib.shape[0] * lib.shape[1] + i * n_a + j)


@kernel
def _nearest(lib: RowArrays, k: int, b: float, a: float, v: float, m: float) -> int:
    """The nearest candidate of a bucket in kernel widths; of all candidates if it has none."""
    low, high = lib.starts[k], lib.starts[k + 1]
    if low == high:
        low, high = lib.starts[0], lib.starts[-1]
    best, found = np.inf, low
    w = lib.widths
    for c in range(low, high):
        far = (
            ((lib.offset[c] - b) / w[4]) ** 2 + ((lib.angle[c] - a) / w[5]) ** 2
            + ((lib.speed[c] - v) / w[6]) ** 2 + ((lib.mass[c] - m) / w[7]) ** 2
        )  # fmt: skip
        if far < best:
            best, found = far, c
    return int(found)


@kernel
def _weigh(
    cb: np.ndarray, ca: np.ndarray, cv: np.ndarray, cm: np.ndarray,
    b: float, a: float, v: float, m: float,
    pb: float, pa: float, pv: float, pm: float,
    out: np.ndarray,
) -> None:  # fmt: skip
    """Kernel weight of each candidate, written as a loop that the compiler turns into vectors."""
    one, zero = np.float32(1.0), np.float32(0.0)
    fb, fa, fv, fm = np.float32(b), np.float32(a), np.float32(v), np.float32(m)
    qb, qa, qv, qm = np.float32(pb), np.float32(pa), np.float32(pv), np.float32(pm)
    for c in range(cb.shape[0]):
        db, da, dv, dm = (cb[c] - fb) * qb, (ca[c] - fa) * qa, (cv[c] - fv) * qv, (cm[c] - fm) * qm
        wb, wa, wv, wm = one - db * db, one - da * da, one - dv * dv, one - dm * dm
        wb = wb if wb > zero else zero
        wa = wa if wa > zero else zero
        wv = wv if wv > zero else zero
        wm = wm if wm > zero else zero
        out[c] = wb * wa * wv * wm


@kernel
def _merge(
    candidates: np.ndarray, given: np.ndarray, masks: np.ndarray, weights: np.ndarray
) -> int:
    """Merge equal masks of positive weight, without branches; returns how many are left."""
    n = -1
    last = -1
    held = 0.0
    for c in range(candidates.shape[0]):
        weight = given[c]
        mask = candidates[c]
        counts = weight > 0.0
        fresh = counts & (mask != last)
        n += 1 if fresh else 0
        held = weight if fresh else held + weight
        last = mask if counts else last
        at = n if n >= 0 else 0
        masks[at] = last
        weights[at] = held
    return n + 1


@kernel
def row_law(
    lib: RowArrays,
    offset_board: float,
    entry_deg: float,
    speed_mps: float,
    mass_kg: float,
    masks_out: np.ndarray,
    weights_out: np.ndarray,
) -> int:
    """The neighbours' outcomes in order (pins down, then mask) with weights summing to 1.

    Product of four parabolas 1 - d^2 (compact), equal masks merged. Arguments outside the
    library's range are held at its edge.

    Returns
    -------
    how many entries of ``masks_out`` (int64) and ``weights_out`` (float64) were written; both must
    be contiguous and MAX_ROWS long
    """
    edges = lib.edges
    b = min(max(offset_board, edges[0]), edges[1])
    a = min(max(entry_deg, edges[2]), edges[3])
    v = min(max(speed_mps, edges[4]), edges[5])
    m = min(max(mass_kg, edges[6]), edges[7])
    thin = sparseness(lib, b, v, m)
    k = _bucket(lib, b, a, thin)
    w = lib.widths
    pb = 1.0 / (w[0] + thin * (w[4] - w[0]))
    pa = 1.0 / (w[1] + thin * (w[5] - w[1]))
    pv = 1.0 / (w[2] + thin * (w[6] - w[2]))
    pm = 1.0 / (w[3] + thin * (w[7] - w[3]))
    low, high = lib.starts[k], lib.starts[k + 1]
    # The buffer's far half holds single-precision weights; a law never reaches that far.
    scratch = weights_out.view(np.float32)[MAX_ROWS:]
    _weigh(
        lib.offset[low:high], lib.angle[low:high], lib.speed[low:high], lib.mass[low:high],
        b, a, v, m, pb, pa, pv, pm, scratch,
    )  # fmt: skip
    n = _merge(lib.mask[low:high], scratch, masks_out, weights_out)
    if n == 0:
        masks_out[0] = lib.mask[_nearest(lib, k, b, a, v, m)]
        weights_out[0] = 1.0
        return 1
    total = 0.0
    for i in range(n):
        total += weights_out[i]
    for i in range(n):
        weights_out[i] /= total
    return n


@kernel
def effective_rows(lib: RowArrays, b: float, a: float, v: float, m: float) -> float:
    """Effective number of library rows behind a query; 0 if only the nearest row answers."""
    edges = lib.edges
    b = min(max(b, edges[0]), edges[1])
    a = min(max(a, edges[2]), edges[3])
    v = min(max(v, edges[4]), edges[5])
    m = min(max(m, edges[6]), edges[7])
    w = lib.widths
    t = sparseness(lib, b, v, m)
    k = _bucket(lib, b, a, t)
    first, second = 0.0, 0.0
    for c in range(lib.starts[k], lib.starts[k + 1]):
        weight = (
            max(0.0, 1.0 - ((lib.offset[c] - b) / (w[0] + t * (w[4] - w[0]))) ** 2)
            * max(0.0, 1.0 - ((lib.angle[c] - a) / (w[1] + t * (w[5] - w[1]))) ** 2)
            * max(0.0, 1.0 - ((lib.speed[c] - v) / (w[2] + t * (w[6] - w[2]))) ** 2)
            * max(0.0, 1.0 - ((lib.mass[c] - m) / (w[3] + t * (w[7] - w[3]))) ** 2)
        )  # fmt: skip
        first += weight
        second += weight * weight
    return first * first / second if second > 0.0 else 0.0


@kernel
def table_laws(
    lib: RowArrays, offset: np.ndarray, entry: np.ndarray, speed: np.ndarray, mass: np.ndarray,
    starts: np.ndarray, key: np.ndarray, weight: np.ndarray, known: np.ndarray,
) -> bool:  # fmt: skip
    """The law at every node of a grid, outcomes from most pins to fewest.

    Parameters
    ----------
    offset, entry, speed, mass : nodes of each dimension [boards, deg, m/s, kg]
    starts : (nodes + 1,) filled: where a node's outcomes begin in ``key`` and ``weight``
    key : filled with pins down * 1024 + mask; ``weight`` with its share
    known : (nodes, 2) filled: P(strike), E[pins down]

    Returns
    -------
    False if ``key`` is too short
    """
    masks = np.empty(MAX_ROWS, np.int64)
    weights = np.empty(MAX_ROWS)
    node = 0
    at = 0
    for i in range(offset.shape[0]):
        for j in range(entry.shape[0]):
            for k in range(speed.shape[0]):
                for m in range(mass.shape[0]):
                    n = row_law(lib, offset[i], entry[j], speed[k], mass[m], masks, weights)
                    if at + n > key.shape[0]:
                        return False
                    strike, first = 0.0, 0.0
                    for c in range(n - 1, -1, -1):
                        mask = masks[c]
                        pins = 0
                        for bit in range(10):
                            pins += (mask >> bit) & 1
                        key[at] = pins * 1024 + mask
                        weight[at] = weights[c]
                        first += pins * weights[c]
                        if pins == 10:
                            strike = weights[c]
                        at += 1
                    known[node, 0] = strike
                    known[node, 1] = first
                    node += 1
                    starts[node] = at
    return True


@kernel
def effective_many(
    lib: RowArrays, offset: np.ndarray, entry: np.ndarray, speed: np.ndarray, mass: np.ndarray,
    out: np.ndarray,
) -> None:  # fmt: skip
    """``effective_rows`` at each of n points."""
    for i in range(out.shape[0]):
        out[i] = effective_rows(lib, offset[i], entry[i], speed[i], mass[i])
