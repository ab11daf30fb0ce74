"""Counts by horizon: zones, shares by thickness, richness by height, mean mass."""

from dataclasses import replace

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.sampling.graded import GradedSample
from pennyweight.streaks.contacts import BEDROCK, Column, Contact
from pennyweight.streaks.horizons import (
    HorizonCounts,
    count_horizons,
    fit_richness,
    zone_bounds,
)
from pennyweight.streaks.masses import exposure, fit_color_mass, is_pay, line_noise
from pennyweight.streaks.sites import Place, Sites, arrange_sites


def washed(
    dig: str, top_m: float, bottom_m: float, *, colors: float, bank_m3: float = 0.02
) -> GradedSample:
    return GradedSample(
        sample=f"{dig} {top_m}",
        dig=dig,
        top_m=top_m,
        bottom_m=bottom_m,
        bank_m3=bank_m3,
        bank_rel_sd=0.05,
        colors=colors,
        recovery=0.8,
        color_mg=0.2,
        color_mg_rel_sd=0.2,
        color_cv=3.0,
        grade_mg_m3=None,
        reliability="fair",
        counts_for_grade=True,
    )


def column(
    dig: str,
    *contacts: tuple[str, float],
    bottom_m: float,
    bases: tuple[float, ...] = (),
) -> Column:
    found = tuple(Contact(horizon=name, depth_m=depth) for name, depth in contacts)
    return Column(dig=dig, contacts=found, barren_bases_m=bases, bottom_m=bottom_m)


def sites_of(*digs: str) -> Sites:
    return arrange_sites(
        [Place(dig=dig, line="1", s_m=0.0, n_m=2.0 * at) for at, dig in enumerate(digs)]
    )


def test_a_zone_reaches_sixty_centimeters_up_and_into_bedrock() -> None:
    assert zone_bounds(column("A", (BEDROCK, 1.5), bottom_m=1.6)) == [
        pytest.approx((0.9, 1.5, 1.6))
    ]


def test_a_zone_ends_at_the_base_of_silt() -> None:
    bounds = zone_bounds(column("A", (BEDROCK, 1.5), bottom_m=1.5, bases=(1.2,)))
    assert bounds == [pytest.approx((1.2, 1.5, 1.5))]


def test_two_zones_meet_half_way_between_their_contacts() -> None:
    met = column("A", ("false-1", 1.0), (BEDROCK, 1.4), bottom_m=1.4)
    assert zone_bounds(met)[1] == pytest.approx((1.2, 1.4, 1.4))


def test_no_color_is_counted_twice_or_lost() -> None:
    columns = {
        "A": column("A", ("false-1", 0.7), (BEDROCK, 1.5), bottom_m=1.55),
        "B": column("B", (BEDROCK, 1.2), bottom_m=1.2),
    }
    samples = {
        "A": (
            washed("A", 0.0, 0.6, colors=3.0),
            washed("A", 0.6, 1.1, colors=11.0),
            washed("A", 1.1, 1.55, colors=25.0),
        ),
        "B": (washed("B", 0.2, 1.2, colors=17.0),),
    }
    counted = count_horizons(sites_of("A", "B"), columns, samples)
    assert [one.horizon for one in counted] == ["gravel", "false-1", "bedrock"]
    assert sum(one.colors.sum() for one in counted) == pytest.approx(56.0)


def test_everything_is_gravel_where_no_contact_was_met() -> None:
    """0.4 m with 8 colors and 0.6 m with 2, 0.02 m3 each.

    (8 x 0.4 + 2 x 0.6) / 0.02 colors/m2, so that N / V x t must give that back.
    """
    columns = {"A": column("A", bottom_m=1.0)}
    samples = {
        "A": (washed("A", 0.0, 0.4, colors=8.0), washed("A", 0.4, 1.0, colors=2.0))
    }
    (gravel,) = count_horizons(sites_of("A"), columns, samples)
    assert gravel.horizon == "gravel"
    per_m2 = gravel.colors / gravel.volume_m3 * gravel.thickness_m
    npt.assert_allclose(per_m2, (8.0 * 0.4 + 2.0 * 0.6) / 0.02)
    assert gravel.pay_top_m[0] < 0.2


def test_a_sample_half_above_its_zone_keeps_its_colors_near_bedrock() -> None:
    """Three clean digs say that the gold lies low; the fourth took both in one."""
    columns = {dig: column(dig, (BEDROCK, 1.2), bottom_m=1.2) for dig in "ABCD"}
    clean = {
        dig: (washed(dig, 0.0, 0.6, colors=0.0), washed(dig, 0.6, 1.2, colors=40.0))
        for dig in "ABC"
    }
    samples = {**clean, "D": (washed("D", 0.0, 1.2, colors=40.0),)}
    gravel, bedrock = count_horizons(sites_of(*"ABCD"), columns, samples)
    assert gravel.colors.sum() < 10.0
    assert bedrock.colors[3] > 30.0


def test_richness_is_recovered_from_exact_expectations() -> None:
    """Two classes, the second a quarter as rich; digs of 100 and 1000 colors/m3."""
    volume = np.array([[0.1, 0.0], [0.0, 0.1], [0.1, 0.1], [0.0, 0.2]])
    dig = np.array([0, 0, 1, 1])
    grade = np.array([1000.0, 10_000.0])
    colors = grade[dig] * (volume @ np.array([1.0, 0.25]))
    found, height = fit_richness(colors, volume, dig)
    npt.assert_allclose(height, [1.0, 0.25], rtol=0.03)
    npt.assert_allclose(found, grade, rtol=0.03)


