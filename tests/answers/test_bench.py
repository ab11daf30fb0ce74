"""Small reckonings at the camp table, each redone by hand."""

import json
import math
from typing import Any

import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.bench import measure_pan, weigh_ground
from pennyweight.answers.benchforms import BENCHES
from pennyweight.answers.benchgold import (
    compare_settling,
    name_grain,
    price_gold,
    weigh_specimen,
)
from pennyweight.answers.benchplan import plan_charge, plan_pans
from pennyweight.answers.benchwords import bench_facts, bench_verdict
from pennyweight.errors import CallError
from pennyweight.units import MEASURES, METRIC


def test_a_bucket_counts_more_than_a_measure() -> None:
    """18 l in 3 pans are 6 l; with 20 % swell 5 l of bank, 200 to the cubic meter."""
    found = measure_pan(rim_m=0.36, bucket_m3=0.018, pans=3.0, swell=0.2)
    assert found.pan_m3 == pytest.approx(0.006)
    assert found.bank_per_pan_m3 == pytest.approx(0.005)
    assert found.pans_per_bank_m3 == pytest.approx(200.0)
    assert found.pans_per_bank_yd3 == pytest.approx(152.9, rel=1e-3)
    assert found.differs
    assert "do not agree" in bench_verdict(found)


def test_the_usual_pan_gives_the_printed_factor() -> None:
    """336 cubic inches, 20 % swell: 46,656 / 336 x 1.2 = 166.6 pans a cubic yard."""
    found = measure_pan()
    assert found.pans_per_bank_yd3 == pytest.approx(166.63, rel=1e-4)
    assert set(found.assumptions) == {"pan_volume_l", "swell"}


def test_a_heaped_pan_holds_more_and_says_that_it_is_a_guess() -> None:
    """Pi / 24 x 0.4^3 x tan 20 deg = 3.05 l on the rim."""
    found = measure_pan(rim_m=0.4, bottom_m=0.25, depth_m=0.06, fill="heaped")
    assert found.heap_m3 == pytest.approx(0.003049, rel=1e-3)
    assert found.pan_m3 == pytest.approx(found.struck_m3 + found.heap_m3)
    assert found.assumptions["heap_deg"] == 20.0


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"bucket_m3": 0.018}, "needs both"),
        ({"depth_m": 0.06}, "one of them is missing"),
        ({"rim_m": -0.1}, "rim of the pan"),
        ({"swell": 2.0}, "swell is 2.0"),
    ],
)
def test_half_a_pan_is_refused(given: dict[str, float], told: str) -> None:
    with pytest.raises(CallError, match=told):
        measure_pan(**given)  # type: ignore[arg-type]


def test_water_in_a_weighed_sample_is_no_ground() -> None:
    """100 kg with a tenth of water are 90 kg; at 1,800 kg/m3 50 l."""
    assert weigh_ground(100.0, 0.1, 1800.0).bank_m3 == pytest.approx(0.05)
    with pytest.raises(CallError, match="moisture is 1"):
        weigh_ground(100.0, 1.0, 1800.0)


def test_a_specimen_is_as_sure_as_balance_and_rock_allow() -> None:
    """100 g in air, 80 g in water, pure gold: 54.48 g.

    A rock lighter by 0.05 g/cm3 takes 20 x 0.05 = 1 g less of the weight: by the
    formula 19.3 x (100 - 2.7 x 20) / (19.3 - 2.7) = 53.48, one gram less.
    """
    found = weigh_specimen(100.0, 80.0, fineness=1000.0, rock_g_cm3=2.65, step_g=0.1)
    assert found.gold_mg.p50 == pytest.approx(54_480.5, rel=1e-4)
    assert found.from_rock_sd_mg == pytest.approx(1000.0, rel=0.02)
    reach = 1.28155 * math.hypot(found.from_rock_sd_mg, found.from_balance_sd_mg)
    assert found.gold_mg.p90 - found.gold_mg.p50 == pytest.approx(reach, rel=1e-4)
    assert found.density_g_cm3 == pytest.approx(5.0)


