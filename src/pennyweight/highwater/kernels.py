"""The shallow-water scheme, cell by cell: compiled loops and nothing else.

Finite volumes of second order: depth, level and velocity lie as sloping planes in
each cell (minmod), the beds on both sides of a face are met by hydrostatic
reconstruction, so that still water stays still, and the flux is that of Harten, Lax
and van Leer with the middle wave for the velocity along the face. No cell gives more
water than it holds. Heun's two steps in time; friction is implicit. docs/sources.md
"shallow water".

Every grid has two rows and columns of rim around the ground. `water` has the planes
depth, level, velocity to the right, velocity down the page [m, m, m/s, m/s]; `ground`
the planes bed, roughness, drag and whether a cell may give water; `faces` what crosses
the right side of each cell (0 to 3) and its lower side (4 to 7): volume, momentum as
the cell before and as the cell after the face feel it, momentum along the face; its
plane 8 is the share of the outflow that a cell can give. `span` holds the first and
last column of each row where water can be; all else is left alone. Loops run along
rows of equal length, without a branch, so that the compiler can take four cells at a
time.
"""

from __future__ import annotations

import math
from typing import Any

from numba import njit, prange

GRAVITY_M_S2 = 9.81
#: Below this depth water does not run [m]; ours.
DRY_M = 1e-5
#: Rim around the ground [cells].
RIM = 2


@njit(cache=True, error_model="numpy", inline="always")
def _half_step(before: Any, after: Any) -> Any:
    """Return half of the smaller of two differences, 0 where they disagree."""
    smaller = before if abs(before) < abs(after) else after
    return 0.5 * smaller if before * after > 0.0 else 0.0


@njit(cache=True, error_model="numpy", inline="always")
def _cross_face(h: Any, e: Any, u: Any, v: Any) -> Any:
    """Return volume, momentum before and after, and along, of the middle face.

    Depth, level, velocity across and velocity along hold four cells in a row; the
    face lies between the second and the third.
    """
    dh1, dh2 = (
        _half_step(h[1] - h[0], h[2] - h[1]),
        _half_step(h[2] - h[1], h[3] - h[2]),
    )
    de1, de2 = (
        _half_step(e[1] - e[0], e[2] - e[1]),
        _half_step(e[2] - e[1], e[3] - e[2]),
    )
    u1 = u[1] + _half_step(u[1] - u[0], u[2] - u[1])
    u2 = u[2] - _half_step(u[2] - u[1], u[3] - u[2])
    v1 = v[1] + _half_step(v[1] - v[0], v[2] - v[1])
    v2 = v[2] - _half_step(v[2] - v[1], v[3] - v[2])
    h1, h2 = h[1] + dh1, h[2] - dh2
    e1, e2 = e[1] + de1, e[2] - de2
    sill = max(e1 - h1, e2 - h2)
    a1, a2 = max(0.0, e1 - sill), max(0.0, e2 - sill)
    c1, c2 = math.sqrt(GRAVITY_M_S2 * a1), math.sqrt(GRAVITY_M_S2 * a2)
    slow = min(u1 - c1, u2 - c2) if a1 > 0.0 else u2 - 2.0 * c2
    fast = max(u1 + c1, u2 + c2) if a2 > 0.0 else u1 + 2.0 * c1
    slow, fast = min(slow, 0.0), max(fast, 0.0)
    width = fast - slow + 1e-30
    q1, q2 = a1 * u1, a2 * u2
    half_g = 0.5 * GRAVITY_M_S2
    p1, p2 = half_g * a1 * a1, half_g * a2 * a2
    volume = (fast * q1 - slow * q2 + slow * fast * (a2 - a1)) / width
    push = fast * (q1 * u1 + p1) - slow * (q2 * u2 + p2) + slow * fast * (q2 - q1)
    before = push / width + half_g * h1 * h1 - p1 + GRAVITY_M_S2 * h[1] * (de1 - dh1)
    after = push / width + half_g * h2 * h2 - p2 - GRAVITY_M_S2 * h[2] * (de2 - dh2)
    return volume, before, after, volume * (v1 if volume > 0.0 else v2)


