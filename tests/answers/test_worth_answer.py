"""Is it worth it? Answers from invented fields, weighed and put in words."""

import json
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.testing as npt
import pytest
import shapely
from pyproj import Transformer

from pennyweight.answers import digplan, mineground, worth
from pennyweight.answers.answer import BookName, to_json
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import Total, TraceAnswer, ValleyField
from pennyweight.answers.worth import WorthAnswer, weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.records import Dig, Feature, Ground, Layer, Log

CRS = "EPSG:32606"
EAST_0, NORTH_0 = 500_000.0, 5_300_000.0
COSTS = {"wash_per_m3": 10.0, "strip_per_m3": 3.0, "fixed": 500.0}
PLANT = {
    "name": "invented",
    "m3_per_hour": 4.0,
    "digs_m3_per_hour": 16.0,
    "hours_per_day": 8.0,
    "days": 60,
    "recovery": 0.8,
    "min_width_m": 2.0,
}

Ask = Callable[..., WorthAnswer]


def invented_field(
    crest_mg_m2: float, *, spread: float = 0.3, top_m: float = 0.8
) -> ValleyField:
    """Return a streak 3 m wide along 60 m of straight valley, in 80 draws."""
    rng = np.random.default_rng(11)
    s_m, n_m = np.linspace(0.5, 59.5, 60), np.linspace(-9.5, 9.5, 20)
    across = np.exp(-0.5 * (n_m / 1.5) ** 2)
    level = np.exp(spread * rng.normal(size=80) - spread**2 / 2.0)
    gold = crest_mg_m2 * level[:, None, None] * np.broadcast_to(across, (60, 20))
    return ValleyField(
        horizon="bedrock",
        s_m=s_m,
        n_m=n_m,
        accumulation_mg_m2=gold.astype(np.float32),
        thickness_m=np.full(gold.shape, 0.4, np.float32),
        top_m=np.full(gold.shape, top_m, np.float32),
        probability_above=np.zeros((60, 20)),
        sampled=np.ones((60, 20), dtype=bool),
    )


def drawn(role: str, ring: list[tuple[float, float]], kind: str = "Polygon") -> Feature:
    back = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
    degrees = [list(back.transform(EAST_0 + x, NORTH_0 + y)) for x, y in ring]
    places = [degrees] if kind == "Polygon" else degrees
    return Feature(
        number=1, role=role, name=role, geometry={"type": kind, "coordinates": places}
    )


@pytest.fixture
def ask(monkeypatch: pytest.MonkeyPatch) -> Ask:
    """Return a way to weigh an invented field."""

    def weigh(
        *fields: ValleyField,
        features: tuple[Feature, ...] = (),
        layers: tuple[Layer, ...] = (),
        **ground: Any,
    ) -> WorthAnswer:
        full: dict[str, Any] = {
            "crs": CRS,
            "gold_price_per_g": 60.0,
            "currency": "USD",
            "fineness": 850.0,
            "min_pay_m": 0.3,
            "costs": COSTS,
            "plant": PLANT,
        }
        centerline = drawn("centerline", [(0, 0), (60, 0)], "LineString")
        log = Log(
            ground=Ground(**(full | ground)),
            digs=(Dig(dig="A", easting_m=EAST_0, northing_m=NORTH_0, line="A"),),
            features=(centerline, *features),
            layers=layers,
        )
        reading = Reading(
            book=BookName(name="invented", id="1"),
            revision="1",
            log=log,
            made_at="then",
        )

        def traced(_: Reading) -> TraceAnswer:
            nothing = Total(
                gold_g=None, gravel_m3=None, gold_g_above_cutoff=None, outline=None
            )
            return TraceAnswer(
                **reading.heading(),
                cutoff_mg_m3=100.0,
                probability_of_any=1.0,
                streaks=(),
                merges=(),
                splits=(),
                total=nothing,
                area=None,
                fields=fields,
            )

        for room in (digplan, mineground, worth):
            monkeypatch.setattr(room, "trace_streaks", traced)
        return weigh_worth(reading)

    return weigh


def test_rich_ground_is_worth_mining_and_says_why(ask: Ask) -> None:
    answer = ask(invented_field(2000.0))
    assert answer.verdict.startswith("Worth mining by these numbers.")
    assert answer.decision == "mine"
    assert "how much gold there is" in " ".join(answer.reasons)
    assert answer.margin is not None
    assert answer.margin.mean > 0.0
    assert answer.chance_of_loss == 0.0
    assert answer.swings[0].name in ("gold", "price_per_g")


