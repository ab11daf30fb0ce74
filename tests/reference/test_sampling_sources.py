"""Published sampling numbers: each literal stands in the source that is named.

PRINTED: the number is printed there. FORMULA: worked out here from the cited formula,
a second time and by hand. Where the source itself is off, the test says where.
"""

import math

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.sampling import (
    adequacy,
    cutting,
    fundamental,
    gold,
    intervals,
    specimen,
    volume,
)
from pennyweight.sampling import posterior as law
from pennyweight.units import (
    CUBIC_FOOT_M3,
    CUBIC_YARD_M3,
    FOOT_M,
    INCH_M,
    TROY_OUNCE_MG,
    US_GALLON_M3,
    from_inside,
    to_inside,
)

PRINTED_DIGITS = 5e-5
PAN_M3 = 336.0 * INCH_M**3


def test_garwoods_limits_are_those_of_his_table() -> None:
    """PRINTED: Garwood (1936), Biometrika 28: 437-442, 95 % limits."""
    lower, upper = law.exact_limits([0, 1, 5, 10, 20, 100], 0.95)
    expected_low = [0.0, 0.0253, 1.6235, 4.7954, 12.2165, 81.3640]
    expected_high = [3.6889, 5.5716, 11.6683, 18.3904, 30.8884, 121.6272]
    npt.assert_allclose(lower, expected_low, atol=PRINTED_DIGITS)
    # The last is printed 0.0004 too high.
    npt.assert_allclose(upper, expected_high, rtol=4e-6, atol=PRINTED_DIGITS)


def test_an_open_librarys_exact_interval_is_found_again() -> None:
    """PRINTED: an open statistics library gives 2.81436-14.42268 for 7 seen."""
    lower, upper = law.exact_limits([7], 0.95)
    assert (lower[0], upper[0]) == pytest.approx((2.81436, 14.42268), abs=5e-6)


@pytest.mark.parametrize(
    ("n_pans", "upper"), [(1, 3.0), (5, 0.6), (10, 0.3), (30, 0.1)]
)
def test_the_rule_of_three_for_blank_pans(n_pans: int, upper: float) -> None:
    """FORMULA: 95 % upper limit of colors a pan, about 3 / n."""
    assert law.upper_limit(0, 0.95) / n_pans == pytest.approx(upper, rel=0.002)


@pytest.mark.parametrize(
    ("colors", "chance"), [(1.0, 0.367879), (3.0, 0.0497871), (5.0, 0.00673795)]
)
def test_chance_of_no_gold(colors: float, chance: float) -> None:
    """FORMULA: Poisson."""
    assert adequacy.chance_of_blank(colors) == pytest.approx(chance, rel=1e-5)


def test_twenty_particles() -> None:
    """Clifton et al. (1969), USGS PP 625-C: 20 particles, 22.4 % and 43.8 % at 95 %.

    The rounded +-50 % that is quoted is looser; exact limits are -39 % and +54 %.
    """
    assert law.total_rel_sd(20.0, 0.0) == pytest.approx(0.223607, abs=1e-6)
    lower, upper = law.exact_limits([20], 0.95)
    assert (lower[0] / 20 - 1, upper[0] / 20 - 1) == pytest.approx(
        (-0.39, 0.54), abs=0.005
    )


@pytest.mark.parametrize("density", [17.0, 19.3])
@pytest.mark.parametrize(("diameter_mm", "printed_ppm"), [(0.177, 3.0), (0.030, 0.016)])
def test_cliftons_least_grades(
    density: float, diameter_mm: float, printed_ppm: float
) -> None:
    """PRINTED readings of a nomogram (Clifton 1969, quoted by Marshall 2002): 15 %."""
    found = fundamental.least_grade_ppm(50.0, diameter_mm, density)
    assert found == pytest.approx(printed_ppm, rel=0.15)


@pytest.mark.parametrize(
    ("diameter_mm", "grade", "volume_m3"),
    [(0.5, 200.0, 0.114537), (1.0, 200.0, 0.916298), (0.25, 100.0, 0.0286343)],
)
def test_volume_of_twenty_spheres(
    diameter_mm: float, grade: float, volume_m3: float
) -> None:
    """FORMULA: 20 m / grade, spheres of 17.5 g/cm3."""
    sphere = gold.sphere_mass_mg(diameter_mm, 17.5)
    found = adequacy.volume_for_colors_m3(grade, sphere)
    assert found == pytest.approx(volume_m3, rel=1e-4)


