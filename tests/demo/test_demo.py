"""The invented ground: made up, said so, the same every time, and believable."""

import csv
import json
import tomllib
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.testing as npt
import pytest
import shapely

from pennyweight.answers.answer import BookName
from pennyweight.answers.ground import show_ground
from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.nextdigs import plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import trace_streaks
from pennyweight.answers.worth import weigh_worth
from pennyweight.demo.ground import write_demo
from pennyweight.demo.panning import FLAKE_MG, pan_sample
from pennyweight.demo.relief import shape_surface, side_creek
from pennyweight.demo.season import ACROSS_M, LINES, STOPPED, UNWASHED
from pennyweight.demo.truth import (
    BACKGROUND_MG_M2,
    CRS,
    STREAKS,
    accumulation_mg_m2,
    bedrock_depth_m,
    clay_depth_m,
    draw_centerline,
    grade_mg_m3,
)
from pennyweight.exchange.fieldlog import read_fieldlog
from pennyweight.terrain.elevation import read_heights

Rows = list[dict[str, str]]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the field log once."""
    path = tmp_path_factory.mktemp("demo") / "log"
    write_demo(path)
    return path


def read_rows(folder: Path, name: str) -> Rows:
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_folder_says_that_it_is_invented(folder: Path) -> None:
    ground = tomllib.loads((folder / "ground.toml").read_text(encoding="utf-8"))
    assert "invented" in ground["name"]
    assert "does not exist" in (folder / "README.txt").read_text(encoding="utf-8")


def test_it_is_written_the_same_every_time(folder: Path, tmp_path: Path) -> None:
    write_demo(tmp_path)
    for path in sorted(folder.iterdir()):
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name


def test_it_holds_what_a_learner_should_meet(folder: Path) -> None:
    digs, samples = read_rows(folder, "digs"), read_rows(folder, "samples")
    lines = {row["line"] for row in digs if row["line"]}
    assert len(lines) == len(LINES) >= 7
    assert {row["stopped_by"] for row in digs} >= {
        "bedrock",
        "clay",
        "water",
        "boulder",
    }
    assert any(row["duplicate_of"] for row in samples)
    assert any(row["blank"] for row in samples)
    assert any(row["taken"] == "crevice" for row in samples)
    assert any(row["along_m"] for row in digs)
    assert "bottom_ft" in digs[0]
    for name in ("weighings", "grains", "rocks", "days", "pantests", "buckets"):
        assert read_rows(folder, name), name


def test_unwashed_samples_have_no_tally_and_a_zero_is_written(folder: Path) -> None:
    tallies = read_rows(folder, "tallies")
    tallied = {row["sample"] for row in tallies}
    assert not tallied & set(UNWASHED)
    assert {row["sample"] for row in read_rows(folder, "samples")} - tallied == set(
        UNWASHED
    )
    assert {"all"} == {row["class"] for row in tallies if row["sample"] == "blank-1"}


def test_every_drawn_thing_has_its_role(folder: Path) -> None:
    drawn = json.loads((folder / "ground.geojson").read_text(encoding="utf-8"))
    roles = [one["properties"]["role"] for one in drawn["features"]]
    assert roles == [
        "centerline",
        "water",
        "tributary",
        "tributary",
        "boundary",
        "worked",
        "note",
    ]
    longitude, latitude = drawn["features"][0]["geometry"]["coordinates"][0]
    assert -148.0 < longitude < -146.0
    assert 47.0 < latitude < 48.5


def test_the_line_that_was_cut_out_is_all_but_barren(folder: Path) -> None:
    colors = {"H": 0, "K": 0}
    for row in read_rows(folder, "tallies"):
        if row["sample"][0] in colors:
            colors[row["sample"][0]] += int(row["colors"])
    assert colors["K"] < 0.25 * colors["H"]


def test_digs_that_stopped_short_have_no_sample_below(folder: Path) -> None:
    short = {name for name, (why, _) in STOPPED.items() if why != "clay"}
    for row in read_rows(folder, "samples"):
        if row["dig"] in short:
            assert not row["sample"].endswith("-r")


def test_two_streaks_join_and_a_third_joins_them() -> None:
    at = {streak.name: streak for streak in STREAKS}
    upper = np.array([96.0])
    lower = np.array([159.9])
    npt.assert_allclose(at["left"].middle(upper), at["right"].middle(upper), atol=1.0)
    npt.assert_allclose(at["side"].middle(lower), at["middle"].middle(lower), atol=1.1)
    apart = at["left"].middle(np.array([20.0])) - at["right"].middle(np.array([20.0]))
    assert apart[0] > 8.0


def test_gold_is_background_between_streaks_and_none_is_negative() -> None:
    s_m, n_m = np.meshgrid(np.linspace(0, 215, 67), np.linspace(-12, 12, 49))
    for horizon in ("bedrock", "false-1"):
        gold, size = accumulation_mg_m2(s_m, n_m, horizon)
        assert gold.min() > 0.0
        assert size.min() > 0.1
    gold, _ = accumulation_mg_m2(np.array([20.0]), np.array([0.9]), "bedrock")
    npt.assert_allclose(gold, BACKGROUND_MG_M2, rtol=0.05)


def test_clay_lies_above_bedrock_wherever_it_is() -> None:
    s_m, n_m = np.meshgrid(np.linspace(0, 215, 67), np.linspace(-12, 12, 49))
    clay, bedrock = clay_depth_m(s_m, n_m), bedrock_depth_m(s_m, n_m)
    there = np.isfinite(clay)
    assert np.all(clay[there] < bedrock[there] - 0.1)
    assert bedrock.max() < 1.3


def test_samples_down_a_wall_hold_all_gold_of_the_contact() -> None:
    """Grade times thickness, summed from 0.5 m above to 0.12 m below bedrock."""
    place = np.array([120.0]), np.array([-0.6])
    gold, _ = accumulation_mg_m2(*place, "bedrock")
    depth = float(bedrock_depth_m(*place)[0])
    edges = np.linspace(depth - 0.5, depth + 0.12, 9)
    summed = sum(
        grade_mg_m3(120.0, -0.6, top_m=top, bottom_m=bottom)[0] * (bottom - top)
        for top, bottom in pairwise(edges)
    )
    npt.assert_allclose(summed, gold[0] + 0.8 * 0.62, rtol=1e-9)


def test_panning_finds_the_true_grade_on_average() -> None:
    """500 mg/m3 in 0.04 m3 is 20 mg, less the share of the fine colors lost."""
    rng = np.random.default_rng(1)
    found = [
        pan_sample(rng, grade_mg_m3=500.0, bank_m3=0.04, color_mm=0.7).whole_mg
        for _ in range(600)
    ]
    npt.assert_allclose(np.mean(found), 20.0, rtol=0.07)
    npt.assert_allclose(FLAKE_MG, np.pi / 40.0 * 17.0, rtol=1e-3)


def test_the_surface_falls_downstream_and_rises_to_both_sides() -> None:
    surface = shape_surface(np.random.default_rng(0))
    line = draw_centerline()
    along = read_heights(surface, *line.to_map([10.0, 75.0, 140.0, 205.0], [0.0] * 4))
    assert np.all(np.diff(along) < 0.0)
    assert along[0] - along[-1] > 2.0
    across = read_heights(surface, *line.to_map([130.0] * 3, [-35.0, 0.0, 40.0]))
    assert min(across[0], across[2]) > across[1] + 3.0


def test_the_side_creek_falls_to_its_mouth() -> None:
    surface = shape_surface(np.random.default_rng(0))
    east, north = side_creek()
    heights = read_heights(surface, east, north)
    assert heights[0] > heights[-1] + 3.0
    assert draw_centerline().to_valley(east[-1:], north[-1:])[1][0] == pytest.approx(
        -13.0, abs=0.1
    )


def test_lines_are_wide_enough_for_every_streak() -> None:
    for streak in STREAKS:
        inside = [
            s_m for _, s_m, _ in LINES if streak.s_m[0] + 20 < s_m < streak.s_m[-1]
        ]
        middles = streak.middle(np.array(inside))
        assert np.all(middles < max(ACROSS_M))
        assert np.all(middles > min(ACROSS_M) - 0.5)


def test_the_field_log_is_read_without_a_refusal(folder: Path) -> None:
    read = read_fieldlog(folder)
    assert read.refusals == ()
    assert len(read.log.digs) == len(read_rows(folder, "digs"))
    assert len(read.log.samples) == len(read_rows(folder, "samples"))
    assert [one.kind for one in read.log.attachments] == ["elevation"]
    assert all(dig.easting_m is not None for dig in read.log.digs)


def test_it_is_framed_with_its_centerline_and_its_surface(folder: Path) -> None:
    """Digs lie where they were meant to, within the receiver's error."""
    reading = Reading(
        book=BookName(name="invented", id="demo"),
        revision="1",
        log=read_fieldlog(folder).log,
        made_at="2025-08-01T00:00:00+00:00",
    )
    ground = show_ground(reading)
    assert ground.centerline is not None
    assert not ground.centerline.proposed
    middle = next(one for one in ground.digs if one.dig == "E5")
    assert middle.s_m == pytest.approx(95.0, abs=2.0)
    assert middle.n_m == pytest.approx(0.0, abs=2.0)
    assert middle.surface_m == pytest.approx(640.0, abs=2.0)
    assert set(ground.unwashed) == set(UNWASHED)


