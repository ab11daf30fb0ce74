"""The pocket form's file: into records, twice, from two phones, and damaged."""

import json
import re
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from pennyweight.errors import Refusal, RefusedError
from pennyweight.exchange.fieldlog import FieldLogRead, read_fieldlog
from pennyweight.exchange.pocketentries import (
    KEY_NAMES,
    Entry,
    Thing,
    check_sum,
    gather,
    split_heading,
)
from pennyweight.exchange.pocketfile import MOST_ENTRIES, parse_pocket_file
from pennyweight.records import Dig, Ground, Layer, Log, Sample

BOOK = {"id": "b1", "name": "Sample Creek"}
KNOWN = Log(
    ground=Ground(name="Sample Creek", log_id="b1", crs="EPSG:32610"),
    digs=(
        Dig(
            dig="T1",
            line="T",
            easting_m=500_010.0,
            northing_m=5_400_020.0,
            note="by the leaning cedar",
            typed={"elevation_ft": "1500", "longitude": "-122.9"},
            elevation_m=457.2,
        ),
    ),
    layers=(Layer(dig="T1", top_m=0.0, bottom_m=0.3, material="soil"),),
    samples=(Sample(sample="S1", dig="T1", top_m=0.0, bottom_m=0.3, pans=2.0),),
)


def entry(kind: str, cells: Mapping[str, object], **more: Any) -> dict[str, Any]:
    """Return one entry as the form writes it; ids follow from what it says."""
    name = f"{zlib.crc32(json.dumps([kind, cells], default=str).encode()):08x}"
    told = {
        "id": name,
        "kind": kind,
        "revision": 1,
        "phone": "aaaa1111",
        "changed_at": "2026-07-30T10:00:00.000Z",
        "cells": dict(cells),
        "settles": {},
        "removed": False,
    }
    return told | more


def as_entry(told: Mapping[str, Any], number: int = 1) -> Entry:
    """Return the entry that the form's words mean."""
    return Entry(**told, number=number)


def pocket(*entries: dict[str, Any], **more: Any) -> bytes:
    """Return a file as the form writes it."""
    told = {
        "pocket_file": 1,
        "book": BOOK,
        "plan_made_at": "2026-07-29T20:00:00",
        "saved_at": "2026-07-30T18:00:00.000Z",
        "phone": "aaaa1111",
        "count": len(entries),
        "check": check_sum(as_entry(one) for one in entries),
        "entries": list(entries),
    }
    return json.dumps(told | more).encode()


DIG = {"dig": "N1", "kind": "pit", "longitude": "-122.86", "latitude": "48.754"}
DAY = [
    entry("digs", DIG | {"bottom_ft": "4", "stopped_by": "water", "by": "Ann"}),
    entry(
        "layers",
        {"dig": "N1", "top_ft": "0", "bottom_ft": "3.5", "packing": "firm"},
    ),
    entry(
        "samples",
        {"sample": "7K-014-0", "dig": "N1", "top_ft": "3", "bottom_ft": "3.5"}
        | {"taken": "channel", "pans": "4"},
    ),
    entry("tallies", {"sample": "7K-014-0", "class": "0.25-0.5", "colors": "3"}),
    entry("tallies", {"sample": "7K-014-0", "class": "<0.25", "colors": ""}),
    entry("days", {"date": "2026-07-30", "by": "Ann", "hours": "9"}),
]


def read(
    folder: Path, *contents: bytes, known: Log = KNOWN, skip_bad: bool = False
) -> FieldLogRead:
    """Take in files of phones as the field log does."""
    for at, content in enumerate(contents):
        (folder / f"phone{at + 1}.json").write_bytes(content)
    path = folder if len(contents) > 1 else folder / "phone1.json"
    return read_fieldlog(path, known=known, skip_bad=skip_bad)


def refusals(folder: Path, *contents: bytes) -> tuple[Refusal, ...]:
    """Return what is refused of files."""
    with pytest.raises(RefusedError) as refused:
        read(folder, *contents)
    return refused.value.refusals