def test_money_follows_from_gold_and_volumes_by_hand(ask: Ask) -> None:
    """Revenue is gold x 0.8 x 0.85 x 60; cost is 10 pay + 3 cover + 500."""
    answer = ask(invented_field(2000.0))
    assert answer.gold_g is not None
    assert answer.recovered_g is not None
    assert answer.revenue is not None
    assert answer.cost is not None
    assert answer.cut is not None
    npt.assert_allclose(answer.recovered_g.mean, 0.8 * answer.gold_g.mean)
    npt.assert_allclose(answer.revenue.mean, answer.recovered_g.mean * 0.85 * 60.0)
    cut = answer.cut
    npt.assert_allclose(
        answer.cost.mean, 10.0 * cut.pay_m3 + 3.0 * cut.overburden_m3 + 500.0
    )
    npt.assert_allclose(cut.strip_ratio, cut.overburden_m3 / cut.pay_m3)
    assert answer.break_even_grade_mg_m3 == pytest.approx(
        answer.cost.mean / cut.pay_m3 / (0.8 * 0.85 * 60.0) * 1000.0
    )


def test_the_cut_lies_over_the_streak_and_its_outline_is_closed(ask: Ask) -> None:
    answer = ask(invented_field(2000.0))
    assert answer.cut is not None
    polygon = shapely.geometry.shape(answer.cut.polygon)
    forward = Transformer.from_crs("EPSG:4326", CRS, always_xy=True)
    local = shapely.transform(
        polygon, lambda at: np.column_stack(forward.transform(*at.T))
    )
    assert local.is_valid
    assert local.contains(shapely.Point(EAST_0 + 30.0, NORTH_0))
    assert answer.cut.n0_m >= -8.0
    assert answer.cut.n1_m <= 8.0
    assert answer.cut.depth_m.p90 == pytest.approx(1.2)


def test_season_blocks_add_up_and_run_upstream(ask: Ask) -> None:
    answer = ask(invented_field(2000.0))
    season, cut = answer.season, answer.cut
    assert season is not None
    assert cut is not None
    starts = [block.s0_m for block in season.blocks]
    assert starts == sorted(starts, reverse=True)
    npt.assert_allclose(sum(block.pay_m3 for block in season.blocks), cut.pay_m3)
    opened_m2 = answer.prices[-1].area_m2
    assert opened_m2 > 0.0
    washed, moved = cut.pay_m3 / 4.0, cut.overburden_m3 / 16.0
    assert (washed + moved) / 0.85 < season.hours
    npt.assert_allclose(season.days, season.hours / 8.0)
    npt.assert_allclose(sum(block.hours for block in season.blocks), season.hours)


def test_poor_ground_is_left_with_what_it_would_need(ask: Ask) -> None:
    answer = ask(invented_field(60.0))
    assert answer.cut is None
    assert answer.margin is None
    assert answer.verdict.startswith("Leave it: no ground pays")
    assert "mg/m³" in answer.verdict
    assert answer.break_even_grade_mg_m3 is not None


def test_barren_ground_says_that_no_gold_was_found(ask: Ask) -> None:
    assert "no gold was found" in ask(invented_field(0.0)).verdict


def test_fixed_costs_that_eat_the_margin_turn_the_verdict(ask: Ask) -> None:
    sure = ask(invented_field(700.0, spread=0.2), costs={**COSTS, "fixed": 20_000.0})
    assert sure.verdict.startswith("Leave it: even the best cut")
    assert sure.chance_of_loss is not None
    assert sure.chance_of_loss > 0.85


def test_an_open_case_is_called_open(ask: Ask) -> None:
    base = ask(invented_field(1200.0, spread=0.8), costs={**COSTS, "fixed": 0.0})
    assert base.margin is not None
    fixed = 0.97 * base.margin.mean
    answer = ask(invented_field(1200.0, spread=0.8), costs={**COSTS, "fixed": fixed})
    assert answer.verdict.startswith("Open:")
    assert answer.worth_of_knowing is not None
    assert answer.worth_of_knowing > 0.0
    said = " ".join(answer.reasons)
    assert "Knowing the ground exactly would be worth USD" in said


