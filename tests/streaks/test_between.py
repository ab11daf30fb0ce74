"""Grid, steering and the ground between lines."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.streaks.between import draw_between, lay_grid, outline_edges
from pennyweight.streaks.draws import draw_mass_noise, group_draws
from pennyweight.streaks.field import factor_across
from pennyweight.streaks.outline import has_outline
from pennyweight.streaks.sites import Place, Sites, arrange_sites
from pennyweight.streaks.steering import (
    NO_LINKS,
    Steering,
    leading_links,
    read_offsets,
    reading_weights,
)
from pennyweight.streaks.surfaces import (
    DepthTold,
    draw_extent,
    draw_surface,
    predict_depth,
)

ALONG_M = 20.0


def two_lines(skew_m: float = 0.0) -> Sites:
    places = [
        Place(
            dig=f"{line}-{at}",
            line=f"L{line}",
            s_m=20.0 * line + skew_m * at / 10.0,
            n_m=2.0 * at,
        )
        for line in range(2)
        for at in range(11)
    ]
    return arrange_sites(places)


def test_cells_inside_the_outline_have_its_area() -> None:
    """Two lines 20 m apart and 20 m wide enclose 400 m2."""
    grid = lay_grid(two_lines())
    area = grid.inside.sum() * grid.ds_m * grid.dn_m
    assert area == pytest.approx(400.0, rel=0.01)


def test_oblique_lines_enclose_the_same_area() -> None:
    """A parallelogram of the same base and height."""
    grid = lay_grid(two_lines(skew_m=8.0))
    area = grid.inside.sum() * grid.ds_m * grid.dn_m
    assert area == pytest.approx(400.0, rel=0.04)


def test_an_outline_needs_two_lines_of_two_digs() -> None:
    one = arrange_sites(
        [Place(dig=name, line="L", s_m=0.0, n_m=at) for at, name in enumerate("ab")]
    )
    assert has_outline(two_lines())
    assert not has_outline(one)


def test_edges_run_downstream_on_both_sides() -> None:
    right, left = outline_edges(two_lines())
    npt.assert_allclose(right, [[0.0, 0.0], [20.0, 0.0]])
    npt.assert_allclose(left, [[0.0, 20.0], [20.0, 20.0]])


def with_pits(*pits: tuple[str, float, float]) -> Sites:
    """Return two lines of five digs, 20 m apart and 16 m wide, and pits on top."""
    digs = [(f"L{int(s_m)}", s_m, n_m) for s_m in (0.0, 20.0) for n_m in WIDE]
    return arrange_sites(
        [
            Place(dig=f"d{at}", line=line, s_m=s_m, n_m=n_m)
            for at, (line, s_m, n_m) in enumerate([*digs, *pits])
        ]
    )


WIDE = (-8.0, -4.0, 0.0, 4.0, 8.0)


def test_a_pit_between_the_lines_takes_nothing_from_the_stretch() -> None:
    """Two lines of 16 m that are 20 m apart enclose 320 m2."""
    for pits in ([("P", 9.0, 1.0)], [("P", 9.0, 1.0), ("P", 9.5, 5.0)]):
        grid = lay_grid(with_pits(*pits))
        area = float(grid.inside.sum()) * grid.ds_m * grid.dn_m
        assert area == pytest.approx(320.0, rel=1e-3)


def test_a_pit_beside_the_stretch_is_part_of_its_edge() -> None:
    right, left = outline_edges(with_pits(("P", 10.0, 12.0)))
    assert right.tolist() == [[0.0, -8.0], [10.0, -8.0], [20.0, -8.0]]
    assert left[1].tolist() == [10.0, 12.0]


def test_a_line_as_wide_as_half_the_others_bounds_the_stretch() -> None:
    right, left = outline_edges(with_pits(("M", 10.0, -4.0), ("M", 10.0, 4.0)))
    assert (right[1].tolist(), left[1].tolist()) == ([10.0, -4.0], [10.0, 4.0])


def test_lines_are_numbered_downstream_whatever_the_order() -> None:
    sites = two_lines()
    turned = arrange_sites(
        [
            Place(dig=dig, line=sites.lines[line], s_m=s, n_m=n)
            for dig, line, s, n in zip(
                sites.digs[::-1],
                sites.line_index[::-1],
                sites.s_m[::-1],
                sites.n_m[::-1],
                strict=True,
            )
        ]
    )
    assert turned.lines == sites.lines
    npt.assert_allclose(turned.line_s_m, sites.line_s_m)


def test_digs_without_a_line_join_those_beside_them() -> None:
    sites = arrange_sites(
        [
            Place(dig="p1", line=None, s_m=0.0, n_m=0.0),
            Place(dig="p2", line=None, s_m=1.0, n_m=5.0),
            Place(dig="p3", line=None, s_m=9.0, n_m=5.0),
        ]
    )
    assert sites.lines == ("p1", "p3")
    assert sites.line_index.tolist() == [0, 0, 1]


def draws_between(steering: Steering, n_draws: int, seed: int = 1) -> tuple:
    sites = two_lines()
    grid = lay_grid(sites)
    across = factor_across(grid.n_m, 2.0)
    rng = np.random.default_rng(seed)
    rho = np.exp(-20.0 / ALONG_M)
    z = rng.standard_normal((2, n_draws, len(grid.n_m))) @ across.root.T
    lines = np.stack([z[0], rho * z[0] + np.sqrt(1.0 - rho**2) * z[1]], axis=1)
    cells = draw_between(
        (np.full(n_draws, 3.0), 3.0 + 1.2 * lines),
        grid,
        across,
        sigma=1.2,
        length_s_m=ALONG_M,
        steering=[steering],
        rng=rng,
    )
    return grid, 3.0 + 1.2 * lines, cells


def test_between_lines_the_field_keeps_mean_and_variance() -> None:
    """A Markov bridge put between draws of the prior gives draws of the prior."""
    _, _, cells = draws_between(NO_LINKS, 3000)
    npt.assert_allclose(cells.mean(axis=0), 3.0, atol=0.12)
    npt.assert_allclose(cells.std(axis=0), 1.2, rtol=0.08)


def test_a_row_is_correlated_with_a_line_by_its_distance() -> None:
    grid, lines, cells = draws_between(NO_LINKS, 3000)
    row, column = 2, len(grid.n_m) // 2
    found = np.corrcoef(cells[:, row, column], lines[:, 0, column])[0, 1]
    assert found == pytest.approx(np.exp(-grid.s_m[row] / ALONG_M), abs=0.05)


def test_half_way_along_a_link_a_streak_is_half_way_across() -> None:
    """From 6 m to 10 m: at half way the place 8 m reads 6 m above and 10 m below."""
    link = Steering(
        upper_n_m=np.array([6.0]), lower_n_m=np.array([10.0]), gold=np.array([1.0])
    )
    grid_n_m = np.arange(0.0, 16.5, 0.5)
    half = np.full((1, len(grid_n_m)), 0.5)
    up = read_offsets(grid_n_m, link, half, to_lower=False)
    down = read_offsets(grid_n_m, link, half, to_lower=True)
    assert up[0, 16] == pytest.approx(-2.0)
    assert down[0, 16] == pytest.approx(2.0)


def test_ground_between_merging_streaks_is_read_beside_the_streak() -> None:
    """Streaks at 4 and 12 m end in one at 8 m: their middle is not read off it."""
    merging = Steering(
        upper_n_m=np.array([4.0, 12.0]),
        lower_n_m=np.array([8.0, 8.0]),
        gold=np.array([1.0, 3.0]),
    )
    grid_n_m = np.arange(0.0, 16.5, 0.5)
    start = np.full((1, len(grid_n_m)), 0.1)
    read = grid_n_m + read_offsets(grid_n_m, merging, start, to_lower=True)[0]
    assert abs(read[15] - 8.0) > 2.0
    assert leading_links(merging).upper_n_m.tolist() == [12.0]


def test_places_beyond_the_grid_read_its_edge() -> None:
    low, part = reading_weights(np.arange(0.0, 5.0), np.array([-3.0, 1.25, 9.0]))
    assert low.tolist() == [0, 1, 3]
    npt.assert_allclose(part, [0.0, 0.25, 1.0], atol=1e-5)


def test_every_draw_is_in_one_group() -> None:
    rng = np.random.default_rng(4)
    linked = rng.random((60, 5)) < 0.8
    groups = group_draws(linked, 6)
    together = np.sort(np.concatenate([group.draws for group in groups]))
    assert together.tolist() == list(range(60))


def test_mass_noise_has_mean_one_and_its_spread() -> None:
    noise = draw_mass_noise(np.full(2, 0.3), 20_000, rng=np.random.default_rng(6))
    assert np.exp(noise).mean() == pytest.approx(1.0, abs=0.01)
    assert np.exp(noise).std() == pytest.approx(0.3, rel=0.04)
    assert abs(np.corrcoef(noise.T)[0, 1]) < 0.03


def depth_told(met: list[bool], depth_m: list[float]) -> DepthTold:
    n = len(met)
    return DepthTold(
        s_m=np.linspace(0.0, 20.0, n),
        n_m=np.full(n, 10.0),
        depth_m=np.array(depth_m),
        met=np.array(met),
    )


def test_a_surface_follows_the_digs_that_met_it() -> None:
    """Sloping evenly from 1.0 to 1.8 m: half way it lies at 1.4 m."""
    told = depth_told([True] * 9, np.linspace(1.0, 1.8, 9).tolist())
    grid = lay_grid(two_lines())
    drawn = draw_surface(told, grid, 400, rng=np.random.default_rng(1))
    column = int(np.abs(grid.n_m - 10.0).argmin())
    middle = drawn[:, :, column].mean(axis=0)
    assert middle[3:5].mean() == pytest.approx(1.4, abs=0.05)
    assert np.all(np.diff(middle) > 0.0)


def test_a_dig_that_stopped_short_pushes_the_surface_down() -> None:
    grid = lay_grid(two_lines())
    column, row = int(np.abs(grid.n_m - 10.0).argmin()), len(grid.s_m) // 2
    means = []
    for reached in (0.2, 1.5):
        told = depth_told(
            [True, True, False, True, True], [1.0, 1.3, reached, 1.2, 0.9]
        )
        drawn = draw_surface(told, grid, 300, rng=np.random.default_rng(1))
        means.append(float(drawn[:, row, column].mean()))
    assert means[1] > means[0] + 0.1
    assert means[1] > 1.2


def test_expected_depth_lies_below_the_dig_and_near_its_neighbors() -> None:
    told = depth_told([True] * 4 + [False], [1.0, 1.1, 1.0, 1.1, 0.9])
    mean, sd = predict_depth(told, rng=np.random.default_rng(1))
    assert 0.9 < mean[0] < 1.3
    assert 0.0 < sd[0] < 0.3


def test_a_surface_without_a_met_dig_is_refused_with_the_count() -> None:
    told = depth_told([False, False], [1.0, 1.0])
    with pytest.raises(ValueError, match="0 of 2 digs"):
        draw_surface(told, lay_grid(two_lines()), 5, rng=np.random.default_rng(1))


def test_clay_is_where_it_was_met_and_not_where_digs_went_past() -> None:
    told = depth_told([True, True, False, False], [0.0] * 4)
    grid = lay_grid(two_lines())
    drawn = draw_extent(told, grid, 200, rng=np.random.default_rng(3)).mean(axis=0)
    column = int(np.abs(grid.n_m - 10.0).argmin())
    assert drawn[0, column] > 0.9
    assert drawn[-1, column] < 0.1