@njit(cache=True, error_model="numpy")
def _cross_row(h: Any, e: Any, u: Any, v: Any, crossing: Any) -> None:
    """Fill what crosses a row of faces; each argument holds four equal rows."""
    h0, h1, h2, h3 = h
    e0, e1, e2, e3 = e
    u0, u1, u2, u3 = u
    v0, v1, v2, v3 = v
    volume, before, after, along = crossing
    for j in range(volume.size):
        volume[j], before[j], after[j], along[j] = _cross_face(
            (h0[j], h1[j], h2[j], h3[j]),
            (e0[j], e1[j], e2[j], e3[j]),
            (u0[j], u1[j], u2[j], u3[j]),
            (v0[j], v1[j], v2[j], v3[j]),
        )


@njit(cache=True, error_model="numpy")
def _beside(plane: Any, row: Any, first: Any, last: Any) -> Any:
    """Return four views of a row, from one cell back to two ahead."""
    cells = plane[row]
    return (
        cells[first - 1 : last],
        cells[first : last + 1],
        cells[first + 1 : last + 2],
        cells[first + 2 : last + 3],
    )


@njit(cache=True, error_model="numpy")
def _below(plane: Any, row: Any, first: Any, last: Any) -> Any:
    """Return the same columns of four rows, from one above to two below."""
    return (
        plane[row - 1, first : last + 1],
        plane[row, first : last + 1],
        plane[row + 1, first : last + 1],
        plane[row + 2, first : last + 1],
    )


@njit(cache=True, error_model="numpy")
def _cross_faces(row: Any, water: Any, grid: Any) -> None:
    """Fill what crosses the right and the lower sides of a row's cells."""
    _, faces, span = grid
    first, last = span[0, row] - 1, span[1, row]
    if first < last:
        _cross_row(
            _beside(water[0], row, first, last),
            _beside(water[1], row, first, last),
            _beside(water[2], row, first, last),
            _beside(water[3], row, first, last),
            (
                faces[0, row, first : last + 1],
                faces[1, row, first : last + 1],
                faces[2, row, first : last + 1],
                faces[3, row, first : last + 1],
            ),
        )
    first = min(span[0, row], span[0, row + 1])
    last = max(span[1, row], span[1, row + 1])
    if first <= last:
        _cross_row(
            _below(water[0], row, first, last),
            _below(water[1], row, first, last),
            _below(water[3], row, first, last),
            _below(water[2], row, first, last),
            (
                faces[4, row, first : last + 1],
                faces[5, row, first : last + 1],
                faces[6, row, first : last + 1],
                faces[7, row, first : last + 1],
            ),
        )


@njit(cache=True, error_model="numpy")
def _share_out(row: Any, depth: Any, grid: Any, slip: Any) -> None:
    """Fill the share of its outflow that each cell of a row holds the water for."""
    ground, faces, span = grid
    first, last = span[0, row], span[1, row] + 1
    if first >= last:
        return
    gives = ground[3, row, first:last]
    held = depth[row, first:last]
    left, right = faces[0, row, first - 1 : last - 1], faces[0, row, first:last]
    upper, lower = faces[4, row - 1, first:last], faces[4, row, first:last]
    share = faces[8, row, first:last]
    for j in range(held.size):
        out = max(right[j], 0.0) - min(left[j], 0.0)
        out = (out + max(lower[j], 0.0) - min(upper[j], 0.0)) * slip
        share[j] = gives[j] * (held[j] / out if out > held[j] else 1.0)


@njit(cache=True, error_model="numpy", inline="always")
def _given(crossing: Any, before: Any, after: Any) -> Any:
    """Return the share of a crossing that the cell it leaves can give."""
    return before if crossing > 0.0 else after