def test_a_day_becomes_records_in_inside_units(tmp_path: Path) -> None:
    """Easting by hand: 0.9996 N cos(lat) dlon with N = 6390241 m, dlon = 0.14 deg."""
    log = read(tmp_path, pocket(*DAY)).log
    (dig,) = log.digs
    assert dig.bottom_m == pytest.approx(4 * 0.3048)
    assert dig.typed["bottom_ft"] == "4"
    assert dig.easting_m == pytest.approx(510_290, abs=1.0)
    (layer,) = log.layers
    assert (layer.top_m, layer.packing) == (0.0, "firm")
    (sample,) = log.samples
    assert (sample.sample, sample.pans) == ("7K-014-0", 4.0)
    (day,) = log.days
    assert (day.date, day.by, day.hours) == ("2026-07-30", "Ann", 9.0)


def test_a_class_that_was_not_looked_at_is_no_tally(tmp_path: Path) -> None:
    log = read(tmp_path, pocket(*DAY)).log
    assert [(one.size_class, one.colors) for one in log.tallies] == [("0.25-0.5", 3)]


def test_zero_colors_stay_zero_and_unwashed_stays_unwashed(tmp_path: Path) -> None:
    zero = entry("tallies", {"sample": "7K-014-0", "class": "all", "colors": "0"})
    assert read(tmp_path, pocket(*DAY[:3], zero)).log.tallies[0].colors == 0
    assert read(tmp_path, pocket(*DAY[:3])).log.tallies == ()


def test_the_same_file_twice_says_the_same(tmp_path: Path) -> None:
    once = read(tmp_path, pocket(*DAY)).log
    twice = read(tmp_path, pocket(*DAY), pocket(*DAY)).log
    assert twice == once


def test_the_later_revision_of_an_entry_stands(tmp_path: Path) -> None:
    later = DAY[0] | {"revision": 2, "cells": DAY[0]["cells"] | {"bottom_ft": "5"}}
    for files in ([DAY[0], later], [later, DAY[0]]):
        (dig,) = read(tmp_path, *(pocket(one) for one in files)).log.digs
        assert dig.typed["bottom_ft"] == "5"


def test_a_removed_entry_is_gone(tmp_path: Path) -> None:
    gone = DAY[0] | {"revision": 2, "removed": True}
    assert read(tmp_path, pocket(gone, *DAY[5:])).log.digs == ()


OTHER = {"phone": "bbbb2222", "changed_at": "2026-07-30T11:00:00.000Z"}


def test_two_phones_that_agree_are_merged_field_by_field(tmp_path: Path) -> None:
    """Phone B gives the same bottom in meters, and the rock below it."""
    cells = {"dig": "N1", "bottom_m": "1.219", "bedrock": "slate", "by": "Ben"}
    log = read(tmp_path, pocket(DAY[0]), pocket(entry("digs", cells, **OTHER))).log
    (dig,) = log.digs
    assert (dig.bedrock, dig.stopped_by, dig.kind) == ("slate", "water", "pit")
    assert dig.by == "Ann; Ben"
    assert dig.typed["bottom_ft"] == "4"


def test_two_phones_that_differ_are_shown_side_by_side(tmp_path: Path) -> None:
    rival = entry("digs", {"dig": "N1", "bottom_ft": "6"}, **OTHER)
    (refusal,) = refusals(tmp_path, pocket(DAY[0]), pocket(rival))
    assert refusal.column == "bottom_ft"
    assert "4 by phone aaaa1111" in refusal.found
    assert "6 by phone bbbb2222" in refusal.found
    assert "choose one" in refusal.expected
    assert refusal.file == "phone1.json + phone2.json"


def test_a_settled_difference_is_no_difference(tmp_path: Path) -> None:
    settled = entry(
        "digs",
        {"dig": "N1", "bottom_ft": "6"},
        settles={"bottom": ["bottom_ft=4"]},
        **OTHER,
    )
    (dig,) = read(tmp_path, pocket(DAY[0]), pocket(settled)).log.digs
    assert dig.typed["bottom_ft"] == "6"


def test_two_phones_that_settle_each_other_still_differ() -> None:
    first = DAY[0] | {"settles": {"bottom": ("bottom_ft=6",)}}
    second = entry(
        "digs",
        {"dig": "N1", "bottom_ft": "6"},
        settles={"bottom": ("bottom_ft=4",)},
        **OTHER,
    )
    (thing,) = gather([as_entry(first), as_entry(second, 2)])
    assert [said.text for said in thing.said()["bottom"]] == ["4", "6"]


