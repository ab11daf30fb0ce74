"""Folders, archives and single files: hostile and damaged ones are refused."""

import stat
import zipfile
from pathlib import Path
from typing import Any

import pytest

from pennyweight.errors import CallError, RefusedError
from pennyweight.exchange import logfiles
from pennyweight.exchange.logfiles import read_files


def make_zip(path: Path, *members: tuple[str | zipfile.ZipInfo, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            archive.writestr(name, content, zipfile.ZIP_DEFLATED)
    return path


def refusal_of(path: Path) -> Any:
    with pytest.raises(RefusedError) as refused:
        read_files(path)
    return refused.value.refusals[0]


def test_a_folder_gives_its_files_without_what_other_programs_leave(
    tmp_path: Path,
) -> None:
    (tmp_path / "photos").mkdir()
    for name in ("digs.csv", "photos/a.jpg", ".DS_Store", "Thumbs.db"):
        (tmp_path / name).write_bytes(name.encode())
    assert read_files(tmp_path) == {"a.jpg": b"photos/a.jpg", "digs.csv": b"digs.csv"}


def test_a_zip_of_a_folder_gives_the_same(tmp_path: Path) -> None:
    path = make_zip(
        tmp_path / "log.zip",
        ("creek/digs.csv", b"d"),
        ("__MACOSX/creek/._digs.csv", b"x"),
        ("creek/photos/", b""),
    )
    assert read_files(path) == {"digs.csv": b"d"}


def test_windows_separators_in_an_archive_are_understood(tmp_path: Path) -> None:
    path = make_zip(tmp_path / "log.zip", ("creek\\digs.csv", b"d"))
    assert read_files(path) == {"digs.csv": b"d"}


def test_a_single_file_is_a_log_of_one(tmp_path: Path) -> None:
    path = tmp_path / "digs.csv"
    path.write_bytes(b"d")
    assert read_files(path) == {"digs.csv": b"d"}


def test_a_path_with_nothing_is_a_wrong_call(tmp_path: Path) -> None:
    with pytest.raises(CallError, match=r"'gone\.zip' is not there"):
        read_files(tmp_path / "gone.zip")


def test_one_name_twice_is_refused(tmp_path: Path) -> None:
    path = make_zip(tmp_path / "log.zip", ("a/digs.csv", b"1"), ("b/Digs.csv", b"2"))
    assert refusal_of(path).found == "b/Digs.csv beside a/digs.csv"


@pytest.mark.parametrize(
    "name", ["../digs.csv", "/etc/digs.csv", "C:\\digs.csv", "a/../../digs.csv"]
)
def test_names_that_lead_out_of_the_archive_are_refused(
    tmp_path: Path, name: str
) -> None:
    path = make_zip(tmp_path / "log.zip", (zipfile.ZipInfo(name), b"d"))
    assert "names inside the archive" in refusal_of(path).expected


def test_links_in_an_archive_are_refused(tmp_path: Path) -> None:
    link = zipfile.ZipInfo("digs.csv")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    path = make_zip(tmp_path / "log.zip", (link, b"/etc/passwd"))
    assert refusal_of(path).found == "digs.csv, a link"


def test_links_in_a_folder_are_refused(tmp_path: Path) -> None:
    (tmp_path / "log").mkdir()
    (tmp_path / "elsewhere.csv").write_bytes(b"secret")
    (tmp_path / "log" / "digs.csv").symlink_to(tmp_path / "elsewhere.csv")
    assert refusal_of(tmp_path / "log").found == "digs.csv, a link"


def test_an_archive_with_a_password_is_refused(tmp_path: Path) -> None:
    path = make_zip(tmp_path / "log.zip", ("digs.csv", b"d"))
    content = bytearray(path.read_bytes())
    # The flag for encryption, in the local header and in the directory.
    content[6] |= 1
    content[content.rindex(b"PK\x01\x02") + 8] |= 1
    path.write_bytes(content)
    assert refusal_of(path).expected == "an archive without a password"


def test_a_bomb_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    path = make_zip(tmp_path / "log.zip", ("digs.csv", bytes(30_000_000)))
    assert "at most 200 times its size" in refusal_of(path).expected


def test_a_member_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    path = make_zip(tmp_path / "log.zip", ("digs.csv", bytes(100_000)))
    content = bytearray(path.read_bytes())
    at = content.rindex(b"PK\x01\x02") + 24
    content[at : at + 4] = (10).to_bytes(4, "little")
    path.write_bytes(content)
    assert refusal_of(path).file == "log.zip"


@pytest.mark.parametrize("cut", [5, 40])
def test_a_damaged_archive_is_refused(tmp_path: Path, cut: int) -> None:
    path = make_zip(tmp_path / "log.zip", ("digs.csv", b"dig\n" * 50))
    path.write_bytes(path.read_bytes()[:-cut])
    assert "copy it again" in refusal_of(path).expected


def test_a_damaged_member_is_refused(tmp_path: Path) -> None:
    path = make_zip(tmp_path / "log.zip", ("digs.csv", bytes(range(256)) * 40))
    content = bytearray(path.read_bytes())
    content[60] ^= 0xFF
    path.write_bytes(content)
    assert "copy it again" in refusal_of(path).expected


def test_a_damaged_name_is_refused(tmp_path: Path) -> None:
    path = make_zip(tmp_path / "log.zip", ("kies-über.csv", b"d"))
    content = path.read_bytes().replace("ü".encode(), b"\xff\xfe")
    path.write_bytes(content)
    assert "copy it again" in refusal_of(path).expected


def test_limits_hold_for_files_and_for_the_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "log").mkdir()
    for name in ("a.csv", "b.csv"):
        (tmp_path / "log" / name).write_bytes(bytes(60))
    packed = make_zip(tmp_path / "log.zip", ("a.csv", bytes(60)), ("b.csv", bytes(60)))
    monkeypatch.setattr(logfiles, "LARGEST_LOG_BYTES", 100)
    assert refusal_of(tmp_path / "log").found == "2 files of 120 bytes"
    assert refusal_of(packed).found == "2 files of 120 bytes"
    monkeypatch.setattr(logfiles, "LARGEST_FILE_BYTES", 50)
    assert refusal_of(tmp_path / "log").found == "60 bytes"
    monkeypatch.setattr(logfiles, "LARGEST_LOG_BYTES", 1000)
    assert "more than 50 bytes" in refusal_of(packed).found