@njit(cache=True, error_model="numpy")
def _change_row(now: Any, flows: Any, shares: Any, out: Any, by: Any) -> None:
    """Move a row of cells on by one stage, and blend it with the step's start.

    `now` holds depth, the two velocities, bed and drag, then depth and velocities at
    the start; `flows` the crossings of the left, right, upper and lower faces;
    `shares` what the cells here, left, right, above and below can give; `by` seconds,
    seconds over the cell's side, weight of the start, and the drag of stones.
    """
    h, u, v, bed, drag, h_start, u_start, v_start = now
    (left0, left2, left3), (right0, right1, right3) = flows[0], flows[1]
    (upper0, upper2, upper3), (lower0, lower1, lower3) = flows[2], flows[3]
    s_here, s_left, s_right, s_upper, s_lower = shares
    h_out, e_out, u_out, v_out = out
    seconds, slip, weight, stones = by
    for j in range(h_out.size):
        west = slip * _given(left0[j], s_left[j], s_here[j])
        east = slip * _given(right0[j], s_here[j], s_right[j])
        north = slip * _given(upper0[j], s_upper[j], s_here[j])
        south = slip * _given(lower0[j], s_here[j], s_lower[j])
        depth = h[j] + west * left0[j] - east * right0[j]
        depth = max(0.0, depth + north * upper0[j] - south * lower0[j])
        across = h[j] * u[j] + slip * (left2[j] - right1[j])
        across = across + north * upper3[j] - south * lower3[j]
        down = h[j] * v[j] + slip * (upper2[j] - lower1[j])
        down = down + west * left3[j] - east * right3[j]
        wet = 1.0 if depth > DRY_M else 0.0
        safe = max(depth, DRY_M)
        across, down = wet * across / safe, wet * down / safe
        rub = seconds * (drag[j] + stones / (safe * safe)) / safe
        rub = rub * math.sqrt(across * across + down * down)
        slower = (1.0 - weight) * depth * 2.0 / (1.0 + math.sqrt(1.0 + 4.0 * rub))
        across = slower * across + weight * h_start[j] * u_start[j]
        down = slower * down + weight * h_start[j] * v_start[j]
        depth = (1.0 - weight) * depth + weight * h_start[j]
        safe = max(depth, DRY_M)
        h_out[j], e_out[j] = depth, depth + bed[j]
        u_out[j], v_out[j] = across / safe, down / safe


@njit(cache=True, error_model="numpy")
def _change_cells(row: Any, waters: Any, grid: Any, by: Any) -> None:
    """Move the cells of one row on; `waters` are start, now and next."""
    start, now, after = waters
    ground, faces, span = grid
    a, b = span[0, row], span[1, row] + 1
    if a >= b:
        return
    cells = (
        now[0, row, a:b],
        now[2, row, a:b],
        now[3, row, a:b],
        ground[0, row, a:b],
        ground[2, row, a:b],
        start[0, row, a:b],
        start[2, row, a:b],
        start[3, row, a:b],
    )
    left, upper = faces[:, row, a - 1 : b - 1], faces[:, row - 1, a:b]
    here, lower = faces[:, row, a:b], faces[:, row + 1, a:b]
    right = faces[8, row, a + 1 : b + 1]
    flows = (
        (left[0], left[2], left[3]),
        (here[0], here[1], here[3]),
        (upper[4], upper[6], upper[7]),
        (here[4], here[5], here[7]),
    )
    shares = (here[8], left[8], right, upper[8], lower[8])
    out = after[:, row, a:b]
    _change_row(cells, flows, shares, (out[0], out[1], out[2], out[3]), by)


@njit(cache=True, error_model="numpy")
def _rub_row(depth: Any, roughness: Any, drag: Any) -> None:
    """Fill the drag of a row: roughness over the cube root of the depth."""
    for j in range(depth.size):
        drag[j] = roughness[j] * max(depth[j], DRY_M) ** (-1.0 / 3.0)


@njit(cache=True, error_model="numpy", fastmath={"nnan", "nsz", "ninf"})
def _quickest(depth: Any, across: Any, down: Any) -> Any:
    """Return the greatest sum over a row of both wave speeds [m/s]."""
    most = 0.0
    for j in range(depth.size):
        speed = 2.0 * math.sqrt(GRAVITY_M_S2 * depth[j]) + abs(across[j]) + abs(down[j])
        most = max(most, speed)
    return most