def test_barren_quartz_may_hold_no_gold() -> None:
    found = weigh_specimen(100.0, 62.264)
    assert found.gold_mg.p10 == 0.0
    assert "no gold at all" in bench_verdict(found)


def test_a_piece_lighter_than_rock_shows_no_gold() -> None:
    found = weigh_specimen(100.0, 50.0)
    assert found.gold_mg.p90 == 0.0
    assert bench_verdict(found).startswith("No gold")


def test_weights_that_cannot_be_are_the_callers_mistake() -> None:
    with pytest.raises(CallError, match="in water"):
        weigh_specimen(80.0, 100.0)


def test_value_per_yard_and_in_hand() -> None:
    """100 mg/m3 at 885 fine and 35 an ounce: 7.614 cents a yard."""
    found = price_gold(35.0, grade_mg_m3=100.0, raw_mg=31_103.4768, fineness=885.0)
    assert found.value_per_yd3 == pytest.approx(0.07614, rel=1e-3)
    assert found.value == pytest.approx(0.885 * 35.0)
    assert found.fine_mg_m3 == pytest.approx(88.5)
    with pytest.raises(CallError, match="nothing to price"):
        price_gold(35.0)
    with pytest.raises(CallError, match="price is 0"):
        price_gold(0.0, raw_mg=1.0)


def test_what_a_magnet_lifts_is_not_gold() -> None:
    found = name_grain(magnetic=True)
    assert not found.may_be_gold
    assert "no magnet lifts gold" in bench_verdict(found)
    assert [one.name for one in found.may_be] == ["magnetite"]


def test_what_flattens_is_gold_and_what_breaks_is_not() -> None:
    assert "behaves like gold" in bench_verdict(name_grain(malleable=True))
    assert "it breaks" in bench_verdict(name_grain(malleable=False, stays=True))


def test_what_only_stays_in_the_pan_may_be_pyrite() -> None:
    told = bench_verdict(name_grain(stays=True))
    assert "may be gold" in told
    assert "pyrite" in told
    assert "mica" not in told


def test_a_mark_and_a_weight_that_fit_nothing_are_told() -> None:
    told = bench_verdict(name_grain(streak="yellow", density_g_cm3=5.0))
    assert "does not behave like gold" in told
    assert "Nor does it fit" in told


def test_mica_sinks_slowest_and_gold_fastest() -> None:
    found = compare_settling(0.0005, 10.0)
    assert found.sinking[0].mineral == "gold nugget"
    assert found.sinking[-1].mineral == "mica flake"
    quartz = next(one for one in found.sinking if one.mineral == "quartz")
    assert quartz.over_quartz == 1.0
    assert 0.001 < found.quartz_as_fast_m < 0.005
    with pytest.raises(CallError, match="100 mm"):
        compare_settling(0.1)
    with pytest.raises(CallError, match="water is 40"):
        compare_settling(0.001, 40.0)