@pytest.mark.parametrize(
    ("size_cm", "printed_g", "tolerance"),
    [
        (2.5, 1_369_632, 2e-5),
        (0.5, 24_501, 1e-4),
        (0.1, 438, 1e-3),
        (0.004, 0.07, 0.05),
    ],
)
def test_gys_lead_ore(size_cm: float, printed_g: float, tolerance: float) -> None:
    """PRINTED: Wills (1982), a lead deposit, 5 % assay, 2 % error at 95 %, safety 2.

    His f g is 0.5 and his liberation sqrt(L / d); other variants give other masses.
    """
    factor = (
        0.5
        * fundamental.liberation_factor(size_cm, 0.015)
        * fundamental.mineral_factor_g_cm3(0.05 / 0.866, 7.5, 2.65)
    )
    found = fundamental.charge_for_error_g(0.02 / 1.96, size_cm, factor, safety=2.0)
    assert found == pytest.approx(printed_g, rel=tolerance)


def test_gys_free_gold_is_poisson() -> None:
    """FORMULA: 0.5 mm spheres, 100 kg at 0.1 g/t: 0.3384."""
    factor = math.pi / 6.0 * 17.5 / 1e-7
    found = fundamental.fundamental_rel_sd(100_000.0, 0.05, factor)
    assert found == pytest.approx(0.338433, rel=1e-5)


def test_compound_totals_and_effective_grains() -> None:
    """FORMULA: sqrt((1 + 2^2) / 20) = 0.5; Kish's effective size 4.37158."""
    assert law.total_rel_sd(20.0, 2.0) == pytest.approx(0.5)
    grains = [4, 2, 1, 1, 0.5, 0.5, 0.5, 0.25, 0.25]
    assert gold.effective_grains(grains) == pytest.approx(4.37158, rel=1e-5)


def test_a_negative_binomial_without_gold() -> None:
    """FORMULA: (1 + 3 / 0.5)^-0.5 = 0.377964473; variance 3 + 9 / 0.5 = 21."""
    none = math.exp(float(law.counts_log_probability(0, 3.0, 0.5)))
    assert none == pytest.approx(0.377964473, rel=1e-8)
    n = np.arange(4000)
    chance = np.exp(law.counts_log_probability(n, 3.0, 0.5))
    assert chance @ (n - 3.0) ** 2 == pytest.approx(21.0, rel=1e-9)


def test_a_sampling_constant() -> None:
    """FORMULA: Ingamells and Switzer (1973): 10 % at 50 g, 5 % at 200 g."""
    found = fundamental.mass_for_sampling_constant_g(5.0, 10.0, 50.0)
    assert found == pytest.approx(200.0)


@pytest.mark.parametrize(
    ("n", "variance", "factor"),
    [
        (2, 1.0, 1.54308),
        (4, 1.0, 1.58059),
        (5, 1.0, 1.59064),
        (10, 1.0, 1.61501),
        (10, 2.0, 2.51928),
        (20, 1.5, 2.06537),
        (50, 1.0, 1.64085),
    ],
)
def test_sichels_factor(n: int, variance: float, factor: float) -> None:
    """FORMULA: Sichel (1966), by series and closed forms."""
    assert cutting.sichel_factor(n, variance) == pytest.approx(factor, rel=1e-5)


def test_the_chromium_example() -> None:
    """PRINTED: USEPA (1992), Supplemental Guidance to RAGS: 159.855185; mean 175.5."""
    chromium = [10, 13, 20, 36, 41, 59, 67, 110, 110, 136, 140, 160, 200, 230, 1300]
    assert cutting.lognormal_mean(chromium) == pytest.approx(159.855185, abs=1e-6)
    assert np.mean(chromium) == pytest.approx(175.4667, abs=5e-5)


def test_exact_units() -> None:
    """Yard and pound agreement of 1959: grain 64.79891 mg, ounce 31.1034768 g."""
    assert to_inside(1.0, "grain", "mass") == 64.79891
    assert to_inside(1.0, "dwt", "mass") / 1000.0 == pytest.approx(1.55517384)
    assert pytest.approx(31_103.4768) == TROY_OUNCE_MG
    assert pytest.approx(0.764554857984) == CUBIC_YARD_M3
    per_yard = from_inside(1.0, "ozt/yd3", "grade")
    assert per_yard == pytest.approx(2.45810095e-5, rel=1e-8)
    assert to_inside(1.0, "gr/yd3", "grade") == pytest.approx(84.7537745, rel=1e-8)