@njit(cache=True, error_model="numpy")
def _fill_rims(water: Any, ground: Any, rims: Any, rim_levels: Any) -> None:
    """Lay water in the cells beyond the rim.

    Each row of `rims` is a cell beyond, and the cell within that it continues. An
    unknown level lets the water run on at its depth; a known one is held there.
    """
    for k in range(rims.shape[0]):
        row, column, row_in, column_in = rims[k]
        depth = water[0, row_in, column_in]
        if not math.isnan(rim_levels[k]):
            depth = max(0.0, rim_levels[k] - ground[0, row, column])
        water[0, row, column] = depth
        water[1, row, column] = depth + ground[0, row, column]
        water[2, row, column] = water[2, row_in, column_in]
        water[3, row, column] = water[3, row_in, column_in]


@njit(cache=True, error_model="numpy")
def _over_rims(faces: Any, rims: Any) -> Any:
    """Return what crosses the rim outward [m2/s], summed over the cells beyond."""
    last_row, last_column = faces.shape[1] - 1, faces.shape[2] - 1
    total = 0.0
    for k in range(rims.shape[0]):
        row, column = rims[k, 0], rims[k, 1]
        if min(row, column) == 0 or row == last_row or column == last_column:
            continue  # nothing reaches the outer row and column of the rim
        here, left = faces[:, row, column], faces[:, row, column - 1]
        right, upper = faces[:, row, column + 1], faces[:, row - 1, column]
        total += left[0] * _given(left[0], left[8], here[8])
        total -= here[0] * _given(here[0], here[8], right[8])
        total += upper[4] * _given(upper[4], upper[8], here[8])
        total -= here[4] * _given(here[4], here[8], faces[8, row + 1, column])
    return total


@njit(cache=True, error_model="numpy")
def _pour(water: Any, springs: Any, rise_m: Any) -> None:
    """Add water without momentum to the cells where it comes in."""
    for k in range(springs.shape[0]):
        row, column = springs[k]
        depth = water[0, row, column]
        water[0, row, column] += rise_m[k]
        water[1, row, column] += rise_m[k]
        slower = depth / max(depth + rise_m[k], DRY_M)
        water[2, row, column] *= slower
        water[3, row, column] *= slower


@njit(cache=True, error_model="numpy")
def _wet_edges(depth: Any, wet: Any, span: Any) -> None:
    """Find the first and the last wet column of each row."""
    for row in range(RIM, depth.shape[0] - RIM):
        first, last = span[0, row], span[1, row]
        while first <= last and depth[row, first] == 0.0:
            first += 1
        while first <= last and depth[row, last] == 0.0:
            last -= 1
        wet[0, row], wet[1, row] = first, last


@njit(cache=True, error_model="numpy")
def _widen_spans(depth: Any, wet: Any, span: Any) -> None:
    """Let each row reach two cells beyond the water in it and in the rows around."""
    n_rows, n_columns = depth.shape
    for row in range(RIM, n_rows - RIM):
        first, last = n_columns, -1
        for near in range(row - 2, row + 3):
            if wet[0, near] <= wet[1, near]:
                first, last = min(first, wet[0, near]), max(last, wet[1, near])
        if first <= last:
            span[0, row] = max(RIM, min(span[0, row], first - 2))
            span[1, row] = min(n_columns - RIM - 1, max(span[1, row], last + 2))


@njit(cache=True, error_model="numpy")
def _cut_rows(span: Any, cuts: Any) -> None:
    """Cut the rows into blocks of about equally many cells."""
    n_rows, n_blocks = span.shape[1], cuts.size - 1
    cells = 0
    for row in range(RIM, n_rows - RIM):
        cells += max(0, span[1, row] - span[0, row] + 1)
    block, so_far = 1, 0
    cuts[:] = n_rows - RIM
    cuts[0] = RIM
    for row in range(RIM, n_rows - RIM):
        so_far += max(0, span[1, row] - span[0, row] + 1)
        if block < n_blocks and so_far * n_blocks >= cells * block:
            cuts[block] = row + 1
            block += 1