@pytest.mark.stories
def test_the_hidden_truth_lies_within_what_the_answers_say(folder: Path) -> None:
    """Gold of the cut, by the formulas, lies in the 80 % interval of the answer.

    The merges that were hidden are found, and the clay carries a streak of its own.
    """
    reading = Reading(
        book=BookName(name="invented", id="demo"),
        revision="1",
        log=read_fieldlog(folder).log,
        made_at="2025-08-01T00:00:00+00:00",
    )
    answer = weigh_worth(reading)
    assert answer.cut is not None
    assert answer.gold_g is not None
    step_s, step_n = 0.5, 0.25
    s_m, n_m = np.meshgrid(
        np.arange(5.0, 210.0, step_s), np.arange(-14.0, 14.0, step_n), indexing="ij"
    )
    east, north = draw_centerline().to_map(s_m.ravel(), n_m.ravel())
    degrees = GroundMap(CRS).to_degrees(east, north)
    cut = shapely.geometry.shape(answer.cut.polygon)
    inside = shapely.contains_xy(cut, *degrees).reshape(s_m.shape)
    on_bedrock, _ = accumulation_mg_m2(s_m, n_m, "bedrock")
    on_clay, _ = accumulation_mg_m2(s_m, n_m, "false-1")
    on_clay = np.where(np.isfinite(clay_depth_m(s_m, n_m)), on_clay, 0.0)
    true_g = ((on_bedrock + on_clay) * inside).sum() * step_s * step_n / 1000.0
    assert answer.gold_g.p10 < true_g < answer.gold_g.p90
    traced = trace_streaks(reading)
    assert sum(merge.probability > 0.5 for merge in traced.merges) == 2
    assert any(streak.horizon == "false-1" for streak in traced.streaks)
    assert plan_digs(reading, 1.0).digs
