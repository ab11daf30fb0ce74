"""A field log taken in: what is new, what is an edit, what is left alone."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from pennyweight.book.book import Book, create_book
from pennyweight.book.changes import putting
from pennyweight.book.transfer import IntakeSummary, take_in
from pennyweight.errors import CallError, ClosedBookError, RefusedError
from pennyweight.exchange.fieldlogwriting import write_fieldlog
from pennyweight.records import Dig, Ground

FILES = {
    "ground.toml": 'name = "Invented Creek"\ncrs = "EPSG:32610"\nswell = 0.2\n',
    "digs.csv": "dig,line,easting_m,northing_m,bottom_m,note\n"
    "T1,1,500010,5400000,1.5,first\nT2,1,500020,5400000,1.8,\n",
    "samples.csv": "sample,dig,top_ft,bottom_ft,pans,pan_volume_l,moon\n"
    "S1,T1,3.5,5,4,5.5,full\nS2,T2,4,6,4,5.5,\n",
    "tallies.csv": "sample,class,colors\nS1,0.5-1,2\nS1,all,3\nS2,all,0\n",
    "grains.csv": "sample,long_mm,mg\nS1,0.8,0.1\nS1,0.6,0.05\n",
    "rocks.csv": "dig,kind,name\nT1,bedrock,schist\nT1,float,quartz\n",
    "pantests.csv": "by,class,put_in,found\nAnn,0.5-1,20,18\nAnn,<0.5,20,11\n",
    "buckets.csv": "bank_l,loose_l\n75,90\n",
}


def write_log(folder: Path, **files: str) -> Path:
    """Write the field log with some of its files otherwise; return the folder."""
    folder.mkdir(exist_ok=True)
    changed = {name.replace("_", "."): text for name, text in files.items()}
    for name, text in (FILES | changed).items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def write_one(folder: Path, name: str, text: str) -> Path:
    """Write a log of one file; return the folder."""
    folder.mkdir(exist_ok=True)
    (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """Open a book that has taken in the log."""
    with create_book(tmp_path / "creek.book") as book:
        intake(book, write_log(tmp_path / "log"))
        yield book


def intake(book: Book, *paths: Path, skip_bad: bool = False) -> IntakeSummary:
    """Take in logs as Ann."""
    return take_in(book, paths, who="Ann", skip_bad=skip_bad)


def counts(summary: IntakeSummary) -> tuple[int, int, int]:
    """Return what was added, changed and left as it was."""
    return summary.added, summary.changed, summary.unchanged


def shown(edits: object) -> list[tuple[str, str, object, object]]:
    """Return edits in short."""
    return [(e.where, e.field, e.was, e.now) for e in edits]  # type: ignore[attr-defined]


def test_everything_of_a_first_log_is_added(tmp_path: Path) -> None:
    with create_book(tmp_path / "creek.book") as book:
        summary = intake(book, write_log(tmp_path / "log"))
        assert counts(summary) == (15, 0, 0)
        assert summary.tables["tallies"]["added"] == 3
        assert summary.ignored_columns == ("samples.csv: moon",)
        assert book.log().samples[0].extra == {"moon": "full"}
        assert book.history()[0].why == "intake of log"


def test_the_same_log_again_changes_nothing(book: Book, tmp_path: Path) -> None:
    before = book.revision
    summary = intake(book, tmp_path / "log")
    assert counts(summary) == (0, 0, 15)
    assert (summary.batch, book.revision) == (None, before)
    assert not summary.edits


def test_a_known_key_with_a_new_value_is_an_edit(book: Book, tmp_path: Path) -> None:
    write_log(tmp_path / "log", tallies_csv="sample,class,colors\nS1,all,4\n")
    summary = intake(book, tmp_path / "log")
    assert counts(summary) == (0, 1, 12)
    assert shown(summary.edits) == [("sample S1, class all", "colors", 3, 4)]
    assert [tally.colors for tally in book.log().tallies] == [2, 4, 0]


def test_one_undo_takes_back_a_whole_intake(book: Book, tmp_path: Path) -> None:
    before = book.log()
    more = "dig,easting_m,northing_m\nT1,500011,5400000\nT3,500030,5400000\n"
    summary = intake(book, write_one(tmp_path / "more", "digs.csv", more))
    assert summary.batch is not None
    book.undo(summary.batch, "Ann")
    assert book.log() == before


def test_a_column_that_a_file_lacks_is_left_as_it_was(
    book: Book, tmp_path: Path
) -> None:
    text = "dig,bottom_m,easting_m,northing_m\nT1,1.6,500010,5400000\n"
    summary = intake(book, write_one(tmp_path / "more", "digs.csv", text))
    assert shown(summary.edits) == [("dig T1", "bottom_m", 1.5, 1.6)]
    assert (book.log().digs[0].note, book.log().digs[0].line) == ("first", "1")


def test_what_was_typed_in_a_column_that_a_file_lacks_stays(
    book: Book, tmp_path: Path
) -> None:
    before = book.log().samples[0]
    text = "sample,dig,top_ft,bottom_ft,pans,pan_volume_l,by\nS1,T1,3.5,5,4,5.5,Bo\n"
    intake(book, write_one(tmp_path / "more", "samples.csv", text))
    after = book.log().samples[0]
    assert after.by == "Bo"
    assert (after.typed, after.extra) == (before.typed, before.extra)


def test_an_empty_cell_of_a_column_that_is_there_clears_the_field(
    book: Book, tmp_path: Path
) -> None:
    text = "dig,easting_m,northing_m,note\nT1,500010,5400000,\n"
    summary = intake(book, write_one(tmp_path / "more", "digs.csv", text))
    assert shown(summary.edits) == [("dig T1", "note", "first", None)]


def test_ground_toml_adds_to_the_ground_and_takes_nothing_away(
    book: Book, tmp_path: Path
) -> None:
    text = 'crs = "EPSG:32610"\nswell = 0.3\ncurrency = "USD"\n'
    summary = intake(book, write_one(tmp_path / "more", "ground.toml", text))
    ground = book.log().ground
    assert (ground.name, ground.swell, ground.currency) == (
        "Invented Creek",
        0.3,
        "USD",
    )
    assert ("the ground", "swell", 0.2, 0.3) in shown(summary.edits)


def test_grains_of_a_sample_are_replaced_as_a_set(book: Book, tmp_path: Path) -> None:
    text = "sample,long_mm,mg\nS1,0.6,0.05\nS2,1.5,1\n"
    summary = intake(book, write_one(tmp_path / "more", "grains.csv", text))
    assert counts(summary) == (1, 0, 1)
    assert summary.removed == 1
    grains = [(one.sample, one.long_mm) for one in book.log().grains]
    assert grains == [("S1", 0.6), ("S2", 1.5)]


def test_rocks_of_one_dig_are_replaced_and_others_stay(
    book: Book, tmp_path: Path
) -> None:
    text = "dig,kind,name\nT1,bedrock,slate\nT2,float,quartz\n"
    summary = intake(book, write_one(tmp_path / "more", "rocks.csv", text))
    assert (counts(summary), summary.removed) == ((1, 1, 0), 1)
    rocks = [(one.number, one.dig, one.name) for one in book.log().rocks]
    assert rocks == [(1, "T1", "slate"), (3, "T2", "quartz")]


def test_a_pan_test_put_in_front_changes_no_other(book: Book, tmp_path: Path) -> None:
    text = (
        "by,class,put_in,found\nBo,0.5-1,30,20\n"
        + FILES["pantests.csv"].split("\n", 1)[1]
    )
    summary = intake(book, write_one(tmp_path / "more", "pantests.csv", text))
    assert counts(summary) == (1, 0, 2)
    assert [test.found for test in book.log().pantests] == [18, 11, 20]


def test_a_corrected_pan_test_is_an_edit(book: Book, tmp_path: Path) -> None:
    text = FILES["pantests.csv"].replace("20,11", "20,12")
    summary = intake(book, write_one(tmp_path / "more", "pantests.csv", text))
    assert counts(summary) == (0, 1, 1)
    assert shown(summary.edits) == [("pan test 2", "found", 11, 12)]


def other_log(tmp_path: Path, **files: str) -> Path:
    """Write the log as someone else keeps it, under an identity of its own."""
    ground = FILES["ground.toml"] + 'log_id = "other"\n'
    return write_log(tmp_path / "theirs", ground_toml=ground, **files)


def test_another_log_adds_what_is_new_and_changes_nothing(
    book: Book, tmp_path: Path
) -> None:
    before = book.log()
    theirs = other_log(
        tmp_path,
        tallies_csv="sample,class,colors\nS1,all,9\nS2,>2,1\n",
        grains_csv="sample,long_mm,mg\nS1,2,5\n",
    )
    summary = intake(book, theirs)
    assert (summary.added, summary.changed) == (1, 0)
    assert shown(summary.conflicts)[0] == ("sample S1, class all", "colors", 3, 9)
    assert {one.where for one in summary.conflicts[1:]} == {
        "sample S1, grain 1",
        "sample S1, grain 2",
    }
    after = book.log()
    assert after.tallies[:3] == before.tallies
    assert after.grains == before.grains


def test_another_log_that_says_the_same_is_no_conflict(
    book: Book, tmp_path: Path
) -> None:
    summary = intake(book, other_log(tmp_path))
    assert (counts(summary), summary.conflicts) == ((0, 0, 15), ())


def test_another_log_may_change_what_came_from_it(book: Book, tmp_path: Path) -> None:
    rows = FILES["tallies.csv"]
    intake(book, other_log(tmp_path, tallies_csv=rows + "S2,>2,1\n"))
    summary = intake(book, other_log(tmp_path, tallies_csv=rows + "S2,>2,2\n"))
    assert shown(summary.edits) == [("sample S2, class >2", "colors", 1, 2)]
    assert not summary.conflicts


def test_another_log_has_rocks_and_grounds_of_its_own(
    book: Book, tmp_path: Path
) -> None:
    before = book.log()
    theirs = write_one(
        tmp_path / "theirs", "rocks.csv", "dig,kind,name\nT1,bedrock,schist\n"
    )
    ground = FILES["ground.toml"].replace("0.2", "0.3") + 'log_id = "other"\n'
    write_one(theirs, "ground.toml", ground)
    write_one(theirs, "pantests.csv", FILES["pantests.csv"].replace("20,18", "20,9"))
    summary = intake(book, theirs)
    assert shown(summary.conflicts) == [
        ("the ground", "swell", 0.2, 0.3),
        ("rock 2", "", "there", None),
    ]
    assert (book.log().ground, book.log().rocks) == (before.ground, before.rocks)
    assert [test.found for test in book.log().pantests] == [18, 11, 9]


def test_another_log_with_one_grain_more_is_a_conflict(
    book: Book, tmp_path: Path
) -> None:
    grains = FILES["grains.csv"] + "S1,2,5\n"
    summary = intake(book, other_log(tmp_path, grains_csv=grains))
    assert shown(summary.conflicts) == [("sample S1, grain 3", "", None, "there")]


def test_a_drawing_of_the_same_name_is_drawn_anew(book: Book, tmp_path: Path) -> None:
    def drawn(name: str, latitude: float) -> str:
        line = {"type": "LineString", "coordinates": [[-123.0, 48.7], [-123, latitude]]}
        said = {"role": "water", "name": name}
        feature = {"type": "Feature", "properties": said, "geometry": line}
        return json.dumps({"type": "FeatureCollection", "features": [feature]})

    for name, latitude in (("weir", 48.71), ("weir", 48.72), ("pond", 48.72)):
        intake(book, write_one(tmp_path / "d", "ground.geojson", drawn(name, latitude)))
    log = book.log()
    assert [(one.number, one.name) for one in log.features] == [
        (1, "weir"),
        (2, "pond"),
    ]
    assert log.features[0].geometry["coordinates"][1] == [-123, 48.72]


def test_rocks_lying_in_the_open_are_known_by_their_place(
    book: Book, tmp_path: Path
) -> None:
    rows = "easting_m,northing_m,kind,name\n500100,5400000,boulder,{}\n"
    one = write_one(tmp_path / "r", "rocks.csv", rows.format("granite"))
    assert counts(intake(book, one)) == (1, 0, 0)
    write_one(one, "rocks.csv", rows.format("gneiss"))
    summary = intake(book, one)
    assert shown(summary.edits) == [("rock 3", "name", "granite", "gneiss")]


def test_a_later_log_of_an_intake_overrules_an_earlier_one(
    book: Book, tmp_path: Path
) -> None:
    head = "dig,easting_m,northing_m\n"
    one = write_one(tmp_path / "a", "digs.csv", head + "T9,500001,5400000\n")
    two = write_one(tmp_path / "b", "digs.csv", head + "T9,500002,5400000\n")
    assert counts(intake(book, one, two)) == (1, 1, 0)
    assert book.log().digs[-1].easting_m == 500002.0


def test_a_waypoint_gives_a_dig_of_the_book_its_place(tmp_path: Path) -> None:
    gpx = (
        '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'
        '<wpt lat="48.7" lon="-123.0"><name>T1</name></wpt></gpx>'
    )
    with create_book(tmp_path / "creek.book") as book:
        crs = putting("ground", Ground(crs="EPSG:32610"))
        dig = putting("digs", Dig(dig="T1", note="by the alder"))
        book.write([crs, dig], who="Ann", why="typed")
        intake(book, write_one(tmp_path / "log", "t.gpx", gpx))
        (dig_now,) = book.log().digs
    assert dig_now.easting_m == pytest.approx(500_000.0, abs=0.01)
    assert dig_now.note == "by the alder"


def test_what_a_book_shares_comes_back_as_edits(book: Book, tmp_path: Path) -> None:
    write_fieldlog(book.log(), tmp_path / "shared")
    assert counts(intake(book, tmp_path / "shared")) == (0, 0, 15)
    digs = (tmp_path / "shared" / "digs.csv").read_text(encoding="utf-8")
    (tmp_path / "shared" / "digs.csv").write_text(
        digs.replace("first", "second"), encoding="utf-8"
    )
    summary = intake(book, tmp_path / "shared")
    assert shown(summary.edits) == [("dig T1", "note", "first", "second")]


def test_what_a_book_shares_fills_an_empty_book_alike(
    book: Book, tmp_path: Path
) -> None:
    write_fieldlog(book.log(), tmp_path / "shared.zip")
    with create_book(tmp_path / "other.book") as other:
        intake(other, tmp_path / "shared.zip")
        one, two = book.log(), other.log()
    assert one.digs == two.digs
    assert one.samples == two.samples
    assert one.ground.log_id != two.ground.log_id


def test_a_wrong_row_refuses_everything_at_once(book: Book, tmp_path: Path) -> None:
    before = book.log()
    good = write_one(
        tmp_path / "good", "digs.csv", "dig,easting_m,northing_m\nT9,500090,5400000\n"
    )
    bad = write_one(
        tmp_path / "bad", "tallies.csv", "sample,class,colors\nS7,all,1\nS1,all,many\n"
    )
    with pytest.raises(RefusedError) as refused:
        intake(book, good, bad)
    assert [one.row for one in refused.value.refusals] == [2, 3]
    assert book.log() == before


def test_good_rows_can_be_taken_and_bad_ones_set_aside(
    book: Book, tmp_path: Path
) -> None:
    text = "sample,class,colors\nS1,>2,1\nS1,all,many\n"
    summary = intake(
        book, write_one(tmp_path / "bad", "tallies.csv", text), skip_bad=True
    )
    assert counts(summary) == (1, 0, 0)
    assert [(one.row, one.found) for one in summary.refused] == [(3, "many")]
    aside = (tmp_path / "bad-refused.csv").read_text(encoding="utf-8").splitlines()
    assert summary.refused_files == ("bad-refused.csv",)
    assert aside[1].startswith("tallies.csv,3,colors,many,")
    assert aside[1].endswith("sample=S1; class=all; colors=many")


def test_nothing_is_taken_when_the_refused_rows_cannot_be_set_aside(
    book: Book, tmp_path: Path
) -> None:
    text = "sample,class,colors\nS1,>2,1\nS1,all,many\n"
    (tmp_path / "bad-refused.csv").mkdir()
    before = book.revision
    with pytest.raises(ClosedBookError, match=r"cannot be written to bad-refused\.csv"):
        intake(book, write_one(tmp_path / "bad", "tallies.csv", text), skip_bad=True)
    assert book.revision == before


def test_a_later_log_may_refer_to_an_earlier_one(tmp_path: Path) -> None:
    digs = "dig,easting_m,northing_m\nT1,500010,5400000\n"
    samples = "sample,dig,top_m,bottom_m,pans\nS1,T1,0,1,4\n"
    first = write_one(tmp_path / "a", "digs.csv", digs)
    write_one(tmp_path / "a", "ground.toml", 'crs = "EPSG:32610"\n')
    then = write_one(tmp_path / "b", "samples.csv", samples)
    with create_book(tmp_path / "creek.book") as book:
        assert counts(intake(book, first, then)) == (3, 0, 0)


def test_what_becomes_odd_is_told_once(book: Book, tmp_path: Path) -> None:
    text = "sample,class,colors\nS1,all,1\n"
    odd = write_one(tmp_path / "odd", "tallies.csv", text)
    first, again = intake(book, odd), intake(book, odd)
    assert [doubt.where for doubt in first.doubts] == ["sample S1"]
    assert "add up to 2 colors, but all are 1" in first.doubts[0].problem
    assert again.doubts == ()


def test_nothing_at_a_path_is_a_wrong_call(book: Book, tmp_path: Path) -> None:
    with pytest.raises(CallError):
        intake(book, tmp_path / "nowhere")


def test_digs_without_a_ground_give_the_book_its_coordinates(tmp_path: Path) -> None:
    text = "dig,longitude,latitude\nT1,-123.0,48.7\n"
    folder = write_one(tmp_path / "log", "digs.csv", text)
    with create_book(tmp_path / "creek.book") as book:
        assert counts(intake(book, folder)) == (1, 0, 0)
        assert book.log().ground.crs == "EPSG:32610"
        assert counts(intake(book, folder)) == (0, 0, 1)


def test_progress_is_told_and_may_cancel(book: Book, tmp_path: Path) -> None:
    told: list[str] = []
    take_in(
        book,
        [tmp_path / "log"],
        who="Ann",
        progress=lambda share, doing: told.append(doing),
    )
    assert told[0] == "reading log"
    assert "writing" in told


def test_the_summary_prints_as_json(book: Book, tmp_path: Path) -> None:
    book.write([putting("digs", Dig(dig="T2", note="x"))], who="Ann", why="typed")
    printed = intake(book, tmp_path / "log").to_json()
    assert (printed["added"], printed["changed"], printed["unchanged"]) == (0, 1, 14)
    assert {"where": "dig T2", "field": "note", "was": "x", "now": None} in printed[
        "edits"
    ]
    assert printed["refused"] == printed["ignored_columns"][1:] == []