def test_a_boundary_keeps_the_cut_inside(ask: Ask) -> None:
    ring = [(0.0, -10.0), (30.0, -10.0), (30.0, 10.0), (0.0, 10.0), (0.0, -10.0)]
    answer = ask(invented_field(2000.0), features=(drawn("boundary", ring),))
    assert answer.cut is not None
    assert answer.cut.s1_m <= 30.5
    assert not any("No boundary" in one for one in answer.cautions)
    assert any("No boundary" in one for one in ask(invented_field(2000.0)).cautions)


def test_worked_ground_and_water_are_left_out_and_shown(ask: Ask) -> None:
    """10 by 6 m over the streak: water first, so that no ground counts twice."""
    ring = [(10.0, -3.0), (20.0, -3.0), (20.0, 3.0), (10.0, 3.0), (10.0, -3.0)]
    far = [(30.0, -3.0), (40.0, -3.0), (40.0, 3.0), (30.0, 3.0), (30.0, -3.0)]
    answer = ask(
        invented_field(2000.0), features=(drawn("worked", far), drawn("water", ring))
    )
    left = {one.reason: one for one in answer.left_out}
    assert set(left) == {"under water", "mined before"}
    npt.assert_allclose(left["under water"].area_m2, 60.0, rtol=0.1)
    assert left["mined before"].gold_g.mean > 0.0
    for row in answer.prices:
        assert row.area_m2 < 60.0 * 20.0 - 120.0


def test_water_and_worked_ground_are_taken_where_the_user_says_so(ask: Ask) -> None:
    ring = [(10.0, -3.0), (20.0, -3.0), (20.0, 3.0), (10.0, 3.0), (10.0, -3.0)]
    far = [(30.0, -3.0), (40.0, -3.0), (40.0, 3.0), (30.0, 3.0), (30.0, -3.0)]
    plant = {**PLANT, "works_water": 1, "worked_grade_mg_m3": 4000.0}
    answer = ask(
        invented_field(2000.0),
        features=(drawn("worked", far), drawn("water", ring)),
        plant=plant,
    )
    assert answer.left_out == ()
    assert any("mined before" in one for one in answer.cautions)
    assert any("under water, as you allowed" in one for one in answer.cautions)


def test_a_set_back_is_kept_from_the_boundary(ask: Ask) -> None:
    ring = [(0.0, -10.0), (60.0, -10.0), (60.0, 1.0), (0.0, 1.0), (0.0, -10.0)]
    boundary = (drawn("boundary", ring),)
    near = ask(invented_field(2000.0), features=boundary)
    far = ask(
        invented_field(2000.0),
        features=boundary,
        plant={**PLANT, "boundary_setback_m": 2.0},
    )
    assert near.cut is not None
    assert near.cut.n1_m <= 1.1
    left = {one.reason: one.area_m2 for one in far.left_out}
    npt.assert_allclose(
        left["too near the boundary"], 60.0 * 11.0 - 56.0 * 7.0, rtol=0.01
    )
    assert far.cut is None or far.cut.n1_m <= -0.9


def test_every_answer_denies_being_a_resource_and_warns_of_walls(ask: Ask) -> None:
    cautions = ask(invented_field(2000.0)).cautions
    assert any("no resource or reserve statement" in one for one in cautions)
    assert any("No wall is promised to stand" in one for one in cautions)


def test_a_cut_longer_than_a_season_says_so(ask: Ask) -> None:
    plant = {**PLANT, "days": 3}
    answer = ask(invented_field(3000.0), plant=plant, costs={**COSTS, "fixed": 10.0})
    assert any("seasons of 3 days" in one for one in answer.cautions)


def test_costs_that_are_not_understood_are_named(ask: Ask) -> None:
    answer = ask(invented_field(2000.0), costs={**COSTS, "diesel": 4.0})
    assert any("[costs] diesel" in one for one in answer.cautions)


def test_unknown_depth_is_said_and_not_taken_for_free_silently(ask: Ask) -> None:
    answer = ask(invented_field(2000.0, top_m=float("nan")))
    assert any("cannot be told" in one for one in answer.cautions)


def test_a_stretch_that_was_not_sampled_is_an_answer(ask: Ask) -> None:
    field = invented_field(2000.0)
    field.sampled[:] = False
    answer = ask(field)
    assert answer.cut is None
    assert answer.verdict.startswith("It cannot be told yet")


def test_no_washed_sample_is_too_little(ask: Ask) -> None:
    with pytest.raises(TooLittleError, match="There is no sample yet"):
        ask()