@njit(cache=True, error_model="numpy", parallel=True)
def _change_all(waters: Any, grid: Any, cuts: Any, by: Any) -> None:
    """Move all cells on by one stage.

    Each block goes down its rows once, while they are at hand: faces, then shares,
    then the change of the row above. Rows at the seams are reckoned by both blocks,
    to the same values.
    """
    for block in prange(cuts.size - 1):
        top, end = cuts[block], cuts[block + 1]
        for row in range(max(1, top - 2), end + 1 if top < end else 0):
            _cross_faces(row, waters[1], grid)
            _share_out(row, waters[1][0], grid, by[1])
            if row > top:
                _change_cells(row - 1, waters, grid, by)


@njit(cache=True, error_model="numpy", parallel=True)
def _look_over(water: Any, grid: Any, cuts: Any, quick: Any) -> None:
    """Renew the drag, and fill the greatest sum of wave speeds of each block."""
    ground, _, span = grid
    for block in prange(cuts.size - 1):
        most = 0.0
        for row in range(cuts[block], cuts[block + 1]):
            a, b = span[0, row], span[1, row] + 1
            _rub_row(water[0, row, a:b], ground[1, row, a:b], ground[2, row, a:b])
            speed = _quickest(
                water[0, row, a:b], water[2, row, a:b], water[3, row, a:b]
            )
            most = max(most, speed)
        quick[block] = most


@njit(cache=True, error_model="numpy")
def _take_stage(waters: Any, grid: Any, marks: Any, by: Any) -> Any:
    """Move the water on by one stage; return what crosses the rim [m2/s]."""
    _, now, after = waters
    rims, rim_levels, springs, rise_m_s, _, cuts, _ = marks
    seconds, _, weight, _ = by
    _fill_rims(now, grid[0], rims, rim_levels)
    _change_all(waters, grid, cuts, by)
    _pour(after, springs, rise_m_s * (seconds * (1.0 - weight)))
    return _over_rims(grid[1], rims)


@njit(cache=True, error_model="numpy")
def march(waters: Any, place: Any, pace: Any) -> Any:
    """Take steps until a time or a count is reached.

    Parameters
    ----------
    waters : tuple of three ndarrays, each shape (4, n_rows, n_columns)
        The state and two more of the same for work; moved on in place: after an odd
        number of steps it stands in the third.
    place : tuple
        `grid` (ground, faces, span) and `marks`: cells beyond the rim and the cells
        within that they continue, levels there [m], cells where water comes in, how
        fast it rises there [m/s], the wet columns of each row, the blocks of rows,
        and the quickest wave of each.
    pace : tuple
        Side of the cells [m], Courant number, longest step [s], drag of stones [m2],
        time to go [s], most steps.

    Returns
    -------
    tuple
        Time taken [s], what went over the rim per side of a cell [m2], steps.
    """
    grid, marks = place
    cell_m, courant, longest_s, stones, left_s, n_steps = pace
    first, second, third = waters
    wet, cuts, quick = marks[4:]
    gone_s, gone_m2, steps = 0.0, 0.0, 0
    while steps < n_steps and gone_s < left_s:
        _wet_edges(first[0], wet, grid[2])
        _widen_spans(first[0], wet, grid[2])
        _cut_rows(grid[2], cuts)
        _look_over(first, grid, cuts, quick)
        seconds = min(longest_s, left_s - gone_s)
        for speed in quick:
            seconds = min(seconds, courant * cell_m / max(speed, 1e-9))
        by = (seconds, seconds / cell_m, 0.0, stones)
        over = _take_stage((first, first, second), grid, marks, by)
        by = (seconds, seconds / cell_m, 0.5, stones)
        over += _take_stage((first, second, third), grid, marks, by)
        first, third = third, first
        gone_s += seconds
        gone_m2 += 0.5 * over * seconds
        steps += 1
    return gone_s, gone_m2, steps
