"""Whatever a log holds comes back as it was, through a folder and through a .zip."""

import hashlib
import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pennyweight.errors import CallError
from pennyweight.exchange.cells import to_field_unit
from pennyweight.exchange.columns import Column, Table
from pennyweight.exchange.coordinates import open_grid, tape_in_direction
from pennyweight.exchange.fieldlog import read_fieldlog
from pennyweight.exchange.fieldlogwriting import fieldlog_files, write_fieldlog
from pennyweight.exchange.logtables import (
    BUCKETS,
    CLEANUPS,
    DAYS,
    DIGS,
    FAIR_VOLUME,
    GRAINS,
    LAYERS,
    PANTESTS,
    ROCKS,
    SAMPLES,
    TALLIES,
    WEIGHINGS,
)
from pennyweight.records import (
    Attachment,
    Cleanup,
    Dig,
    Feature,
    Ground,
    Log,
    Record,
    Sample,
    Tally,
    Waypoint,
)
from pennyweight.units import QUANTITIES

CRS = "EPSG:32633"
TEXT = st.text(
    st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from(',;"\t\n=+-@'),
    min_size=1,
    max_size=12,
).filter(lambda text: bool(text) and text == text.strip())
NAME = st.from_regex(r"[A-Z0-9][A-Za-z0-9.-]{0,5}", fullmatch=True)
DATES = st.dates().map(lambda date: date.isoformat())
CLASSES = st.sampled_from(
    ["0.25-0.5", "1-2", "<0.25", ">2", "20/40 mesh", "No.1", "No.3", "all"]
)
PLACE = {"easting", "northing", "longitude", "latitude"}
TAPE = {"peg", "toward", "along", "across", "bearing_deg"}


def column(table: Table, name: str) -> Column:
    """Return a column of a table by its name."""
    return next(one for one in table.columns if one.name == name)


@st.composite
def measured(draw: st.DrawFn, one: Column) -> tuple[float, dict[str, str]]:
    """Return a value, and what was typed where that was another unit."""
    low = max(one.least or 0.0, 0.0)
    high = 100.0 if one.most is None else one.most
    if one.possible is not None:
        low, high = max(low, one.possible.low), min(high, 0.9 * one.possible.high)
    unit = draw(st.sampled_from(tuple(QUANTITIES[one.quantity])))
    if unit == one.unit or one.most is not None:
        return draw(st.floats(low, high).map(lambda value: value + 0.001)), {}
    text = f"{draw(st.integers(1, 10_000)) / 100:g}"
    value = to_field_unit(float(text), unit, one)
    assume(one.possible is None or one.possible.holds(value))
    return value, {f"{one.name}_{unit}": text}


def plain_value(one: Column) -> st.SearchStrategy[Any]:
    """Return the values of a column that is not measured."""
    low = one.least if one.least is not None else (one.above or 0.0) + 1e-6
    high = one.most if one.most is not None else 1e6
    if one.possible is not None:
        low, high = max(low, one.possible.low), min(high, one.possible.high)
    values: dict[str, st.SearchStrategy[Any]] = {
        "text": TEXT,
        "choice": st.sampled_from(one.allowed or ("x",)),
        "number": st.floats(low, high),
        "count": st.integers(int(low), 10_000),
        "date": DATES,
        "yes_no": st.booleans(),
        "class": CLASSES,
    }
    return values[one.kind]


@st.composite
def records(
    draw: st.DrawFn, table: Table, skip: frozenset[str], known: dict[str, Any]
) -> Any:
    """Return a record of a table, its columns drawn but for those given."""
    fields: dict[str, Any] = dict(known)
    typed: dict[str, str] = dict(fields.pop("typed", {}))
    for one in table.columns:
        if not one.field or one.name in skip or one.field in fields:
            continue
        if one.need == "optional" and draw(st.booleans()):
            continue
        if one.kind == "measured":
            fields[one.field], said = draw(measured(one))
            typed |= said
        else:
            fields[one.field] = draw(plain_value(one))
    extra = draw(st.dictionaries(TEXT.map(lambda text: f"x {text}"), TEXT, max_size=2))
    return table.record(**fields, typed=typed, extra=extra)