def test_missing_price_and_costs_name_the_keys_to_give(ask: Ask) -> None:
    with pytest.raises(
        TooLittleError, match=r"gold_price_per_g.*wash_per_m3"
    ) as raised:
        ask(invented_field(2000.0), gold_price_per_g=None, costs={})
    assert raised.value.exit_code == 3


def test_the_json_has_the_keys_of_the_contract(ask: Ask) -> None:
    printed = to_json(ask(invented_field(2000.0)))
    assert {
        "cut",
        "gold_g",
        "recovered_g",
        "revenue",
        "cost",
        "margin",
        "chance_of_loss",
        "break_even_grade_mg_m3",
        "season",
        "verdict",
        "currency",
    } <= set(printed)
    assert set(printed["cut"]) == {
        "polygon",
        "depth_m",
        "overburden_m3",
        "pay_m3",
        "strip_ratio",
    }
    assert {"days", "hours", "m3_per_hour", "blocks"} <= set(printed["season"])
    assert printed["decision"] == "mine"
    assert {"digs", "value", "cost", "net"} <= set(printed["one_more_day"])
    assert "margin_draws" not in printed


def test_a_boundary_around_other_ground_leaves_nothing(ask: Ask) -> None:
    ring = [(500.0, 0.0), (530.0, 0.0), (530.0, 9.0), (500.0, 9.0), (500.0, 0.0)]
    answer = ask(invented_field(2000.0), features=(drawn("boundary", ring),))
    assert answer.cut is None
    assert "no ground inside the boundary was sampled" in answer.verdict


def test_rich_spots_too_small_for_their_surroundings_are_called_so(ask: Ask) -> None:
    """One column of 2 m under 6 m of cover: its walls cost more than it brings."""
    field = invented_field(0.0, top_m=6.0)
    field.accumulation_mg_m2[:, 30:32, 10:12] = 3000.0
    answer = ask(field)
    assert answer.cut is None
    assert "too small for the ground around them" in answer.verdict


def test_two_separate_streaks_make_a_cut_of_two_parts(ask: Ask) -> None:
    field = invented_field(2000.0)
    field.accumulation_mg_m2[:, 20:40] = 0.0
    answer = ask(field)
    assert answer.cut is not None
    assert answer.cut.polygon["type"] == "MultiPolygon"
    assert len(answer.cut.polygon["coordinates"]) == 2


@pytest.mark.parametrize(
    ("fixed_share", "word"),
    [(0.5, "Probably worth mining"), (1.1, "Not as it stands")],
)
def test_verdicts_follow_margin_and_chance_of_loss(
    ask: Ask, fixed_share: float, word: str
) -> None:
    base = ask(invented_field(1200.0, spread=0.6), costs={**COSTS, "fixed": 0.0})
    assert base.margin is not None
    fixed = fixed_share * base.margin.mean
    answer = ask(invented_field(1200.0, spread=0.6), costs={**COSTS, "fixed": fixed})
    assert answer.verdict.startswith(word), (answer.verdict, answer.chance_of_loss)


def test_every_assumption_of_worth_has_its_words(ask: Ask) -> None:
    answer = ask(
        invented_field(2000.0),
        fineness=None,
        min_pay_m=None,
        costs={"wash_per_m3": 10.0},
        plant={},
    )
    assert len(answer.assumptions) > 8
    for key in answer.assumptions:
        assert find_assumption(key)[0] is not None, key


def test_costs_of_nothing_are_an_answer_that_says_so(ask: Ask) -> None:
    free = {"wash_per_m3": 0.0, "strip_per_m3": 0.0, "fixed": 0.0}
    answer = ask(invented_field(2000.0), costs=free)
    assert any("All costs are 0" in one for one in answer.cautions)
    assert answer.revenue is not None
    assert answer.margin == answer.revenue
    assert answer.break_even_grade_mg_m3 == 0.0
    assert answer.break_even is not None
    assert (answer.break_even.price_per_g, answer.break_even.gold_share) == (0.0, 0.0)
    json.dumps(to_json(answer), allow_nan=False)


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        ({"costs": {**COSTS, "strip_per_m3": -3.0}}, "strip_per_m3 is -3.0"),
        ({"costs": {**COSTS, "wage_per_hour": -20.0}}, "wage_per_hour is -20.0"),
        ({"costs": {**COSTS, "refining_per_g": 60.0}}, "refining_per_g is 60.0"),
        ({"plant": {**PLANT, "availability": 0.0}}, "availability is 0.0"),
        ({"plant": {**PLANT, "availability": 85.0}}, "availability is 85"),
        ({"plant": {**PLANT, "hours_per_day": 25.0}}, "hours_per_day is 25"),
        ({"plant": {**PLANT, "days": 0}}, "days is 0"),
        ({"plant": {**PLANT, "recovery": 0.0}}, "recovery is 0.0"),
        ({"plant": {**PLANT, "keeps_fine": 60.0}}, "keeps_fine is 60.0"),
        ({"plant": {**PLANT, "bench_m": 0.0}}, "bench_m is 0.0"),
        ({"plant": {**PLANT, "wall_slope_deg": 90.0}}, "wall_slope_deg is 90"),
        ({"plant": {**PLANT, "min_width_m": 0.0}}, "min_width_m is 0.0"),
    ],
)
def test_terms_that_cannot_be_are_refused_by_name(
    ask: Ask, changed: dict[str, Any], text: str
) -> None:
    with pytest.raises(TooLittleError, match=text):
        ask(invented_field(2000.0), **changed)


