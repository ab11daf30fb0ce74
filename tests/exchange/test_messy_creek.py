"""The invented example log, messy as people type, must be taken whole."""

from pathlib import Path

import pytest

from pennyweight.exchange.fieldlog import FieldLogRead, read_fieldlog
from pennyweight.exchange.fieldlogwriting import write_fieldlog

EXAMPLE = Path(__file__).parents[2] / "examples" / "messy-creek"


@pytest.fixture(scope="module")
def creek() -> FieldLogRead:
    return read_fieldlog(EXAMPLE)


def test_the_example_says_that_it_is_invented() -> None:
    assert "invented" in (EXAMPLE / "README.md").read_text()
    assert "(invented)" in (EXAMPLE / "ground.toml").read_text()


def test_all_of_it_is_taken(creek: FieldLogRead) -> None:
    log = creek.log
    assert (len(log.digs), len(log.layers), len(log.samples)) == (5, 4, 9)
    assert (len(log.tallies), len(log.weighings), len(log.waypoints)) == (11, 1, 2)
    assert creek.refusals == ()


def test_what_is_odd_or_unknown_is_named(creek: FieldLogRead) -> None:
    assert sorted(creek.ignored_columns) == [
        "days.csv: Mosquitoes",
        "digs.csv: Mood",
        "ground.toml: dog",
    ]
    assert [doubt.where for doubt in creek.doubts] == [
        "ground.toml, crs",
        "samples.csv",
        "weighings.csv, column weighed_gr",
    ]


def test_feet_inches_gallons_and_grains_are_inside_units(creek: FieldLogRead) -> None:
    """30 in = 0.762 m, 10 US gal = 37.854118 l, 0.31 grain = 20.0877 mg."""
    samples = {sample.sample: sample for sample in creek.log.samples}
    assert samples["004"].top_m == pytest.approx(0.762)
    assert samples["005"].volume_m3 == pytest.approx(0.037854118)
    assert samples["004"].weighed_mg == pytest.approx(20.0876621)
    assert creek.log.ground.pan_volume_m3 == pytest.approx(0.0056781177)


def test_every_class_has_its_one_form(creek: FieldLogRead) -> None:
    found = [tally.size_class for tally in creek.log.tallies if tally.sample == "002"]
    assert found == ["0.25-0.5", "0.5-1", "1-2", "<0.25"]


def test_zero_unwashed_and_unknown_are_three_things(creek: FieldLogRead) -> None:
    tallied = {tally.sample: tally.colors for tally in creek.log.tallies}
    assert tallied["001"] == 0
    assert "006" not in tallied
    assert next(s for s in creek.log.samples if s.sample == "008").volume_m3 is None


def test_the_taped_digs_lie_on_their_line(creek: FieldLogRead) -> None:
    """20 ft and 40 ft from the peg are 6.096 m and 12.192 m; one 1.5 ft to the left."""
    digs = {dig.dig: dig for dig in creek.log.digs}
    east = [digs[name].easting_m or 0.0 for name in ("A1", "A2", "A3")]
    north = [digs[name].northing_m or 0.0 for name in ("A1", "A2", "A3")]
    first = ((east[1] - east[0]) ** 2 + (north[1] - north[0]) ** 2) ** 0.5
    second = ((east[2] - east[0]) ** 2 + (north[2] - north[0]) ** 2) ** 0.5
    assert first == pytest.approx(6.096)
    assert second == pytest.approx((12.192**2 + 0.4572**2) ** 0.5)


def test_it_comes_back_as_it_was(creek: FieldLogRead, tmp_path: Path) -> None:
    again = read_fieldlog(write_fieldlog(creek.log, tmp_path / "creek.zip"))
    assert again.log == creek.log