def test_good_rows_can_be_taken_alone_and_the_others_are_told(tmp_path: Path) -> None:
    rival = entry("digs", {"dig": "N1", "bottom_ft": "6"}, **OTHER)
    taken = read(tmp_path, pocket(*DAY), pocket(rival), skip_bad=True)
    assert taken.log.digs == ()
    assert [day.hours for day in taken.log.days] == [9.0]
    assert ("phone1.json + phone2.json", 1) in taken.refused_rows


def test_what_the_phone_left_out_comes_from_the_book(tmp_path: Path) -> None:
    found = entry("digs", {"dig": "T1", "bottom_m": "1.5"})
    (dig,) = read(tmp_path, pocket(found)).log.digs
    assert (dig.bottom_m, dig.easting_m, dig.line) == (1.5, 500_010.0, "T")
    assert dig.note == "by the leaning cedar"
    assert dig.typed == KNOWN.digs[0].typed


def test_a_new_position_replaces_every_old_way_of_saying_it(tmp_path: Path) -> None:
    place = {"dig": "T1", "longitude": "-122.86", "latitude": "48.754"}
    (dig,) = read(tmp_path, pocket(entry("digs", place))).log.digs
    assert dig.easting_m == pytest.approx(510_290, abs=1.0)
    assert dig.typed["longitude"] == "-122.86"
    assert dig.elevation_m == 457.2


def test_a_value_in_another_unit_drops_what_was_typed_before(tmp_path: Path) -> None:
    (dig,) = read(
        tmp_path, pocket(entry("digs", {"dig": "T1", "elevation_m": "458"}))
    ).log.digs
    assert (dig.elevation_m, "elevation_ft" in dig.typed) == (458.0, False)


def test_layers_and_samples_of_the_book_are_filled_up_too(tmp_path: Path) -> None:
    log = read(
        tmp_path,
        pocket(
            entry("layers", {"dig": "T1", "top_m": "0", "bottom_m": "0.35"}),
            entry("samples", {"sample": "S1", "dig": "T1", "weighed_mg": "2"}),
        ),
    ).log
    assert (log.layers[0].material, log.layers[0].bottom_m) == ("soil", 0.35)
    assert (log.samples[0].pans, log.samples[0].weighed_mg) == (2.0, 2.0)


def test_photographs_and_receiver_error_are_kept_with_the_dig(tmp_path: Path) -> None:
    more = {"photos": "IMG_1.jpg IMG_2.jpg", "position_error_m": "4.0"}
    taken = read(tmp_path, pocket(entry("digs", DIG | more)))
    assert taken.log.digs[0].extra == more
    assert "phone1.json: photos" in taken.ignored_columns


def test_the_earlier_date_of_two_phones_stands(tmp_path: Path) -> None:
    first = entry("digs", DIG | {"date": "2026-07-30"})
    second = entry("digs", {"dig": "N1", "date": "2026-07-29"}, **OTHER)
    (dig,) = read(tmp_path, pocket(first), pocket(second)).log.digs
    assert dig.date == "2026-07-29"


def test_a_cell_that_was_emptied_says_nothing(tmp_path: Path) -> None:
    (dig,) = read(tmp_path, pocket(entry("digs", DIG | {"bedrock": ""}))).log.digs
    assert dig.bedrock is None


def test_a_phone_that_empties_what_another_wrote_settles_it(tmp_path: Path) -> None:
    emptied = entry(
        "digs",
        {"dig": "N1", "stopped_by": ""},
        settles={"stopped_by": ["stopped_by=water"]},
        **OTHER,
    )
    (dig,) = read(tmp_path, pocket(DAY[0]), pocket(emptied)).log.digs
    assert dig.stopped_by is None


# ---- files that came to harm ---------------------------------------------------


@pytest.mark.parametrize("kept", [0.2, 0.5, 0.99])
def test_a_file_cut_short_is_refused_where_it_ends(tmp_path: Path, kept: float) -> None:
    whole = pocket(*DAY)
    (refusal,) = refusals(tmp_path, whole[: int(len(whole) * kept)])
    assert "the file ends with" in refusal.found
    assert "whole" in refusal.expected


def test_a_newer_version_is_refused_with_the_remedy(tmp_path: Path) -> None:
    (refusal,) = refusals(tmp_path, pocket(*DAY, pocket_file=2))
    assert (refusal.column, refusal.found) == ("pocket_file", "2")
    assert "newer pennyweight" in refusal.expected


