"""The field log sentence by sentence: what is taken, what is refused, what is told."""

import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pennyweight.errors import CallError, RefusedError
from pennyweight.exchange.fieldlog import read_fieldlog
from pennyweight.records import Dig, Ground, Log, Sample, Weighing

Files = dict[str, str | bytes]
SAMPLE = "sample,dig,top_m,bottom_m,"


def one(found: Any) -> Any:
    (only,) = found
    return only


def test_every_file_of_the_log_becomes_its_records(
    read_log: Callable[..., Any], base: Files
) -> None:
    base |= {
        "layers.csv": "dig,top_m,bottom_m,material,packing,matrix,wet,worked,"
        "largest_clast_cm,clast_shape,oversize_percent,stain,base,note\n"
        "T1,0,0.5,gravel,firm,sandy,damp,virgin,35,round,20,rusty,clay,hard digging\n",
        "tallies.csv": "sample,class,colors,mg\nS1,0.25-0.5,3,0.2\nS1,all,0,\n",
        "weighings.csv": "weighing,samples,weighed_g,colors,fineness,note\n"
        "W1,S1 S2,0.25,12,880,both\n",
        "grains.csv": "sample,long_mm,middle_mm,short_mm,mg,roundness,rim,attached,"
        "note\nS1,1.2,0.9,0.2,1.5,0.4,yes,quartz,\nS1,0.8,,,,rounded,,,\n"
        "S2,0.5,,,,,,,\n",
        "days.csv": "date,by,hours,dug_hours,weather,water_level,cost,note\n"
        "2026-07-01,A,8,5.5,rain,high,40,\n",
        "cleanups.csv": "cleanup,area,bank_volume_yd3,weighed_ozt,fineness,date,"
        "hours,note\nC1,Main,10,0.5,880,2026-07-02,6,\n",
        "pantests.csv": "by,class,put_in,found\nA,<0.25,20,13\nA,0.25-0.5,20,18\n",
        "buckets.csv": "bank_l,loose_l,pans\n100,125,\n,20,2\n",
    }
    log = read_log(base).log
    layer = one(log.layers)
    assert (layer.largest_clast_m, layer.oversize_percent) == (0.35, 20.0)
    assert (layer.material, layer.base, layer.worked) == ("gravel", "clay", "virgin")
    assert [(t.size_class, t.colors, t.mg) for t in log.tallies] == [
        ("0.25-0.5", 3, 0.2),
        ("all", 0, None),
    ]
    weighing = one(log.weighings)
    assert (weighing.samples, weighing.weighed_mg) == (("S1", "S2"), 250.0)
    assert [(g.sample, g.number) for g in log.grains] == [
        ("S1", 1),
        ("S1", 2),
        ("S2", 1),
    ]
    assert log.grains[0].attached == "quartz"
    assert one(log.days).dug_hours == 5.5
    assert one(log.cleanups).bank_volume_m3 == pytest.approx(7.64554857984)
    assert [(p.size_class, p.number) for p in log.pantests] == [
        ("<0.25", 1),
        ("0.25-0.5", 2),
    ]
    assert [(b.bank_m3, b.loose_m3, b.pans) for b in log.buckets] == [
        (0.1, 0.125, None),
        (None, 0.02, 2.0),
    ]