@pytest.mark.parametrize(
    ("grade", "fineness", "price", "cents"),
    [
        (100.0, 885.0, 35.0, 7.6139677),
        (250.0, 850.0, 2000.0, 1044.6929),
        (150.0, 900.0, 20.67, 6.8592078),
        (193.0, 1000.0, 35.0, 16.6045),
    ],
)
def test_value_of_a_yard(
    grade: float, fineness: float, price: float, cents: float
) -> None:
    """FORMULA on exact units; the last is Wells's part in 1e8, about 16.6 cents."""
    found = specimen.value_per_yard(grade, fineness, price) * 100.0
    assert found == pytest.approx(cents, rel=1e-5)


def test_one_milligram_of_fine_gold_at_35_dollars() -> None:
    """FORMULA: 0.11252761 cent."""
    assert pytest.approx(0.11252761, rel=1e-7) == 3500.0 / TROY_OUNCE_MG


@pytest.mark.parametrize(
    ("fineness", "density"),
    [(1000, 19.3), (900, 17.8076), (850, 17.1447), (800, 16.5294), (700, 15.4224)],
)
def test_density_of_gold_and_silver(fineness: float, density: float) -> None:
    """FORMULA: volumes add; 19.3 and 10.5 g/cm3."""
    assert gold.gold_density_g_cm3(fineness) == pytest.approx(density, rel=1e-5)


def test_fineness() -> None:
    """PRINTED: Wells (1969): 150 silver and 50 copper in 1000 leave 800 fine."""
    assert 1000.0 - 150.0 - 50.0 == 800.0
    assert specimen.fine_mg(10_000.0, 800.0) == pytest.approx(8_000.0)
    assert specimen.fine_mg(10_000.0, 885.0) == pytest.approx(8_850.0)
    assert specimen.fineness_of_karats(22.0) == pytest.approx(916.667, rel=1e-6)


def test_a_cube_of_one_ounce() -> None:
    """PRINTED 0.464 in (a State's booklet); 0.4616 in with 19.3 g/cm3."""
    edge_mm = (TROY_OUNCE_MG / 19.3) ** (1.0 / 3.0)
    assert edge_mm / 25.4 == pytest.approx(0.464, rel=0.01)


def test_masses_of_spheres_flakes_and_handbook_colors() -> None:
    """FORMULA: geometry at 17.5 g/cm3; 12 000 and 300 000 colors to the ounce."""
    assert gold.sphere_mass_mg(1.0, 17.5) == pytest.approx(9.16298, rel=1e-5)
    assert gold.sphere_mass_mg(2.0, 17.5) == pytest.approx(73.3038, rel=1e-5)
    assert gold.flake_mass_mg(0.5, 17.5) == pytest.approx(0.171806, rel=1e-5)
    assert gold.flake_mass_mg(1.0, 17.5) == pytest.approx(1.37445, rel=1e-5)
    assert pytest.approx(2.59196, rel=1e-5) == TROY_OUNCE_MG / 12_000
    assert pytest.approx(0.103678, rel=1e-5) == TROY_OUNCE_MG / 300_000


def test_weights_of_ground_in_place() -> None:
    """Gardner and Johnson (1934), USBM IC 6786: 3450, 3540 and 3000 lb a yard.

    Mean 3330 lb = 1.976 t/m3; 16 % between lightest and heaviest.
    """
    pounds = np.array([3450.0, 3540.0, 3000.0])
    kg_m3 = pounds * 0.45359237 / CUBIC_YARD_M3
    npt.assert_allclose(kg_m3, [2046.8, 2100.2, 1779.8], rtol=1e-4)
    assert kg_m3.mean() == pytest.approx(1976.0, abs=0.5)
    assert np.ptp(pounds) / pounds.mean() == pytest.approx(0.16, abs=0.003)