def test_a_file_of_another_book_is_refused_by_name(tmp_path: Path) -> None:
    other = {"id": "b2", "name": "Elsewhere"}
    (refusal,) = refusals(tmp_path, pocket(*DAY, book=other))
    assert refusal.found == "Elsewhere"
    assert "Sample Creek" in refusal.expected


def test_an_edit_by_hand_is_taken_and_told(tmp_path: Path) -> None:
    edited = pocket(*DAY).replace(b'"bottom_ft": "4"', b'"bottom_ft": "4.5"')
    taken = read(tmp_path, edited)
    assert taken.log.digs[0].typed["bottom_ft"] == "4.5"
    (doubt,) = [one for one in taken.doubts if one.where == "phone1.json"]
    assert "changed after the phone saved it" in doubt.problem
    assert not [
        one for one in read(tmp_path, pocket(*DAY)).doubts if one.where == "phone1.json"
    ]


def test_wrong_values_are_refused_by_entry_and_heading(tmp_path: Path) -> None:
    bad = [
        entry("digs", DIG | {"bottom_ft": "deep"}),
        entry("layers", {"dig": "N1", "top_m": "0", "bottom_m": "1", "packing": "so"}),
        entry("tallies", {"sample": "nobody", "class": "all", "colors": "1.5"}),
    ]
    found = {
        (one.row, one.column): one.found for one in refusals(tmp_path, pocket(*bad))
    }
    assert found[1, "bottom_ft"] == "deep"
    assert found[2, "packing"] == "so"
    assert found[3, "colors"] == "1.5"
    assert found[3, "sample"] == "nobody"


def test_a_heading_that_looks_like_other_columns_stays_one(tmp_path: Path) -> None:
    strange = 'x";dig;line;kind;date;by;note'
    (dig,) = read(tmp_path, pocket(entry("digs", DIG | {strange: "y"}))).log.digs
    assert (dig.dig, dig.extra) == ("N1", {strange: "y"})


def test_a_depth_that_is_no_number_is_refused(tmp_path: Path) -> None:
    cells = {"dig": "T1", "top_m": "deep", "bottom_m": "2"}
    (refusal,) = refusals(tmp_path, pocket(entry("layers", cells)))
    assert (refusal.row, refusal.column, refusal.found) == (1, "top_m", "deep")


def test_a_nameless_book_refuses_a_foreign_file_too(tmp_path: Path) -> None:
    known = Log(ground=Ground(log_id="b9"))
    with pytest.raises(RefusedError, match="made from this book"):
        read(tmp_path, pocket(*DAY), known=known)


def test_without_a_book_the_files_of_one_ground_go_together(tmp_path: Path) -> None:
    other = pocket(*DAY, book={"id": "b2", "name": "Elsewhere"})
    with pytest.raises(RefusedError, match="Elsewhere"):
        read(tmp_path, pocket(*DAY), other, known=Log())


def test_a_layer_without_its_bottom_is_refused_like_any_row(tmp_path: Path) -> None:
    found = refusals(tmp_path, pocket(entry("layers", {"dig": "T1", "top_m": "1"})))
    assert all("bottom" in one.expected for one in found)


HOSTILE = {
    "NaN": ("bottom_m", "NaN"),
    "Infinity": ("bottom_m", "Infinity"),
    "1.5": ("bottom_m", 'write "1.5"'),
    "true": ("bottom_m", "text in quotes"),
    '"\\u0000"': ("bottom_m", "control characters"),
    '"\\ud800"': ("bottom_m", "control characters"),
    f'"{"x" * 3000}"': ("bottom_m", "at most 2000 letters"),
    "[[]]": ("bottom_m", "text in quotes"),
}


@pytest.mark.parametrize("value", HOSTILE)
def test_a_hostile_value_is_refused_with_its_place(tmp_path: Path, value: str) -> None:
    content = pocket(entry("digs", DIG | {"bottom_m": "@"}), check="")
    column, words = HOSTILE[value]
    (refusal,) = refusals(tmp_path, content.replace(b'"@"', value.encode()))
    assert (refusal.row, refusal.column) == (1, column)
    assert words in f"{refusal.found} {refusal.expected}"