@st.composite
def digs(draw: st.DrawFn) -> list[Any]:
    """Return digs placed in every way there is; the first two carry the tapes."""
    names = draw(st.lists(NAME, min_size=2, max_size=5, unique=True))
    grid = open_grid(CRS)
    found: list[Any] = []
    for at, name in enumerate(names):
        how = draw(st.sampled_from(["grid", "degrees"] + ["tape"] * (at > 1)))
        fields: dict[str, Any] = {}
        if how == "grid":
            fields["easting_m"] = draw(st.floats(4e5, 6e5))
            fields["northing_m"] = draw(st.floats(5e6, 5.2e6))
        elif how == "degrees":
            degrees = (draw(st.floats(12.0, 18.0)), draw(st.floats(45.0, 47.0)))
            east, north = grid.to_grid(*degrees)
            fields |= {"easting_m": float(east), "northing_m": float(north)}
            pair = zip(("longitude", "latitude"), degrees, strict=True)
            fields["typed"] = {key: repr(value) for key, value in pair}
        else:
            fields |= taped(found[0], found[1], draw(st.floats(-50, 50)))
        skip = frozenset(PLACE | TAPE)
        found.append(draw(records(DIGS, skip, {"dig": name, **fields})))
    return found


def taped(peg: Dig, mark: Dig, along_m: float) -> dict[str, Any]:
    """Return the fields of a dig taped from one dig toward another."""
    assert peg.easting_m is not None
    assert peg.northing_m is not None
    assert mark.easting_m is not None
    assert mark.northing_m is not None
    away = (mark.easting_m - peg.easting_m, mark.northing_m - peg.northing_m)
    length = (away[0] ** 2 + away[1] ** 2) ** 0.5
    if length == 0.0:
        return {"easting_m": peg.easting_m, "northing_m": peg.northing_m + 1.0}
    east, north = tape_in_direction(
        (peg.easting_m, peg.northing_m),
        (away[0] / length, away[1] / length),
        along_m=along_m,
        across_m=2.0,
    )
    return {
        "peg": peg.dig,
        "toward": mark.dig,
        "along_m": along_m,
        "across_m": 2.0,
        "easting_m": float(east),
        "northing_m": float(north),
    }


@st.composite
def samples(draw: st.DrawFn, names: list[str]) -> list[Any]:
    """Return samples of the digs, each with what its way of taking needs."""
    found: list[Any] = []
    for name in draw(st.lists(NAME, max_size=4, unique=True)):
        taken = draw(st.sampled_from(column(SAMPLES, "taken").allowed))
        top_cm = draw(st.integers(0, 100))
        fields: dict[str, Any] = {"top_m": top_cm / 100, "bottom_m": top_cm / 100 + 0.1}
        fields["typed"] = {"top_cm": str(top_cm)}
        if draw(st.booleans()):
            fields |= {"volume_m3": draw(st.floats(1e-3, 9.0)), "state": "loose"}
        elif taken in FAIR_VOLUME:
            fields |= {"pans": 4.0}
        repeats: bool = draw(st.booleans())
        if found and repeats:
            fields["duplicate_of"] = found[0].sample
        skip = frozenset({"volume", "state", "pans", "washed_part", "duplicate_of"})
        fields |= {"sample": name, "dig": draw(st.sampled_from(names)), "taken": taken}
        found.append(draw(records(SAMPLES, skip, fields)))
    return found


def numbered(rows: list[Any], by: str = "") -> tuple[Any, ...]:
    """Return rows numbered in order, within one name or all together."""
    counts: dict[str, int] = {}
    found = []
    for row in rows:
        key = getattr(row, by) if by else ""
        counts[key] = counts.get(key, 0) + 1
        found.append(row.__class__(**{**fields_of(row), "number": counts[key]}))
    return tuple(found)


def fields_of(row: Any) -> dict[str, Any]:
    """Return the fields of a record."""
    return {name: getattr(row, name) for name in row.__dataclass_fields__}


def keyed(rows: list[Any], *names: str) -> tuple[Any, ...]:
    """Return rows with each key once."""
    found: dict[Any, Any] = {}
    for row in rows:
        found.setdefault(tuple(getattr(row, name) for name in names), row)
    return tuple(found.values())