def counts_of(colors: list[float], color_mg: list[float]) -> HorizonCounts:
    n = len(colors)
    return HorizonCounts(
        horizon=BEDROCK,
        site=np.arange(n),
        colors=np.array(colors),
        volume_m3=np.full(n, 0.02),
        volume_rel_var=np.zeros(n),
        thickness_m=np.full(n, 0.5),
        pay_m=np.full(n, 0.4),
        pay_top_m=np.full(n, 0.8),
        recovery=np.full(n, 0.8),
        color_mg=np.array(color_mg),
        color_rel_sd=np.full(n, 0.1),
    )


def test_a_dig_with_many_colors_keeps_its_own_mean_mass() -> None:
    sites = sites_of("A", "B")
    mass = fit_color_mass(counts_of([6000.0, 6000.0], [0.1, 0.3]), sites)
    npt.assert_allclose(mass.color_mg, [0.1, 0.3], rtol=0.02)


def test_a_dig_with_few_colors_leans_on_its_reach() -> None:
    """6 colors of 1.0 mg against 600 of 0.1 mg: (6 x 1 + 60 x 0.108) / 66 or so."""
    sites = sites_of("A", "B")
    counts = counts_of([600.0, 500.0], [0.1, 0.1])
    few = fit_color_mass(counts_of([600.0, 6.0], [0.1, 1.0]), sites)
    assert fit_color_mass(counts, sites).color_mg[1] == pytest.approx(0.1)
    assert 0.1 < few.color_mg[1] <= 1.0


def test_the_noise_of_the_mean_mass_is_that_of_the_samples() -> None:
    """0.1 as the samples say, whatever the number of colors; never below 0.02."""
    sure = replace(counts_of([9.0, 900.0], [0.1, 0.1]), color_rel_sd=np.zeros(2))
    plain = fit_color_mass(counts_of([9.0, 900.0], [0.1, 0.1]), sites_of("A", "B"))
    assert plain.rel_sd.tolist() == [0.1, 0.1]
    assert fit_color_mass(sure, sites_of("A", "B")).rel_sd.tolist() == [0.02, 0.02]


def test_digs_of_a_line_make_its_mean_mass_surer_together() -> None:
    """Equal gold in two digs of 10 %: 10 % / sqrt(2); a line without any: 10 %."""
    counts = counts_of([50.0, 50.0], [0.1, 0.1])
    mass = fit_color_mass(counts, sites_of("A", "B"))
    noise = line_noise(counts, mass, line=np.zeros(2, dtype=np.int64), n_lines=2)
    npt.assert_allclose(noise, [0.1 / np.sqrt(2.0), 0.1])


def test_exposure_is_counts_for_each_milligram_in_a_square_meter() -> None:
    """0.02 m3 x 0.8 / (0.5 m x 0.2 mg) = 0.16 colors for 1 mg/m2."""
    counts = counts_of([10.0], [0.2])
    mass = fit_color_mass(counts, sites_of("A"))
    npt.assert_allclose(exposure(counts, mass), [0.16])


def test_pay_stands_out_of_the_background() -> None:
    counts = counts_of([1.0, 1.0, 1.0, 40.0], [0.1] * 4)
    assert is_pay(counts).tolist() == [False, False, False, True]


def test_a_sample_that_ends_above_the_contact_speaks_for_less_than_its_thickness() -> (
    None
):
    """Gold that falls to 1/e over 0.1 m above bedrock, in exact expectation.

    Ten digs took the lowest 0.3 m and the 0.3 m above apart; the last one stopped
    0.15 m short of a bedrock that its neighbors place: it saw exp(-1.5) - exp(-3) of
    all above bedrock, though half of the thickness.
    """
    whole, names = 100.0, [f"D{at}" for at in range(10)]

    def seen(low_m: float, high_m: float) -> float:
        return whole * (np.exp(-low_m / 0.1) - np.exp(-high_m / 0.1))

    def took(dig: str, top_m: float, bottom_m: float) -> GradedSample:
        volume = 0.1 * (bottom_m - top_m)
        colors = seen(1.2 - bottom_m, 1.2 - top_m)
        return washed(dig, top_m, bottom_m, colors=colors, bank_m3=volume)

    columns = {dig: column(dig, (BEDROCK, 1.2), bottom_m=1.2) for dig in names}
    samples = {dig: (took(dig, 0.6, 0.9), took(dig, 0.9, 1.2)) for dig in names}
    short = replace(
        column("S", bottom_m=1.05),
        contacts=(Contact(horizon=BEDROCK, depth_m=1.2, sd_m=1e-6),),
    )
    (bedrock,) = count_horizons(
        sites_of(*names, "S"),
        {**columns, "S": short},
        {**samples, "S": (took("S", 0.9, 1.05),)},
    )
    per_m2 = bedrock.colors / bedrock.volume_m3 * bedrock.thickness_m
    assert per_m2[-1] == pytest.approx(per_m2[0], rel=0.15)
