"""High water on the terminal, and its rasters in a folder."""

import json
from pathlib import Path

import numpy as np
import rasterio

from pennyweight.cli.tellinghighwater import tell_highwater, write_rasters
from pennyweight.exchange.rasters import read_elevation
from pennyweight.units import METRIC
from tests.answers.made_creek import made_answer
from tests.cli.conftest import Call


def test_without_a_model_the_answer_is_given_and_says_so(
    call: Call, read_book: Path
) -> None:
    said = call("highwater", read_book, "--json")
    assert said.code == 0
    printed = json.loads(said.out)
    assert printed["rasters"] is None
    assert printed["discharge_m3_s"] is None
    assert any("no elevation model" in one for one in printed["cautions"])


def test_a_folder_for_rasters_stays_empty_without_a_flood(
    call: Call, read_book: Path, tmp_path: Path
) -> None:
    said = call("highwater", read_book, "--out", tmp_path / "maps")
    assert said.code == 0
    assert not (tmp_path / "maps").exists()


def test_the_rasters_lie_on_the_ground_and_hold_a_band_a_flood(tmp_path: Path) -> None:
    answer = made_answer()
    written = write_rasters(answer, tmp_path)
    assert written is not None
    assert set(written) == {"depth", "speed", "shear", "drop"}
    with rasterio.open(tmp_path / written["depth"]) as raster:
        assert raster.count == len(answer.floods)
        assert raster.crs.to_epsg() == 32610
        deepest = raster.read(raster.count)
    assert np.nanmax(deepest) > 0.3
    drops = read_elevation((tmp_path / written["drop"]).read_bytes(), "EPSG:32610")
    assert answer.water is not None
    assert drops.region == answer.water.model.region
    assert 0.0 <= np.nanmin(drops.elevation_m) <= np.nanmax(drops.elevation_m) <= 1.0


def test_a_person_reads_verdict_stones_floods_drops_and_cautions() -> None:
    lines = tell_highwater(made_answer(), METRIC)
    text = "\n".join(lines)
    assert lines[0].startswith("The largest stones")
    for heading in (
        "Why there, and what to look for:",
        "Bedrock that may hold gold:",
        "Before you act on it:",
    ):
        assert heading in text