@st.composite
def logs(draw: st.DrawFn) -> Log:
    """Return a log of everything that tables hold."""
    some_digs = draw(digs())
    names = [dig.dig for dig in some_digs]
    some_samples = draw(samples(names))
    ids = [sample.sample for sample in some_samples]

    def several(table: Table, skip: tuple[str, ...] = (), **fields: Any) -> list[Any]:
        row = records(table, frozenset(skip), fields)
        found: list[Any] = draw(st.lists(row, max_size=3))
        return found

    depths = ("dig", "top", "bottom")
    layers = several(LAYERS, depths, dig=names[0], top_m=0.1, bottom_m=0.4)
    rocks = several(ROCKS, (*PLACE, "dig"), dig=names[-1], number=0)
    of_one = {"sample": ids[0]} if ids else {}
    weighed = several(WEIGHINGS, ("samples",), samples=tuple(ids)) if ids else []
    hours = ("hours", "dug_hours")
    return Log(
        ground=Ground(crs=CRS, name=draw(st.just("") | TEXT), swell=0.25),
        digs=tuple(some_digs),
        layers=keyed(layers, "dig", "top_m"),
        samples=tuple(some_samples),
        tallies=keyed(several(TALLIES, **of_one), "size_class") if ids else (),
        weighings=keyed(weighed, "weighing")[:1],
        grains=numbered(several(GRAINS, number=0, **of_one), "sample") if ids else (),
        rocks=numbered(rocks),
        days=keyed(several(DAYS, hours), "date", "by"),
        cleanups=keyed(several(CLEANUPS), "cleanup"),
        pantests=numbered(several(PANTESTS, ("found",), found=1, number=0)),
        buckets=numbered(several(BUCKETS, bank_m3=0.1, pans=3.0, number=0)),
    )


@pytest.mark.law
@given(log=logs())
@settings(max_examples=50)
def test_any_log_comes_back_as_it_was(log: Log) -> None:
    with TemporaryDirectory() as folder:
        for name in ("log", "log.zip"):
            path = write_fieldlog(log, Path(folder) / name)
            assert read_fieldlog(path).log == log


def full_log(**changes: Any) -> Log:
    """Return a log with a drawing, a waypoint and an attached grid; invented."""
    grid = b"ncols 1\nnrows 1\nxllcorner 14.4\nyllcorner 46\ncellsize 0.2\n300\n"
    line = {"type": "LineString", "coordinates": [[14.5, 46.05], [14.51, 46.05]]}
    parts: dict[str, Any] = {
        "ground": Ground(crs=CRS, log_id="b7", name="Upper bench"),
        "digs": (Dig(dig="T1", easting_m=461318.75, northing_m=5099724.37),),
        "features": (Feature(number=1, role="centerline", geometry=line),),
        "waypoints": (Waypoint(name="camp", longitude=14.5, latitude=46.05),),
        "attachments": (
            Attachment(
                file="dem.asc",
                kind="elevation",
                media_type="text/plain",
                sha256=hashlib.sha256(grid).hexdigest(),
                content=grid,
                dig="T1",
            ),
        ),
    }
    return Log(**{**parts, **changes})


def test_drawings_waypoints_and_attached_files_come_back(tmp_path: Path) -> None:
    log = full_log()
    assert read_fieldlog(write_fieldlog(log, tmp_path / "log.zip")).log == log


def test_a_shared_log_carries_its_identity(tmp_path: Path) -> None:
    write_fieldlog(full_log(), tmp_path / "log")
    assert 'log_id = "b7"' in (tmp_path / "log" / "ground.toml").read_text()


def test_the_same_log_gives_the_same_bytes(tmp_path: Path) -> None:
    first = write_fieldlog(full_log(), tmp_path / "a.zip").read_bytes()
    assert write_fieldlog(full_log(), tmp_path / "b.zip").read_bytes() == first


def test_typed_text_that_no_longer_holds_is_not_written() -> None:
    """After an edit on the page, the old text must not win over the new value."""
    dig = Dig(
        dig="T1",
        easting_m=461400.0,
        northing_m=5099724.0,
        bottom_m=2.0,
        typed={"bottom_ft": "3", "longitude": "14.5", "latitude": "46.05"},
    )
    rows = fieldlog_files(full_log(digs=(dig,)))["digs.csv"].decode().splitlines()
    assert rows == ["dig,easting_m,northing_m,bottom_m", "T1,461400,5099724,2"]


@pytest.mark.parametrize("text", ["deep", "14.5 E", "999"])
def test_typed_text_that_is_no_number_is_not_written(text: str) -> None:
    dig = Dig(
        dig="T1",
        easting_m=461400.0,
        northing_m=5099724.0,
        bottom_m=2.0,
        typed={"bottom_ft": text, "longitude": text, "latitude": "46.05"},
    )
    rows = fieldlog_files(full_log(digs=(dig,)))["digs.csv"].decode().splitlines()
    assert rows[1] == "T1,461400,5099724,2"


def test_a_position_in_the_systems_own_feet_is_written_in_feet(tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "ground.toml").write_text('crs = "EPSG:2230"\n')
    (folder / "digs.csv").write_text(
        "dig,easting_ft,northing_ft\nT1,6500000.5,1900000\n"
    )
    log = read_fieldlog(folder).log
    text = fieldlog_files(log)["digs.csv"].decode()
    assert text == "dig,easting_ft,northing_ft\nT1,6500000.5,1900000\n"