def test_a_plant_that_cannot_move_the_stones_is_told_to_walk_away(ask: Ask) -> None:
    stony = Layer(
        dig="A", top_m=0.0, bottom_m=1.2, material="gravel", largest_clast_m=1.4
    )
    answer = ask(invented_field(2000.0), layers=(stony,))
    assert answer.decision == "walk away"
    assert answer.verdict.startswith("Walk away with this plant (invented)")
    assert "1.4 m long, and it moves 0.7 m" in answer.verdict
    able = ask(
        invented_field(2000.0), layers=(stony,), plant={**PLANT, "moves_stone_m": 2.0}
    )
    assert able.decision == "mine"


def test_boulders_cost_what_putting_them_aside_takes(ask: Ask) -> None:
    """Half of the gravel up to 0.6 m, the plant passes 0.25 m: 0.5 x 0.352 of it."""
    layer = Layer(
        dig="A",
        top_m=0.0,
        bottom_m=1.2,
        material="gravel",
        largest_clast_m=0.6,
        oversize_percent=50.0,
    )
    stony, clean = (
        ask(invented_field(2000.0), layers=(layer,)),
        ask(invented_field(2000.0)),
    )
    assert stony.stones is not None
    assert stony.stones.too_big_share == pytest.approx(0.1762, abs=1e-3)
    assert stony.margin is not None
    assert clean.margin is not None
    assert stony.margin.mean < clean.margin.mean


def test_ground_that_is_all_under_water_says_what_stands_against_it(ask: Ask) -> None:
    ring = [(-50.0, -50.0), (150.0, -50.0), (150.0, 50.0), (-50.0, 50.0)]
    answer = ask(invented_field(2000.0), features=(drawn("water", [*ring, ring[0]]),))
    assert answer.cut is None
    assert answer.decision == "walk away"
    assert "all of it lies under water" in answer.verdict
    json.dumps(to_json(answer), allow_nan=False)


def test_no_streak_is_walked_away_from_without_a_number_made_up(ask: Ask) -> None:
    answer = ask(invented_field(0.0))
    assert answer.decision == "walk away"
    assert (answer.margin, answer.cash, answer.break_even) == (None, None, None)
    assert answer.prices == ()
    assert answer.one_more_day is None


def test_a_purse_ends_with_what_is_left(ask: Ask) -> None:
    answer = ask(invented_field(2000.0))
    assert answer.cash is not None
    assert answer.margin is not None
    npt.assert_allclose(answer.cash.weeks[-1].cash.mean, answer.margin.mean, rtol=0.02)
    assert answer.cash.at_risk.p10 >= 500.0


def test_poor_ground_names_the_price_at_which_the_first_would_go(ask: Ask) -> None:
    answer = ask(invented_field(160.0))
    assert answer.cut is None
    assert answer.prices
    assert "The first ground would go at USD" in answer.verdict


def test_gold_of_a_cut_is_shared_out_over_sizes_and_depths(ask: Ask) -> None:
    answer = ask(invented_field(2000.0))
    assert answer.gold_g is not None
    assert answer.cut is not None
    npt.assert_allclose(
        sum(one.gold_g.mean for one in answer.sizes), answer.gold_g.mean
    )
    npt.assert_allclose(
        sum(one.gold_g for one in answer.depths), answer.gold_g.mean, rtol=1e-6
    )
    npt.assert_allclose(
        sum(one.overburden_m3 for one in answer.depths),
        answer.cut.overburden_m3,
        rtol=1e-4,
    )