def test_struck_pans_and_buckets() -> None:
    """PRINTED: Wells (1969), BLM Technical Bulletin 4: 336 in3 = 0.0072 yd3.

    138.9 loose pans to the yard; the frustum gives 337.7; a 12-inch pan 152.0 and
    307.0 pans; five gallons are 0.6684 ft3, 40.39 to the yard.
    """
    assert pytest.approx(0.0072, rel=5e-4) == PAN_M3 / CUBIC_YARD_M3
    assert pytest.approx(138.86, abs=0.005) == CUBIC_YARD_M3 / PAN_M3
    large = volume.frustum_volume_m3(16 * INCH_M, 10 * INCH_M, 2.5 * INCH_M)
    small = volume.frustum_volume_m3(12 * INCH_M, 7.5 * INCH_M, 2 * INCH_M)
    assert large / INCH_M**3 == pytest.approx(337.7, abs=0.05)
    assert small / INCH_M**3 == pytest.approx(152.0, abs=0.05)
    assert CUBIC_YARD_M3 / small == pytest.approx(307.0, abs=0.05)
    assert pytest.approx(0.6684, abs=5e-5) == 5 * US_GALLON_M3 / CUBIC_FOOT_M3
    assert pytest.approx(40.3948, rel=1e-5) == CUBIC_YARD_M3 / (5 * US_GALLON_M3)


def test_two_pans_of_one_density() -> None:
    """PRINTED: Wells (1969): 20 lb fill the 16-inch pan, 9 lb the 12-inch one."""
    assert pytest.approx(1.0, rel=0.02) == (20 / 336) / (9 / 151.975)


def test_the_pan_factor_of_180_is_off() -> None:
    """The source says 180 pans for 20-25 % swell; its own numbers give 166.6-173.6.

    180 needs 29.6 % of swell, 150 needs 8.0 %, 200 needs 44.0 %.
    """
    factors = [volume.pan_factor(PAN_M3, s) * CUBIC_YARD_M3 for s in (0.20, 0.25)]
    assert factors == pytest.approx([166.6, 173.6], abs=0.05)
    swells = [
        volume.swell_of_pan_factor(f / CUBIC_YARD_M3, PAN_M3) for f in (180, 150, 200)
    ]
    assert swells == pytest.approx([0.296, 0.080, 0.440], abs=5e-4)


def test_a_speck_in_a_pan() -> None:
    """Wells (1969): 2-5 cents a yard at 35 dollars; at 180 pans 0.0987-0.2469 mg."""
    specks = [cents / 100.0 / 35.0 * TROY_OUNCE_MG / 180.0 for cents in (2, 5)]
    assert specks == pytest.approx([0.0987, 0.2469], abs=PRINTED_DIGITS)
    assert specks[0] < gold.UNSIZED_MG < specks[1]


def test_flood_gold() -> None:
    """Wells (1969): 1000-5000 colors to the cent at 35 dollars: 8.89-1.78 ug each."""
    cent_ug = 0.01 / 35.0 * TROY_OUNCE_MG * 1000.0
    assert cent_ug / 1000 == pytest.approx(8.89, abs=0.005)
    assert cent_ug / 5000 == pytest.approx(1.78, abs=0.005)


def test_one_part_in_a_hundred_million() -> None:
    """Wells (1969): 1e-8 by volume; 193 mg/m3, 0.1476 g a yard."""
    grade = specimen.grade_of_volume_share(1e-8)
    assert grade == pytest.approx(193.0)
    assert grade * CUBIC_YARD_M3 / 1000.0 == pytest.approx(0.1476, abs=PRINTED_DIGITS)


WIDTHS = [0.30] * 3 + [0.20] * 9 + [0.23, 0.15] + [0.20] * 4 + [0.12]
VALUES = [0.01, 0.05, 0.13, 0.17, 0.25, 0.64, 0.92, 1.10, 2.30, 1.20]
VALUES += [2.10, 5.30, 1.40, 2.00, 1.90, 1.80, 1.30, 2.60, 3.50]


def test_the_textbooks_ore_interval() -> None:
    """PRINTED: a mining geology textbook, p. 76 (zinc; the rule is the same).

    From interval 9 down 2.26 over 2.10 m; from 3 down 1.59 over 3.40 m, the longest
    run at 1.5 or more; with interval 2 it falls to 1.463; the whole is 1.35.
    """
    run = intervals.longest_run_above(VALUES, WIDTHS, 1.5)
    assert run == (2, 18)

    def average(first: int) -> float:
        return intervals.interval_average(VALUES[first:], WIDTHS[first:])

    assert sum(WIDTHS[8:]) == pytest.approx(2.10)
    assert sum(WIDTHS[2:]) == pytest.approx(3.40)
    averages = [average(first) for first in (8, 2, 1, 0)]
    assert averages == pytest.approx([2.258, 1.587, 1.463, 1.354], abs=5e-4)