def test_feet_without_a_system_are_written_in_meters() -> None:
    dig = Dig(dig="T1", easting_m=1.0, northing_m=2.0, typed={"easting_ft": "3"})
    log = Log(digs=(dig,))
    assert fieldlog_files(log)["digs.csv"] == b"dig,easting_m,northing_m\nT1,1,2\n"


def test_rocks_typed_in_degrees_are_written_in_degrees(tmp_path: Path) -> None:
    (tmp_path / "rocks.csv").write_text("kind,longitude,latitude\nfloat,14.5,46.05\n")
    log = read_fieldlog(tmp_path / "rocks.csv").log
    text = fieldlog_files(log)["rocks.csv"].decode()
    assert text == "longitude,latitude,kind\n14.5,46.05,float\n"


def test_a_tape_whose_peg_was_moved_keeps_the_position_of_the_record() -> None:
    peg = Dig(dig="A", easting_m=461000.0, northing_m=5099000.0)
    hung = Dig(
        dig="B",
        peg="A",
        along_m=10.0,
        bearing_deg=90.0,
        easting_m=461500.0,
        northing_m=5099000.0,
    )
    text = fieldlog_files(full_log(digs=(peg, hung)))["digs.csv"].decode()
    assert "B,461500,5099000,A,10,90" in text


def test_classes_that_spreadsheets_take_for_dates_are_written_safely() -> None:

    log = full_log(
        samples=(Sample(sample="S1", dig="T1", top_m=0.0, bottom_m=1.0, pans=3.0),),
        tallies=(Tally(sample="S1", size_class="1-2", colors=4),),
    )
    assert fieldlog_files(log)["tallies.csv"] == b"sample,class,colors\nS1,1 to 2,4\n"


def test_a_waypoint_file_never_takes_the_name_of_an_attached_one() -> None:
    kept = Attachment(
        file="waypoints.gpx",
        kind="track",
        media_type="application/gpx+xml",
        sha256="",
        content=b"<gpx/>",
    )
    files = fieldlog_files(full_log(attachments=(kept,)))
    assert files["waypoints.gpx"] == b"<gpx/>"
    assert b"camp" in files["waypoints-2.gpx"]


def test_a_name_never_leads_out_of_the_folder() -> None:
    kept = Attachment(
        file="..\\..\\evil.jpg", kind="photo", media_type="", sha256="", content=b""
    )
    assert "evil.jpg" in fieldlog_files(full_log(attachments=(kept,)))


def test_an_empty_folder_may_be_filled_but_a_full_one_is_left(tmp_path: Path) -> None:
    (tmp_path / "log").mkdir()
    write_fieldlog(full_log(), tmp_path / "log")
    with pytest.raises(CallError, match="'log' is there already"):
        write_fieldlog(full_log(), tmp_path / "log")


def test_a_zip_is_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "log.zip"
    path.write_bytes(b"old")
    write_fieldlog(full_log(), path)
    assert zipfile.is_zipfile(path)
    assert [one.name for one in tmp_path.iterdir()] == ["log.zip"]


def test_a_missing_folder_is_a_wrong_call(tmp_path: Path) -> None:
    with pytest.raises(CallError, match=r"folder of 'log\.zip' is not there"):
        write_fieldlog(full_log(), tmp_path / "gone" / "log.zip")


def test_a_folder_that_cannot_be_finished_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_path: Path, _content: bytes) -> int:
        msg = f"no space for {_path.name}"
        raise OSError(msg)

    monkeypatch.setattr(Path, "write_bytes", fail)
    with pytest.raises(OSError, match="no space"):
        write_fieldlog(full_log(), tmp_path / "log")
    assert list(tmp_path.iterdir()) == []


def test_a_zip_that_cannot_be_finished_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.zip"
    path.write_bytes(b"old")

    def fail(self: Path, _target: Path) -> Path:
        msg = f"no way to {self.suffix}"
        raise OSError(msg)

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="no way"):
        write_fieldlog(full_log(), path)
    assert [one.read_bytes() for one in tmp_path.iterdir()] == [b"old"]


def test_a_cleanup_of_typed_ounces_is_written_in_ounces() -> None:
    one: Record = Cleanup(
        cleanup="C1", weighed_mg=15551.7384, typed={"weighed_ozt": "0.5"}
    )
    text = fieldlog_files(full_log(cleanups=(one,)))["cleanups.csv"]
    assert text == b"cleanup,weighed_ozt\nC1,0.5\n"
