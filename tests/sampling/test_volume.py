"""Bank volume from pans, buckets and holes, against hand arithmetic."""

import math

import pytest

from pennyweight.records import BucketTest, Ground, Sample
from pennyweight.sampling import volume
from pennyweight.units import CUBIC_YARD_M3, INCH_M

TENTH_OF_A_PERCENT = 1e-3
BASIS = volume.measure_basis(Ground(pan_volume_m3=0.006, swell=0.2), ())


def sample(**seen: object) -> Sample:
    return Sample(**{"sample": "1", "dig": "A", **seen})  # type: ignore[arg-type]


def test_ten_pans_of_six_liters_are_fifty_liters_of_ground() -> None:
    """10 x 6 l / 1.2 = 50 l, worked by hand."""
    found = volume.bank_volume(sample(pans=10.0), BASIS)
    assert found.bank_m3 == pytest.approx(0.050)


def test_a_bank_volume_is_taken_as_it_is() -> None:
    found = volume.bank_volume(sample(volume_m3=0.05, state="bank"), BASIS)
    assert found.bank_m3 == pytest.approx(0.05)
    assert found.shared_rel_sd == 0.0


def test_a_loose_volume_shrinks_by_the_swell() -> None:
    """60 l / 1.2 = 50 l."""
    found = volume.bank_volume(sample(volume_m3=0.06, state="loose"), BASIS)
    assert found.bank_m3 == pytest.approx(0.05)


def test_a_volume_that_says_neither_bank_nor_loose_is_no_volume() -> None:
    found = volume.bank_volume(sample(volume_m3=0.06), BASIS)
    assert found.bank_m3 is None
    assert "bank or loose" in found.why


def test_stones_thrown_out_count_as_volume() -> None:
    """60 l of pans and 12 l of cobbles loose, 5 l of boulder: 50 + 10 + 5 l."""
    one = sample(pans=10.0, oversize_m3=0.012, boulders_left_out_m3=0.005)
    assert volume.bank_volume(one, BASIS).bank_m3 == pytest.approx(0.065)


def test_only_the_washed_part_of_a_cut_counts() -> None:
    """A quarter of 100 l, whose stones are part of it already."""
    one = sample(volume_m3=0.1, state="bank", washed_part=0.25, oversize_m3=0.012)
    assert volume.bank_volume(one, BASIS).bank_m3 == pytest.approx(0.025)


def test_a_washed_part_of_nothing_is_told() -> None:
    one = sample(volume_m3=0.1, state="bank", washed_part=0.0)
    assert "washed part is 0.0" in volume.bank_volume(one, BASIS).why


@pytest.mark.parametrize("taken", ["grab", "crevice", "moss", "root", "loam"])
def test_a_find_has_no_fair_volume(taken: str) -> None:
    found = volume.bank_volume(sample(pans=3.0, taken=taken), BASIS)
    assert found.bank_m3 is None
    assert "no fair volume" in found.why


def test_a_sample_without_any_volume_says_so() -> None:
    assert "No volume" in volume.why_no_fair_volume(sample())


def test_a_volume_of_nothing_says_so() -> None:
    assert "is 0" in volume.why_no_fair_volume(sample(pans=0.0))


def test_the_samples_own_pan_comes_before_the_grounds() -> None:
    """10 x 9 l / 1.2 = 75 l."""
    found = volume.bank_volume(sample(pans=10.0, pan_volume_m3=0.009), BASIS)
    assert found.bank_m3 == pytest.approx(0.075)


def test_a_bucket_test_gives_swell_and_pan() -> None:
    """A hole of 75 l fills 90 l, which is 15 pans: 20 % swell, 6 l, 5 l bank a pan."""
    tests = (BucketTest(number=1, bank_m3=0.075, loose_m3=0.090, pans=15.0),)
    basis = volume.measure_basis(Ground(), tests)
    assert basis.swell == pytest.approx(0.2)
    assert basis.pan_m3 == pytest.approx(0.006)
    found = volume.bank_volume(sample(pans=10.0), basis)
    assert found.bank_m3 == pytest.approx(0.050)
    assert basis.assumptions == {}


def test_what_nobody_measured_is_named() -> None:
    basis = volume.measure_basis(Ground(), ())
    assert basis.assumptions["swell"] == 0.20
    assert basis.assumptions["pan_volume_l"] == pytest.approx(5.506, abs=1e-3)


def test_clay_swells_more_than_gravel() -> None:
    basis = volume.measure_basis(Ground(pan_volume_m3=0.006), ())
    found = volume.bank_volume(sample(pans=10.0), basis, "blue clay")
    assert found.bank_m3 == pytest.approx(0.06 / 1.43)