def test_pans_for_twenty_colors_at_a_grade() -> None:
    """6 l are 5 l of bank; 200 mg/m3 x 0.005 x 0.9 / 0.15 mg are 6 colors."""
    found = plan_pans(200.0, color_mg=0.15, pan_volume_m3=0.006)
    assert found.colors_per_pan == pytest.approx(6.0)
    assert found.pans_for_20_colors == pytest.approx(20.0 / 6.0)
    assert found.chance_of_blank_pan == pytest.approx(math.exp(-6.0))
    assert found.blank_pans_to_clear == pytest.approx(2.9957 / 6.0, rel=1e-3)
    # 20 colors / 0.9 found, 0.15 mg each, in 200 mg/m3.
    assert found.bank_m3_for_20_colors == pytest.approx(20 / 0.9 * 0.15 / 200.0)
    # Variance of a total of 6 colors of variation 3: (1 + 9) / 6.
    assert found.pan_rel_sd == pytest.approx(math.sqrt(10.0 / 6.0))
    assert found.next_step.rel_sd == pytest.approx(
        math.sqrt((1.0 + 10.0 / 6.0 / 4.0) / 3.0)
    )


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"grade_mg_m3": 0.0}, "above 0"),
        ({"grade_mg_m3": 1.0, "wanted_error": 5.0}, "500%"),
        ({"grade_mg_m3": 1.0, "digs": 0}, "0 digs"),
        ({"grade_mg_m3": 1.0, "color_mg": 0.0}, "color weighs 0"),
    ],
)
def test_what_cannot_be_planned_is_refused(given: dict[str, float], told: str) -> None:
    with pytest.raises(CallError, match=told):
        plan_pans(**given)  # type: ignore[arg-type]


def test_a_charge_four_times_as_large_is_off_by_half() -> None:
    small, large = (plan_charge(g, 0.5, 500.0).rel_sd for g in (25.0, 100.0))
    assert small == pytest.approx(2.0 * large)
    found = plan_charge(100.0, 0.5, 500.0, wanted_rel_sd=small)
    assert found.charge_for_wanted_g == pytest.approx(25.0)
    with pytest.raises(CallError, match="above 0"):
        plan_charge(0.0, 0.5, 500.0)


GIVEN: dict[str, dict[str, Any]] = {
    "pan": {"rim_m": 0.36, "fill": "heaped"},
    "weight": {"wet_kg": 100.0, "moisture": 0.1, "dry_bank_kg_m3": 1800.0},
    "specimen": {"in_air_g": 100.0, "in_water_g": 80.0},
    "value": {"price_per_ozt": 2000.0, "grade_mg_m3": 200.0, "raw_mg": 5000.0},
    "grain": {"stays": True},
    "settling": {"size_m": 0.0005},
    "enough": {"grade_mg_m3": 150.0},
    "charge": {"charge_g": 100.0, "top_size_mm": 0.5, "gold_ppm": 500.0},
}


@pytest.mark.parametrize("name", list(BENCHES))
def test_every_reckoning_has_words_numbers_and_named_assumptions(name: str) -> None:
    answer = BENCHES[name].answer(GIVEN[name])
    for measures in MEASURES.values():
        assert bench_verdict(answer, measures).endswith((".", "!"))
        assert bench_facts(answer, measures)
    json.dumps(to_json(answer), allow_nan=False)
    for key in answer.assumptions:
        assert find_assumption(key)[0] is not None, key


def test_what_is_typed_is_read_in_its_unit() -> None:
    rim = next(one for one in BENCHES["pan"].asked if one.name == "rim_m")
    assert rim.read("14", "in") == pytest.approx(0.3556)
    assert rim.read("36,5") == pytest.approx(0.365)
    assert rim.read(" ") is None
    with pytest.raises(CallError, match="no number"):
        rim.read("wide")


def test_what_is_needed_and_what_is_picked_is_checked() -> None:
    asked = {one.name: one for one in BENCHES["grain"].asked}
    assert asked["magnetic"].read("no") is False
    assert asked["streak"].read("yellow") == "yellow"
    with pytest.raises(CallError, match="not offered"):
        asked["streak"].read("green")
    digs = next(one for one in BENCHES["enough"].asked if one.name == "digs")
    assert digs.read("3") == 3
    with pytest.raises(CallError, match="no whole number"):
        digs.read("2.5")
    air = next(one for one in BENCHES["specimen"].asked if one.name == "in_air_g")
    with pytest.raises(CallError, match="is needed"):
        air.read("")


def test_a_reader_of_yards_gets_the_factor_of_a_yard() -> None:
    found = measure_pan()
    assert "cubic yard" in bench_verdict(found, MEASURES["feet"])
    assert "cubic meter" in bench_verdict(found, METRIC)