def test_hoovers_warning_about_mixed_widths() -> None:
    """Hoover (1909): 2 at 20 and 5 at 1 are 6.43, not 10.5."""
    found = intervals.interval_average([20.0, 1.0], [2.0, 5.0])
    assert found == pytest.approx(6.43, abs=0.005)


def test_nine_holes_of_equal_area() -> None:
    """PRINTED 3.5 (a university's course page): 3.502 by thickness, plain mean 3.33.

    The source is off: 400 ft spacing gives 160,000 ft2 each, not the printed
    1,600,000; the grade does not depend on it.
    """
    thickness = [40, 45, 70, 54, 58, 70, 42, 56, 65]
    grade = [2, 3, 4, 3, 4, 5, 2, 3, 4]
    assert intervals.interval_average(grade, thickness) == pytest.approx(
        3.502, abs=5e-4
    )
    assert sum(thickness) * 1_600e3 == pytest.approx(800e6)
    assert np.mean(grade) == pytest.approx(3.33, abs=0.005)
    assert pytest.approx(10.0) == 1_600e3 / 400**2


def test_one_high_value_of_ten() -> None:
    """PRINTED 59.70 and 12.99 (a manual on mine sampling); the cap is worked out."""
    series = [5.25, 4.00, 17.85, 480.10, 49.20, 22.40, 6.00, 10.15, 1.40, 0.70]
    found = cutting.cut_highest(series)
    assert found.mean == pytest.approx(59.705)
    assert found.without_highest == pytest.approx(12.994, abs=5e-4)
    assert found.capped_at_next == pytest.approx(16.615)
    assert found.highest_share == pytest.approx(0.804, abs=5e-4)


def test_three_treatments_of_a_high_value() -> None:
    """A series worked by hand: mean 172.5, cap 100, next highest 40, re-cut 60."""
    series = [20.0, 35.0, 15.0, 40.0, 900.0, 25.0]
    assert cutting.cut_highest(series).mean == pytest.approx(172.5)
    assert cutting.capped_mean(series, 100.0) == pytest.approx(39.17, abs=0.005)
    assert cutting.cut_highest(series).capped_at_next == pytest.approx(29.17, abs=0.005)
    assert cutting.recut_mean(series, {4: 60.0}) == pytest.approx(32.5)


def test_flakes_of_the_nomogram() -> None:
    """Clifton: 7.5 and 0.040 ug a flake; the model gives 7.40-8.41 and 0.036-0.041."""
    flakes = [
        gold.flake_mass_mg(d, rho) * 1000.0
        for d in (0.177, 0.030)
        for rho in (17.0, 19.3)
    ]
    assert flakes == pytest.approx([7.40, 8.41, 0.036, 0.041], rel=0.015)


def test_gold_in_a_specimen() -> None:
    """PRINTED 3.635 dwt with rounded constants (25.1 dry, 8.3 displaced): 3.599.

    Crushed, the piece gave 3.9; quartz of 2.60 or 2.70 would give 4.068 or 3.128.
    """
    found = [
        specimen.gold_in_quartz_g(25.1, 25.1 - 8.3, rock_g_cm3=rock)
        for rock in (2.65, 2.60, 2.70)
    ]
    assert found == pytest.approx([3.599, 4.068, 3.128], abs=6e-4)
    assert pytest.approx(3.635, abs=5e-4) == 1.16 * 25.1 - 3.07 * 8.3
    assert found[0] / 3.9 - 1.0 == pytest.approx(-0.077, abs=0.001)


def test_specimen_checks() -> None:
    """FORMULA: two phases; coefficients 3.07 and 1.91 are PRINTED by a club's page."""
    assert specimen.gold_in_quartz_g(25.68, 20.0) == pytest.approx(12.3195, rel=1e-5)
    assert specimen.gold_in_quartz_g(100.0, 80.0) == pytest.approx(54.4805, rel=1e-5)
    assert specimen.gold_in_quartz_g(10.0, 6.5) == pytest.approx(0.84039, rel=1e-5)
    alloy = specimen.gold_in_quartz_g(100.0, 80.0, gold_g_cm3=17.8)
    assert alloy == pytest.approx(55.2211, rel=1e-5)
    assert pytest.approx(3.07, abs=0.005) == 19.3 / (19.3 - 2.65) * 2.65
    assert pytest.approx(1.91, abs=0.005) == 19.3 / (19.3 - 2.65) * 1.65
    share = specimen.gold_share_of_density(12.3, rock_g_cm3=2.66)
    assert share * 100.0 == pytest.approx(90.92, rel=2e-4)


