"""An empty field log is one that the tool itself takes in, and says what it holds."""

import io
import zipfile
from pathlib import Path

import pytest

from pennyweight.exchange.emptylog import describe, empty_fieldlog, heading_for
from pennyweight.exchange.fieldlog import read_fieldlog
from pennyweight.exchange.logtables import TABLES
from pennyweight.units import FEET_AND_YARDS, METRIC, Measures


def texts(measures: Measures) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(empty_fieldlog(measures))) as packed:
        return {one: packed.read(one).decode("utf-8-sig") for one in packed.namelist()}


@pytest.mark.parametrize("measures", [METRIC, FEET_AND_YARDS])
def test_an_empty_log_is_taken_in(tmp_path: Path, measures: Measures) -> None:
    path = tmp_path / "empty.zip"
    path.write_bytes(empty_fieldlog(measures))
    read = read_fieldlog(path)
    assert read.log.digs == ()
    assert read.ignored_columns == ()


def test_headings_are_in_the_units_of_the_reader() -> None:
    assert "top_m,bottom_m" in texts(METRIC)["samples.csv"]
    feet = texts(FEET_AND_YARDS)
    assert "top_ft,bottom_ft" in feet["samples.csv"]
    assert "pan_volume_gal" in feet["samples.csv"]
    assert "easting_m,northing_m" in feet["digs.csv"]


def test_every_column_is_described_and_none_by_nothing() -> None:
    readme = texts(METRIC)["README.txt"]
    for table in TABLES:
        assert table.file in readme
        for column in table.columns:
            assert f"{heading_for(column)}: {describe(column)}" in readme
            assert describe(column)


def test_equal_logs_are_equal_files() -> None:
    assert empty_fieldlog() == empty_fieldlog()
