"""Bedrock as a trap: the signs, their reasons, and the order of crevices."""

import pytest

from pennyweight.highwater.traps import (
    DIP_POINTS,
    FABRIC_POINTS,
    SURFACE_POINTS,
    Trap,
    lean_against_flow,
    list_crevices,
    rate_traps,
)
from pennyweight.records import Dig, Rock

NORTH = {"T1": 0.0, "T2": 0.0}


def rate_one(
    dig: Dig, *rocks: Rock, flow_bearing_deg: dict[str, float] | None = None
) -> Trap:
    """Return the trap of the only dig."""
    (trap,) = rate_traps([dig], rocks, flow_bearing_deg=flow_bearing_deg)
    return trap


def points(trap: Trap) -> dict[str, float]:
    """Return the points of each sign."""
    return {one.sign: one.points for one in trap.reasons}


def test_layers_across_the_flow_hold_more_than_along_or_none() -> None:
    across, along, massive = (
        rate_one(Dig(dig="T1", fabric=fabric)).score
        for fabric in ("across", "along", "massive")
    )
    assert across > along > massive


def test_cracked_rock_holds_more_than_rough_and_smooth() -> None:
    cracked, rough, smooth = (
        rate_one(Dig(dig="T1", surface=surface)).score
        for surface in ("fractured", "rough", "smooth")
    )
    assert cracked > rough > smooth


def test_a_score_by_hand() -> None:
    """Across 0.30, cracked 0.30, on edge squarely 0.20, slate 0.07, crevice 0.10."""
    dig = Dig(
        dig="T1", kind="crevice", fabric="across", surface="fractured", bedrock="slate"
    )
    edge = Rock(number=1, dig="T1", kind="bedrock", dip_deg=80.0, strike_deg=90.0)
    trap = rate_one(dig, edge, flow_bearing_deg=NORTH)
    assert trap.score == pytest.approx(0.97)
    assert points(trap) == pytest.approx(
        {"fabric": 0.30, "surface": 0.30, "dip": 0.20, "rock": 0.07, "crevice": 0.10}
    )
    assert all(one.known for one in trap.reasons)
    assert trap.source == "common practice, no source"


def test_the_best_of_all_signs_make_one() -> None:
    best = max(FABRIC_POINTS.values()) + max(SURFACE_POINTS.values()) + DIP_POINTS
    assert best + 0.10 + 0.10 == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("strike_deg", "bearing_deg", "expected"),
    [
        (90.0, 0.0, (1.0, 1.0)),
        (270.0, 0.0, (-1.0, 1.0)),
        (0.0, 0.0, (0.0, 0.0)),
        (45.0, 0.0, (0.5**0.5, 0.5**0.5)),
        (180.0, 90.0, (1.0, 1.0)),
    ],
)
def test_lean_by_the_right_hand_rule(
    strike_deg: float, bearing_deg: float, expected: tuple[float, float]
) -> None:
    """Strike east falls south; with water to the north that is upstream."""
    found = lean_against_flow(strike_deg, 45.0, bearing_deg)
    assert found == pytest.approx(expected, abs=1e-12)


def test_a_lean_upstream_is_better_than_downstream_and_than_to_the_side() -> None:
    said = {}
    for name, strike in (("up", 90.0), ("down", 270.0), ("side", 0.0)):
        rock = Rock(number=1, dig="T1", kind="bedrock", dip_deg=30.0, strike_deg=strike)
        trap = rate_one(Dig(dig="T1", fabric="across"), rock, flow_bearing_deg=NORTH)
        said[name] = next(one for one in trap.reasons if one.sign == "dip")
    assert said["up"].points > said["down"].points > said["side"].points
    assert "under side, in the eddy" in said["up"].words
    assert "30 degrees downstream" in said["down"].words
    assert "to the side" in said["side"].words


def test_a_dip_without_strike_or_current_is_told_as_half_known() -> None:
    rock = Rock(number=1, dig="T1", kind="bedrock", dip_deg=90.0)
    trap = rate_one(Dig(dig="T1"), rock)
    dip = next(one for one in trap.reasons if one.sign == "dip")
    assert dip.points == pytest.approx(0.10)
    assert "unknown" in dip.words


def test_nothing_written_down_is_neither_good_nor_bad() -> None:
    """Unknown 0.10 three times and 0.02: between smooth massive rock and the best."""
    trap = rate_one(Dig(dig="T1", stopped_by="bedrock"))
    assert trap.score == pytest.approx(0.32)
    assert not any(one.known for one in trap.reasons)


def test_rotten_rock_is_to_be_taken_up() -> None:
    trap = rate_one(Dig(dig="T1", bedrock="Rotten granite"))
    assert any("until it is barren" in one.words for one in trap.reasons)


def test_digs_that_met_no_bedrock_are_not_rated() -> None:
    assert rate_traps([Dig(dig="T1", stopped_by="water")]) == ()


def test_bedrock_seen_within_ten_meters_counts_for_a_dig() -> None:
    dig = Dig(dig="T1", easting_m=0.0, northing_m=0.0)
    near, far = (
        Rock(number=1, kind="bedrock", easting_m=d, northing_m=0.0, name="slate")
        for d in (8.0, 12.0)
    )
    assert "Slate" in " ".join(one.words for one in rate_one(dig, near).reasons)
    assert rate_traps([dig], [far]) == ()


def test_dips_that_cannot_be_are_named() -> None:
    with pytest.raises(ValueError, match=r"dip is 95\.0 deg"):
        lean_against_flow(0.0, 95.0, 0.0)


def test_the_list_goes_by_score_and_puts_washed_ones_last() -> None:
    digs = [
        Dig(dig="T1", kind="crevice", fabric="across", surface="fractured"),
        Dig(dig="T2", fabric="across", surface="rough"),
        Dig(dig="T3", surface="smooth", fabric="massive"),
        Dig(dig="T4", kind="moss"),
        Dig(dig="T5", kind="root"),
    ]
    stops = list_crevices(rate_traps(digs), digs, washed=frozenset({"T1"}))
    assert [stop.dig for stop in stops] == ["T2", "T4", "T5", "T3", "T1"]
    assert [stop.rank for stop in stops] == [1, 2, 3, 4, 5]
    assert stops[-1].how.startswith("Washed before")
    assert "grate" in stops[0].why
    assert "moss" in stops[1].how
    assert "roots" in stops[2].how
    assert "hollows" in stops[3].how


def test_a_place_without_any_sign_says_so() -> None:
    digs = [Dig(dig="T1", stopped_by="bedrock")]
    (stop,) = list_crevices(rate_traps(digs), digs)
    assert stop.why.startswith("Nothing was written down")