def test_a_stripped_bench_does_not_fill_its_hole_again() -> None:
    """A permit's text: 55 ft swell 20 % to 66.0 ft, then 15 % to 63.25 ft.

    The source is off: it says volumes match again, but 60 ft had been there.
    """
    assert pytest.approx(66.0) == 55.0 * 1.20
    assert pytest.approx(63.25) == 55.0 * 1.15
    assert pytest.approx(60.0, rel=0.01) != 55.0 * 1.15


def test_ten_parts_in_a_million_of_a_ton() -> None:
    """A forum's rule is loose: "over a quarter ounce a yard" for 10 ppm.

    A short ton of 2000 lb holds 9.072 g (9.09 is said), 0.292 ozt; at 3330 lb a yard
    15.1 g or 0.486 ozt a yard: nearly twice what it says.
    """
    short_ton_g = 2000 * 453.59237
    assert 1e-5 * short_ton_g == pytest.approx(9.072, abs=5e-4)
    assert 1e-5 * short_ton_g * 1000 / TROY_OUNCE_MG == pytest.approx(0.292, abs=5e-4)
    yard_g = 1e-5 * 3330 * 453.59237
    assert yard_g == pytest.approx(15.1, abs=0.05)
    assert yard_g * 1000 / TROY_OUNCE_MG == pytest.approx(0.486, abs=5e-4)


def test_a_pit_of_four_layers() -> None:
    """Worked by hand at 180 pans a yard; mg/yd3, ft, mg/ft2.

    Layers 0, 21.6, 108 and 810; column 82.8; below the cover 138.0; lower 2 ft 283.5;
    23.0 mg/ft2 for the column and for the 4.5 ft alike, 21.0 for the lower 2 ft.
    """
    thick = np.array([3.0, 2.5, 1.5, 0.5])
    grade = np.array([0.0, 1.2 / 10, 6.0 / 10, 22.5 / 5]) * 180.0
    assert grade == pytest.approx([0.0, 21.6, 108.0, 810.0])
    averages = [intervals.interval_average(grade[k:], thick[k:]) for k in (0, 1, 2)]
    assert averages == pytest.approx([82.8, 138.0, 283.5])
    per_ft2 = [float(grade[k:] @ thick[k:]) / 27.0 for k in (0, 1, 2)]
    assert per_ft2 == pytest.approx([23.0, 23.0, 21.0])
    ratios = [thick[:k].sum() / thick[k:].sum() for k in (1, 2)]
    assert ratios == pytest.approx([0.667, 2.75], abs=5e-4)


def test_boulders_dilution_and_swell_by_hand() -> None:
    """100 with a quarter of boulders 75; 4 ft at 300 and 1 ft barren 240; 20 %."""
    assert volume.grade_with_boulders(100.0, 0.25) == pytest.approx(75.0)
    assert intervals.interval_average([300.0, 0.0], [4.0, 1.0]) == pytest.approx(240.0)
    assert volume.bank_from_loose_m3(0.090, 0.20) == pytest.approx(0.075)


def test_a_measured_three_millimeter_piece() -> None:
    """A forum's 3 mm piece weighed 32 mg, 31.25 to the gram; the flake says 36 mg."""
    assert pytest.approx(31.25) == 1000.0 / 32.0
    assert gold.flake_mass_mg(3.0, 17.0) == pytest.approx(36.0, abs=0.1)


def test_old_hole_and_shaft_figures() -> None:
    """Drill rise 1.701 needs a 5.75 in bore (6 in: 1.5625); 88.0 ft to the yard.

    1,239 shafts of 28 in: 13.48 ft each, 2,646 yd3. From reports on hand sampling.
    """
    assert pytest.approx(1.701, abs=5e-4) == (7.5 / 5.75) ** 2
    assert pytest.approx(1.5625) == (7.5 / 6.0) ** 2
    shoe_m2 = math.pi / 4.0 * (7.5 * INCH_M) ** 2
    assert CUBIC_YARD_M3 / shoe_m2 / FOOT_M == pytest.approx(88.0, abs=0.05)
    assert pytest.approx(13.48, abs=0.005) == 16_705 / 1_239
    shafts_m3 = math.pi / 4.0 * (28 * INCH_M) ** 2 * 16_705 * FOOT_M
    assert shafts_m3 / CUBIC_YARD_M3 == pytest.approx(2_646, abs=1)