def test_measured_pan_and_swell_are_surer_than_defaults() -> None:
    """About 7 % against 18 %."""
    known = volume.bank_volume(sample(pans=10.0), BASIS)
    supposed = volume.bank_volume(sample(pans=10.0), volume.measure_basis(Ground(), ()))
    assert known.shared_rel_sd == pytest.approx(math.hypot(0.05, 0.05))
    assert supposed.shared_rel_sd == pytest.approx(math.hypot(0.15, 0.10))


def test_pan_factor_and_swell_turn_into_one_another() -> None:
    factor = volume.pan_factor(0.006, 0.25)
    assert volume.swell_of_pan_factor(factor, 0.006) == pytest.approx(0.25)


def test_a_heap_is_a_cone_above_the_rim() -> None:
    """Pi / 24 x 0.4^3 x tan 30 deg = 4.837 l."""
    heap = volume.heap_volume_m3(0.4, 30.0)
    assert heap == pytest.approx(0.004837, rel=TENTH_OF_A_PERCENT)


def test_wet_weight_becomes_bank_volume() -> None:
    """100 kg with 10 % water on 1800 kg/m3: 90 / 1800 = 50 l."""
    assert volume.bank_from_weight_m3(100.0, 0.1, 1800.0) == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: volume.frustum_volume_m3(0.0, 0.1, 0.1), "top of the pan is 0.0 m"),
        (lambda: volume.heap_volume_m3(0.4, 80.0), "80.0 deg"),
        (lambda: volume.pan_factor(0.0, 0.2), "pan holds 0.0 m3"),
        (lambda: volume.pan_factor(0.006, 1.5), "swell is 1.5"),
        (lambda: volume.bank_from_weight_m3(0.0, 0.1, 1.0), "weights are 0.0 kg"),
        (lambda: volume.bank_from_weight_m3(1.0, 1.0, 1.0), "moisture is 1.0"),
        (lambda: volume.grade_with_boulders(1.0, 1.0), "boulder share is 1.0"),
    ],
)
def test_an_impossible_measure_is_named(call: object, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        call()  # type: ignore[operator]


def test_a_struck_16_inch_pan_holds_what_the_handbook_prints() -> None:
    """Printed 336 cubic inches = 0.0072 yd3 (Wells 1969); the frustum gives 337.7."""
    frustum = volume.frustum_volume_m3(16 * INCH_M, 10 * INCH_M, 2.5 * INCH_M)
    assert frustum / INCH_M**3 == pytest.approx(337.7, abs=0.05)
    assert pytest.approx(0.0072, abs=5e-6) == volume.DEFAULT_PAN_M3 / CUBIC_YARD_M3


def test_a_smaller_pan_holds_the_cube_of_its_share() -> None:
    """12 inches against 16: 336 x (3 / 4)^3 = 141.75 cubic inches = 2.323 l."""
    assert volume.nominal_pan_m3(0.3048) == pytest.approx(0.0023228, rel=1e-3)
    with pytest.raises(ValueError, match="rim of the pan"):
        volume.nominal_pan_m3(0.0)


def test_pans_to_a_marked_bucket_tell_what_a_pan_holds() -> None:
    """18 l in 4 pans are 4.5 l a pan."""
    assert volume.pan_of_bucket_m3(0.018, 4.0) == pytest.approx(0.0045)
    with pytest.raises(ValueError, match="took 0"):
        volume.pan_of_bucket_m3(0.018, 0)


def test_a_pan_told_by_its_rim_is_less_sure_than_a_measured_one() -> None:
    """14 inches: 336 in3 x (14 / 16)^3 = 225.09 in3 = 3.6887 l; 12 inches: 152 in3."""
    sizes = {size.rim_in: size for size in volume.PAN_SIZES}
    assert sizes[14].loose_m3 == pytest.approx(3.6887e-3, abs=1e-7)
    assert sizes[12].loose_m3 == pytest.approx(152.0 * INCH_M**3)
    told = Ground(pan_volume_m3=sizes[14].loose_m3, extra={volume.PAN_SIZE_KEY: "14"})
    basis = volume.measure_basis(told, ())
    assert basis.pan_rel_sd == volume.PAN_SD_SIZE
    assert basis.assumptions["pan_volume_l"] == pytest.approx(3.6887, abs=1e-4)
    measured = volume.measure_basis(Ground(pan_volume_m3=sizes[14].loose_m3), ())
    assert measured.pan_rel_sd == volume.PAN_SD_TYPED
    assert "pan_volume_l" not in measured.assumptions