@pytest.mark.parametrize(
    "formula", ["=1+1", "+cmd|' /C calc'!A0", '"; DROP TABLE digs; --', "<script>"]
)
def test_hostile_words_stay_words(tmp_path: Path, formula: str) -> None:
    (dig,) = read(tmp_path, pocket(entry("digs", DIG | {"note": formula}))).log.digs
    assert dig.note == formula


@pytest.mark.parametrize(
    ("change", "column"),
    [
        ({"kind": "book"}, "kind"),
        ({"revision": 0}, "revision"),
        ({"revision": 1e300}, "revision"),
        ({"id": ""}, "id"),
        ({"phone": None}, "phone"),
        ({"removed": "no"}, "removed"),
        ({"cells": {}}, "cells"),
        ({"cells": []}, "cells"),
        ({"cells": {"dig": " "}}, "cells"),
        ({"cells": {" ": "x"}}, " "),
        ({"settles": {"bottom": "x"}}, "settles"),
    ],
)
def test_a_damaged_entry_is_refused(
    tmp_path: Path, change: dict[str, Any], column: str
) -> None:
    broken = pocket(entry("digs", DIG)).replace(
        json.dumps(entry("digs", DIG)).encode(),
        json.dumps(entry("digs", DIG) | change).encode(),
    )
    (refusal,) = refusals(tmp_path, broken)
    assert (refusal.row, refusal.column) == (1, column)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'["pocket_file"]', "pocket file"),
        (b'{"pocket_file": 1, "pocket_file": 1}', "each name once"),
        (b'{"pocket_file": true}', "version 1"),
        (b'{"pocket_file": 1, "book": {"id": 5}}', "id and name of the book"),
        (pocket(entries={}), "a list of at most"),
        (pocket(entries=["x"]), "an entry in braces"),
        (b'{"pocket_file": ' + b"[" * 100_000, "whole"),
        (b'{"pocket_file": ' + b"9" * 5_000 + b"}", "whole"),
        (b'{"pocket_file": \xff}', "UTF-8"),
    ],
)
def test_what_is_no_pocket_file_is_refused(
    tmp_path: Path, content: bytes, words: str
) -> None:
    assert any(words in one.expected for one in refusals(tmp_path, content))


def test_however_deep_a_value_is_nested_the_file_is_refused() -> None:
    """Somewhere in these depths reading still works and showing does not."""
    whole = pocket(entries="@")
    found = set()
    for depth in range(700, 1_000):
        nested = b"[" * depth + b"]" * depth
        try:
            refused = parse_pocket_file(whole.replace(b'"@"', nested), "deep.json")
            found.update(one.found for one in refused.refusals)
        except RefusedError as error:
            found.update(one.expected for one in error.refusals)
    assert all(len(text) <= 80 or "pocket file that is whole" in text for text in found)
    assert found


def test_the_manual_names_every_part_of_the_file() -> None:
    manual = Path(__file__).parents[2].joinpath("docs/pocket-file.md").read_text()
    told = json.loads(pocket(*DAY))
    names = {*told, *told["entries"][0], *KEY_NAMES}
    assert {name for name in names if f'"{name}"' not in manual} == set()


def test_more_entries_than_a_phone_can_hold_are_refused() -> None:
    with pytest.raises(RefusedError, match=rf"found '{MOST_ENTRIES + 1} entries'"):
        parse_pocket_file(pocket(entries=[0] * (MOST_ENTRIES + 1)), "big.json")


def test_a_pocket_file_beside_the_same_table_is_refused(tmp_path: Path) -> None:
    (tmp_path / "digs.csv").write_text("dig,easting_m,northing_m\nT1,1,2\n")
    found = refusals(tmp_path, pocket(*DAY), pocket(*DAY))
    assert any("take them in one by one" in one.expected for one in found)


def test_the_check_sum_is_that_of_the_published_crc() -> None:
    """CRC-32 of "123456789" is cbf43926 (check value of ISO 3309 / ITU-T V.42)."""
    assert f"{zlib.crc32(b'123456789'):08x}" == "cbf43926"
    assert re.fullmatch("[0-9a-f]{8}", check_sum([as_entry(DAY[0])]))


def test_headings_are_taken_apart_only_where_they_carry_a_unit() -> None:
    assert split_heading("largest_clast_in") == ("largest_clast", "in")
    assert split_heading("bearing_deg") == ("bearing_deg", "")
    assert Thing("digs", 1).said() == {}