def test_every_column_of_a_sample_is_read(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["samples.csv"] = (
        f"{SAMPLE}taken,method,volume_l,state,screen_mm,oversize_l,"
        "boulders_left_out_l,washed_part,weighed_mg,balance_mg,black_sand_g,fineness,"
        "duplicate_of,blank,date,by,note\n"
        "S1,T1,0,0.5,recut,pan,40,bank,12,4,6,0.5,0,1,20,870,,no,2026-07-01,A,ok\n"
        "S2,T2,0,0.5,,pan,40,loose,,,,,,,,,S1,yes,,,\n"
    )
    first, second = read_log(base).log.samples
    assert (first.taken, first.volume_m3, first.state) == ("recut", 0.04, "bank")
    assert (first.oversize_m3, first.boulders_left_out_m3) == (0.004, 0.006)
    assert (first.washed_part, first.weighed_mg, first.balance_mg) == (0.5, 0.0, 1.0)
    assert (first.black_sand_mg, first.fineness) == (20_000.0, 870.0)
    assert (second.taken, second.duplicate_of, second.blank) == ("channel", "S1", True)


def test_unwashed_is_not_zero_and_zero_is_not_unwashed(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["tallies.csv"] = "sample,class,colors\nS2,all,0\n"
    log = read_log(base).log
    assert log.samples[0].weighed_mg is None
    assert [tally.sample for tally in log.tallies] == ["S2"]
    assert log.tallies[0].colors == 0


@pytest.mark.parametrize(
    ("rest", "row", "column", "found", "expected"),
    [
        ("pans", "S3,T9,0,1,10", "dig", "T9", "a dig of digs.csv or of the book"),
        ("pans", "S3,T1,1,1,10", "bottom_m", "1 m", "below the top (1 m)"),
        ("pans", "S3,T1,1,0.5,10", "bottom_m", "0.5 m", "below the top (1 m)"),
        ("pans", "S3,T1,-1,1,10", "top_m", "-1", "a number of 0 m or more"),
        ("pans", "S3,T1,,1,10", "top_m", "", "depth that a channel sample"),
        ("pans", "S3,T1,0,1,0", "pans", "0", "a number above 0"),
        ("pans", "S3,T1,0,1,-2", "pans", "-2", "a number above 0"),
        ("volume_l,state", "S3,T1,0,1,0,bank", "volume_l", "0", "a number above 0"),
        ("volume_l,state", "S3,T1,0,1,-5,bank", "volume_l", "-5", "above 0"),
        ("volume_l,state", "S3,T1,0,1,5,", "state", "", "bank or loose"),
        ("volume_l,state", "S3,T1,0,1,,", "volume_l", "", "what was washed"),
        ("volume_l,state", "S3,T1,0,1,5,solid", "state", "solid", "one of bank, loose"),
        ("pans,state", "S3,T1,0,1,5,bank", "volume_m3", "", "pans are loose"),
        ("pans,washed_part", "S3,T1,0,1,5,0.5", "washed_part", "0.5", "beside volume"),
        ("pans,duplicate_of", "S3,T1,0,1,5,S9", "duplicate_of", "S9", "a sample of"),
        ("pans,duplicate_of", "S3,T1,0,1,5,S3", "duplicate_of", "S3", "than itself"),
        ("pans", "S1,T1,0,1,5", "sample", "S1", "row 2 has it already"),
    ],
)
def test_a_wrong_sample_is_refused_with_place_and_value(
    refuse_log: Callable[..., Any],
    base: Files,
    *,
    rest: str,
    row: str,
    column: str,
    found: str,
    expected: str,
) -> None:
    good = "10,loose" if rest == "volume_l,state" else "10" + "," * rest.count(",")
    base["samples.csv"] = f"{SAMPLE}{rest}\nS1,T1,0,0.5,{good}\n{row}\n"
    refusal = refuse_log(base)[0]
    assert (refusal.file, refusal.row) == ("samples.csv", 3)
    assert (refusal.column, refusal.found) == (column, found)
    assert expected in refusal.expected


@pytest.mark.parametrize("taken", ["channel", "bulk", "recut"])
def test_fair_samples_need_what_was_washed(
    refuse_log: Callable[..., Any], base: Files, taken: str
) -> None:
    base["samples.csv"] = f"{SAMPLE}taken\nS1,T1,0,0.5,{taken}\n"
    refusal = one(refuse_log(base))
    assert f"what was washed of a {taken} sample" in refusal.expected


@pytest.mark.parametrize("taken", ["grab", "crevice", "moss", "root", "loam"])
def test_other_samples_need_no_volume_and_no_depth(
    read_log: Callable[..., Any], base: Files, taken: str
) -> None:
    base["samples.csv"] = f"{SAMPLE}taken\nS1,T1,,,{taken}\n"
    sample = one(read_log(base).log.samples)
    assert (sample.taken, sample.top_m, sample.volume_m3) == (taken, None, None)


def test_a_volume_beside_pans_is_a_doubt(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["samples.csv"] = f"{SAMPLE}volume_l,state,pans\nS1,T1,0,0.5,50,loose,6\n"
    doubt = one(read_log(base).doubts)
    assert doubt.where == "samples.csv, S1"
    assert "a volume and 6 pans" in doubt.problem


@pytest.mark.parametrize(
    ("file", "text", "row", "column", "expected"),
    [
        ("layers.csv", "dig,top_m,bottom_m\nt1,0,1\n", 2, "dig", "(T1 is the n"),
        ("layers.csv", "dig,top_m,bottom_m\nT1,1,1\n", 2, "bottom_m", "below the top"),
        (
            "layers.csv",
            "dig,top_m,bottom_m\nT1,0,1\nT1,0.0,2\n",
            3,
            "dig",
            "each dig and top_m once; row 2 has it already",
        ),
        ("tallies.csv", "sample,class,colors\nS9,all,1\n", 2, "sample", "a sample of"),
        (
            "tallies.csv",
            "sample,class,colors\nS1,0.5-1,1\nS1,0.5 to 1,2\n",
            3,
            "sample",
            "row 2 has it already",
        ),
        ("tallies.csv", "sample,class,colors\nS1,all,-1\n", 2, "colors", "or more"),
        (
            "tallies.csv",
            "sample,class,colors\nS1,2-Jan,1\n",
            2,
            "class",
            "turned it into a date",
        ),
        (
            "weighings.csv",
            "weighing,samples,weighed_mg\nW1,S1 S2,5\nW2,S2,1\n",
            3,
            "samples",
            "weighing W1 (row 2) has it",
        ),
        (
            "weighings.csv",
            "weighing,samples,weighed_mg\nW1,S1 S1,5\n",
            2,
            "samples",
            "each sample in one weighing",
        ),
        (
            "weighings.csv",
            "weighing,samples,weighed_mg\nW1,S7,5\n",
            2,
            "samples",
            "a sample of samples.csv",
        ),
        ("grains.csv", "sample,long_mm\nS-1,1\n", 2, "sample", "(S1 is the n"),
        ("rocks.csv", "dig,kind\nT7,boulder\n", 2, "dig", "a dig of"),
        (
            "days.csv",
            "date,by\n2026-07-01,A\n2026-07-01,A\n",
            3,
            "date",
            "each date and by once",
        ),
        ("days.csv", "date,hours,dug_hours\n2026-07-01,4,5\n", 2, "dug_hours", "4 h"),
        ("pantests.csv", "class,put_in,found\nall,5,6\n", 2, "found", "at most the 5"),
        ("buckets.csv", "bank_l,pans\n,5\n", 2, "bank_l", "two or three of bank"),
        ("cleanups.csv", "cleanup,hours\nC1,1\nC1,2\n", 3, "cleanup", "once"),
    ],
)
def test_a_wrong_row_of_any_file_is_refused_with_place_and_reason(
    refuse_log: Callable[..., Any],
    base: Files,
    *,
    file: str,
    text: str,
    row: int,
    column: str,
    expected: str,
) -> None:
    refusal = one(refuse_log(base | {file: text}))
    assert (refusal.file, refusal.row, refusal.column) == (file, row, column)
    assert expected in refusal.expected


def test_among_very_many_names_no_near_one_is_looked_for(
    refuse_log: Callable[..., Any], base: Files, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pennyweight.exchange.checks.MOST_COMPARED", 1)
    base["layers.csv"] = "dig,top_m,bottom_m\nT-1,0,1\n"
    assert one(refuse_log(base)).expected == "a dig of digs.csv or of the book"


def test_rows_without_a_key_are_refused_for_that_alone(
    refuse_log: Callable[..., Any], base: Files
) -> None:
    base["digs.csv"] = (
        "dig,easting_m,northing_m\n,5e5,5e6\n,5e5,5e6\nT1,5e5,5e6\nT2,5e5,5e6\n"
    )
    found = refuse_log(base)
    assert [(one.row, one.found) for one in found] == [(2, ""), (3, "")]


def test_all_wrong_rows_are_told_at_once_in_order(
    refuse_log: Callable[..., Any], base: Files
) -> None:
    base["ground.toml"] = 'crs = "EPSG:32633"\nswell = 2\n'
    base["digs.csv"] = "dig,easting_m,northing_m\nT1,5e5,5.1e6\nT2,x,5.1e6\n"
    base["samples.csv"] = f"{SAMPLE}pans\nS1,T1,1,0,10\nS2,T2,0,1,-1\n"
    base["tallies.csv"] = "sample,class,colors\nS1,all,x\nS9,all,1\n"
    found = [(one.file, one.row) for one in refuse_log(base)]
    assert found == [
        ("ground.toml", 2),
        ("digs.csv", 3),
        ("samples.csv", 2),
        ("samples.csv", 3),
        ("tallies.csv", 2),
        ("tallies.csv", 3),
    ]


def test_a_refused_row_does_not_drag_others_along(
    refuse_log: Callable[..., Any], base: Files
) -> None:
    """S1 hangs on a dig that is refused; the dig alone is to be mended."""
    base["digs.csv"] = "dig,easting_m,northing_m\nT1,x,5100000\nT2,500000,5100000\n"
    assert one(refuse_log(base)).file == "digs.csv"


def test_good_rows_alone_leave_out_what_hangs_on_bad_ones(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["digs.csv"] = "dig,easting_m,northing_m\nT1,x,5100000\nT2,500000,5100000\n"
    base["tallies.csv"] = "sample,class,colors\nS1,all,1\nS2,all,2\n"
    read = read_log(base, skip_bad=True)
    assert [dig.dig for dig in read.log.digs] == ["T2"]
    assert [sample.sample for sample in read.log.samples] == ["S2"]
    assert [tally.sample for tally in read.log.tallies] == ["S2"]
    assert "was not itself refused (row 2)" in read.refusals[1].expected
    assert read.refused_rows["digs.csv", 2] == {
        "dig": "T1",
        "easting_m": "x",
        "northing_m": "5100000",
    }


def test_digs_taped_from_a_refused_one_are_left_out_one_after_the_other(
    read_log: Callable[..., Any],
) -> None:
    files = {
        "digs.csv": "dig,easting_m,northing_m,peg,bearing_deg,along_m,date\n"
        "C,,,B,0,5,\nB,,,A,0,5,\nA,1000,1000,,,,2026-02-30\nD,1000,1000,,,,\n"
    }
    read = read_log(files, skip_bad=True)
    assert [dig.dig for dig in read.log.digs] == ["D"]


def test_good_rows_alone_are_refused_where_nothing_can_be_placed(
    refuse_log: Callable[..., Any], base: Files
) -> None:
    base["ground.toml"] = 'crs = "EPSG:1"\n'
    assert one(refuse_log(base, skip_bad=True)).column == "crs"


def test_a_file_that_cannot_be_read_leaves_the_others(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["tallies.csv"] = "sample,class,colors\nS1,all,1\n# \xfc".encode("latin-1")
    read = read_log(base, skip_bad=True)
    assert (len(read.log.samples), read.log.tallies) == (2, ())
    assert one(read.refusals).file == "tallies.csv"


def test_a_file_with_a_wrong_heading_gives_no_rows(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["samples.csv"] = "sample,dig,top,bottom_m,pans\nS1,T1,0,1,10\n"
    read = read_log(base, skip_bad=True)
    assert read.log.samples == ()


def test_wide_and_mixed_rows_are_left_out_alone(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["samples.csv"] = (
        f"{SAMPLE}pans\n".replace(",", ";")
        + "S1;T1;0;0,5;1.250\nS2;T2;0;0,5;1.500\nS3;T2;0;0,5;2.000;9\n"
    )
    read = read_log(base, skip_bad=True)
    assert read.log.samples == ()
    assert {refusal.row for refusal in read.refusals} == {2, 3, 4}


def test_rows_may_refer_to_what_the_book_has(
    read_log: Callable[..., Any],
) -> None:
    book = Log(
        ground=Ground(crs="EPSG:32633"),
        digs=(Dig(dig="T1", easting_m=1.0, northing_m=1.0),),
        samples=(Sample(sample="S1", dig="T1", pans=4.0),),
        weighings=(Weighing(weighing="W1", samples=("S1",), weighed_mg=1.0),),
    )
    files = {
        "samples.csv": f"{SAMPLE}pans,duplicate_of\nS2,T1,0,1,10,S1\n",
        "tallies.csv": "sample,class,colors\nS1,all,2\n",
        "weighings.csv": "weighing,samples,weighed_mg\nW1,S1 S2,3\n",
    }
    log = read_log(files, known=book).log
    assert (len(log.samples), len(log.tallies), len(log.weighings)) == (1, 1, 1)
    assert log.ground == book.ground


def test_a_sample_in_a_weighing_of_the_book_is_refused_in_another(
    refuse_log: Callable[..., Any],
) -> None:
    book = Log(
        samples=(Sample(sample="S1", dig="T1"),),
        weighings=(Weighing(weighing="W1", samples=("S1",), weighed_mg=1.0),),
    )
    files = {"weighings.csv": "weighing,samples,weighed_mg\nW2,S1,3\n"}
    refusal = one(refuse_log(files, known=book))
    assert refusal.expected.endswith("weighing W1 of the book has it")


def test_a_ground_file_is_told_from_none(tmp_path: Path) -> None:
    for name, text in (("ground.toml", 'name = "Ours"\n'), ("days.csv", "date\n")):
        (tmp_path / name).write_text(text)
    assert read_fieldlog(tmp_path / "ground.toml").has_ground
    assert not read_fieldlog(tmp_path / "days.csv").has_ground


def test_a_frame_without_a_ground_file_is_handed_back(
    write_log: Callable[..., Path],
) -> None:
    frame = Ground(name="Ours", crs="EPSG:32633")
    path = write_log({"days.csv": "date\n2026-07-01\n"})
    assert read_fieldlog(path, frame=frame).log.ground == frame


def test_unknown_keys_of_the_ground_are_named(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["ground.toml"] = 'crs = "EPSG:32633"\nriver = "x"\n'
    assert read_log(base).ignored_columns == ("ground.toml: river",)


def test_a_folder_a_zip_and_capital_names_give_the_same(
    write_log: Callable[..., Path], base: Files, tmp_path: Path
) -> None:
    folder = write_log(base)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, content in base.items():
            archive.writestr(f"My creek/{name.upper()}", content)
    path = tmp_path / "log.zip"
    path.write_bytes(packed.getvalue())
    assert read_fieldlog(path).log == read_fieldlog(folder).log


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("my pits.csv", "dig,easting_m,northing_m\nT1,500,510\n"),
        ("my pits.csv", "dig;longitude;latitude\nT1;14,5;46,05\n"),
        ("export.txt", "dig\teasting_m\tnorthing_m\nT1\t500\t510\n"),
    ],
)
def test_a_single_table_is_known_by_its_headings(
    tmp_path: Path, name: str, text: str
) -> None:
    path = tmp_path / name
    path.write_text(text)
    assert one(read_fieldlog(path).log.digs).dig == "T1"


@pytest.mark.parametrize(
    ("name", "content", "hint"),
    [
        ("notes.csv", b"a,b\n1,2\n", "one of ground.toml"),
        ("notes.csv", b"\xff", "one of ground.toml"),
        ("weather.csv", b"date,temperature,place\n2026-07-01,9,Here\n", "ground.toml"),
        ("notes.pdf", b"x", "one of ground.toml"),
        ("photo.heic", b"x", "save the photo as .jpg"),
    ],
)
def test_a_single_file_of_no_log_is_refused(
    tmp_path: Path, name: str, content: bytes, hint: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(RefusedError) as refused:
        read_fieldlog(path)
    assert hint in refused.value.refusals[0].expected


def test_files_of_other_names_are_told_and_left(
    read_log: Callable[..., Any], base: Files
) -> None:
    base |= {"Digs (1).csv": "x", "IMG.heic": "x", "README.txt": "x"}
    found = {one.where: one.remedy for one in read_log(base).doubts}
    assert set(found) == {"Digs (1).csv", "IMG.heic"}
    assert "save the photo as .jpg" in found["IMG.heic"]


def test_a_path_with_nothing_is_a_wrong_call(tmp_path: Path) -> None:
    with pytest.raises(CallError, match="is not there"):
        read_fieldlog(tmp_path / "gone")


def test_a_raster_that_misses_digs_is_a_doubt_and_shows_where_it_falls(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["dem.asc"] = (
        "ncols 2\nnrows 2\nxllcorner -121\nyllcorner 39\ncellsize 0.001\n"
        "300 301\n302 303\n"
    )
    read = read_log(base)
    assert one(read.log.attachments).kind == "elevation"
    assert "2 of 2 digs lie outside of it" in one(read.doubts).problem
    assert "longitude -121.0000 to -120.9980" in one(read.doubts).problem


def test_a_raster_without_a_place_is_a_doubt(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["dem.asc"] = (
        "ncols 2\nnrows 2\nxllcorner 499990\nyllcorner 5099990\ncellsize 30\n"
        "300 301\n302 303\n"
    )
    assert "does not say its coordinate system" in one(read_log(base).doubts).problem


def test_a_raster_over_the_digs_is_taken_silently(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["dem.asc"] = (
        "ncols 2\nnrows 2\nxllcorner 14.9\nyllcorner 46.0\ncellsize 0.1\n"
        "300 301\n302 303\n"
    )
    assert read_log(base).doubts == ()


def test_a_raster_alone_tells_the_zone_and_a_broken_one_refuses(
    read_log: Callable[..., Any], refuse_log: Callable[..., Any]
) -> None:
    grid = "ncols 1\nnrows 1\nxllcorner 14.9\nyllcorner 46.0\ncellsize 0.1\n300\n"
    assert read_log({"dem.asc": grid}).log.ground.crs == "EPSG:32633"
    assert one(refuse_log({"dem.asc": "x"})).file == "dem.asc"


def test_confirmed_digs_of_attached_files_are_read(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["dem.asc"] = (
        "ncols 1\nnrows 1\nxllcorner 14.9\nyllcorner 46.0\ncellsize 1\n3\n"
    )
    base["attachments.csv"] = "file,kind,dig,seen\ndem.asc,sheet,T1,yes\n"
    kept = one(read_log(base).log.attachments)
    assert (kept.kind, kept.dig, kept.extra) == ("sheet", "T1", {"seen": "yes"})


@pytest.mark.parametrize(
    ("row", "column"), [("gone.jpg,photo,", "file"), ("dem.asc,sheet,T9", "dig")]
)
def test_an_attachment_of_nothing_is_refused(
    refuse_log: Callable[..., Any], base: Files, row: str, column: str
) -> None:
    base["dem.asc"] = (
        "ncols 1\nnrows 1\nxllcorner 14.9\nyllcorner 46.0\ncellsize 1\n3\n"
    )
    base["attachments.csv"] = f"file,kind,dig\n{row}\n"
    assert one(refuse_log(base)).column == column


def test_every_refusal_reads_as_one_line(
    refuse_log: Callable[..., Any], base: Files
) -> None:
    base["samples.csv"] = f"{SAMPLE}pans\nS1,T9,0,1,10\n"
    line = one(refuse_log(base)).line()
    assert line.startswith("samples.csv row 2 column dig: found 'T9'; expected a dig")


UNREADABLE_DIGS = [
    b"\xff\xfe\x00garb\x00age",
    b"name,easting_m\nT1,4\n",
    b"dig,dig\nT1,4\n",
]


@pytest.mark.parametrize("digs", UNREADABLE_DIGS)
def test_digs_that_cannot_be_read_make_no_name_unknown(
    refuse_log: Callable[..., Any], base: Files, digs: bytes
) -> None:
    """One true thing of digs.csv, and that samples.csv could not be judged."""
    first, second = refuse_log(base | {"digs.csv": digs})
    assert first.file == "digs.csv"
    assert second.file == "samples.csv"
    assert second.found == "2 rows name a dig"
    assert "could not be looked up. Mend digs.csv first" in second.expected


@pytest.mark.parametrize("digs", UNREADABLE_DIGS)
def test_what_could_not_be_judged_is_no_good_row(
    read_log: Callable[..., Any], base: Files, digs: bytes
) -> None:
    taken = read_log(base | {"digs.csv": digs}, skip_bad=True)
    assert taken.log.samples == ()
    assert len(taken.refusals) == 2


def test_a_dig_of_the_book_is_known_whatever_the_file_is(
    read_log: Callable[..., Any], base: Files
) -> None:
    known = Log(digs=(Dig(dig="T1"),))
    taken = read_log(base | {"digs.csv": b"\x00\x01"}, skip_bad=True, known=known)
    assert [one.sample for one in taken.log.samples] == ["S1"]
    assert taken.refusals[1].found == "1 row names a dig"


@pytest.mark.parametrize(
    ("column", "cells", "expected"),
    [
        ("pans", "1e-30", "between 0.001 and 1,000,000"),
        ("pan_volume_l,pans", "1e30,5", "between 0.01 and 1,000 l: a pan holds"),
        ("weighed_mg,pans", "1e15,5", "a ton of gold. Check the unit"),
        ("weighed_g,pans", "1e15,5", "and 1,000,000 g"),
        ("balance_mg,pans", "1e-9,5", "finest balances"),
        ("volume_l,state", "1e30,bank", "whole season"),
    ],
)
def test_what_no_hand_can_do_is_refused_with_the_reason(
    refuse_log: Callable[..., Any], base: Files, column: str, cells: str, expected: str
) -> None:
    base["samples.csv"] = f"{SAMPLE}{column}\nS3,T1,0,1,{cells}\n"
    refusal = one(refuse_log(base))
    assert refusal.column == column.split(",", maxsplit=1)[0]
    assert expected in refusal.expected


def test_no_gravel_is_a_kilometer_deep(
    refuse_log: Callable[..., Any], base: Files
) -> None:
    base["samples.csv"] = f"{SAMPLE}pans\nS3,T1,0,1e6,5\n"
    assert "no gravel is dug a kilometer deep" in one(refuse_log(base)).expected


def test_a_log_without_a_file_is_refused(tmp_path: Path) -> None:
    empty = tmp_path / "log.zip"
    with zipfile.ZipFile(empty, "w"):
        pass
    with pytest.raises(RefusedError, match="files of a field log in it"):
        read_fieldlog(empty)


def test_a_mesh_that_no_sieve_has_is_refused(
    refuse_log: Callable[..., Any], base: Files
) -> None:
    base["tallies.csv"] = "sample,class,colors\nS1,21/40 mesh,3\n"
    assert "meshes of the standard sieves (4, 5, 6" in one(refuse_log(base)).expected


def test_finds_are_told_to_enter_no_grade(
    read_log: Callable[..., Any], base: Files
) -> None:
    rows = "".join(f"C{k},T1,,,crevice,\n" for k in range(7))
    base["samples.csv"] = f"{SAMPLE}taken,pans\n{rows}M1,T1,,,moss,\nS1,T1,0,1,,5\n"
    (note,) = [one for one in read_log(base).doubts if "enter no grade" in one.problem]
    assert "crevice (C0, C1, C2, C3, C4 and 2 more); moss (M1)" in note.problem
    assert note.weight == "note"
