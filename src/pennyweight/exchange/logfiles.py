"""The files of a field log: out of a folder, a .zip or a single file, safely.

Everything is read into memory under fixed limits, so that a damaged or hostile archive
is refused before it fills the disk. Nothing is ever unpacked to a path.
"""

from __future__ import annotations

import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from pennyweight.errors import CallError, Refusal, RefusedError

#: Limits of what is taken in one go.
MOST_FILES = 5_000
LARGEST_FILE_BYTES = 400_000_000
LARGEST_LOG_BYTES = 1_000_000_000
#: An archive that unpacks to more than this many times its size is not a log ...
LARGEST_RATIO = 200
#: ... unless it is small anyway [bytes].
SMALL_BYTES = 20_000_000

#: All that the archive library raises over damaged bytes.
_DAMAGE = (
    *(zipfile.BadZipFile, zlib.error, struct.error, EOFError, IndexError),
    *(OSError, RuntimeError, ValueError),
)

#: What other programs leave lying about.
_LITTER = {"__macosx", "thumbs.db", "desktop.ini"}


def read_files(path: Path) -> dict[str, bytes]:
    """Return the files of a log by name, without folders.

    Parameters
    ----------
    path : Path
        A folder, a .zip of one, or one file of a log.

    Raises
    ------
    CallError
        There is nothing at that path.
    RefusedError
        It is too large, damaged, or holds two files of one name.
    """
    if not path.exists():
        msg = f"{path.name!r} is not there; name a folder, a .zip or a file of a log."
        raise CallError(msg)
    if path.is_dir():
        return _not_empty(path.name, _gather(path.name, _folder_entries(path)))
    if path.suffix.lower() == ".zip":
        return _not_empty(path.name, _gather(path.name, _zip_entries(path)))
    return _gather(path.name, iter([(path.name, _read_limited(path))]))


def _not_empty(log_name: str, files: dict[str, bytes]) -> dict[str, bytes]:
    """Refuse a log without files: likely the wrong one, or packed too early."""
    if not files:
        expected = "files of a field log in it, like samples.csv; this one is empty"
        raise _refused(log_name, "no file", expected)
    return files


def _gather(log_name: str, entries: Iterator[tuple[str, bytes]]) -> dict[str, bytes]:
    """Return entries by their base name, within the limits."""
    files: dict[str, bytes] = {}
    names: dict[str, str] = {}
    total = 0
    for entry, content in entries:
        name = PurePosixPath(entry).name
        lower = name.lower()
        if lower in names:
            found = f"{entry} beside {names[lower]}"
            raise _refused(log_name, found, "each file name once in a log")
        total += len(content)
        if total > LARGEST_LOG_BYTES or len(files) >= MOST_FILES:
            found = f"{len(files) + 1} files of {total} bytes"
            expected = f"at most {MOST_FILES} files of {LARGEST_LOG_BYTES} bytes in all"
            raise _refused(log_name, found, expected)
        names[lower] = entry
        files[name] = content
    return files


def _refused(file: str, found: str, expected: str) -> RefusedError:
    return RefusedError([Refusal(file, None, None, found, expected)])


def _is_litter(parts: tuple[str, ...]) -> bool:
    return any(part.startswith(".") or part.lower() in _LITTER for part in parts)


def _read_limited(path: Path) -> bytes:
    size = path.stat().st_size
    if size > LARGEST_FILE_BYTES:
        expected = f"a file of at most {LARGEST_FILE_BYTES} bytes"
        raise _refused(path.name, f"{size} bytes", expected)
    return path.read_bytes()


def _folder_entries(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Return the files of a folder and of the folders in it, links left out."""
    for path in sorted(folder.rglob("*")):
        inside = path.relative_to(folder)
        if path.is_symlink() or any(
            (folder / parent).is_symlink() for parent in inside.parents
        ):
            raise _refused(
                folder.name,
                f"{inside.as_posix()}, a link",
                "files themselves; copy what the link points to",
            )
        if path.is_file() and not _is_litter(inside.parts):
            yield inside.as_posix(), _read_limited(path)


def _zip_entries(path: Path) -> Iterator[tuple[str, bytes]]:
    """Return the files of an archive, each checked before it is unpacked."""
    try:
        with zipfile.ZipFile(path) as archive:
            members = [one for one in archive.infolist() if not one.is_dir()]
            _check_sizes(path, members)
            for member in members:
                name = _checked_name(path.name, member)
                if not _is_litter(PurePosixPath(name).parts):
                    yield name, _unpack(path.name, archive, member)
    except _DAMAGE as wrong:
        expected = "a .zip that is whole; copy it again from where it came"
        raise _refused(path.name, str(wrong), expected) from wrong


def _check_sizes(path: Path, members: list[zipfile.ZipInfo]) -> None:
    told = sum(member.file_size for member in members)
    packed = max(path.stat().st_size, 1)
    if len(members) > MOST_FILES or told > LARGEST_LOG_BYTES:
        expected = f"at most {MOST_FILES} files of {LARGEST_LOG_BYTES} bytes in all"
        found = f"{len(members)} files of {told} bytes"
        raise _refused(path.name, found, expected)
    if told > SMALL_BYTES and told / packed > LARGEST_RATIO:
        found = f"{told} bytes packed into {packed}"
        expected = f"an archive that unpacks to at most {LARGEST_RATIO} times its size"
        raise _refused(path.name, found, expected)


def _checked_name(log_name: str, member: zipfile.ZipInfo) -> str:
    """Return the member's name if it stays inside the log."""
    name = member.filename.replace("\\", "/")
    inside = PurePosixPath(name)
    if inside.is_absolute() or ".." in inside.parts or ":" in name:
        expected = "names inside the archive, without .., drives or a leading /"
        raise _refused(log_name, member.filename, expected)
    if stat.S_ISLNK(member.external_attr >> 16):
        expected = "files themselves; pack what the link points to"
        raise _refused(log_name, f"{member.filename}, a link", expected)
    if member.flag_bits & 0x1:
        expected = "an archive without a password"
        raise _refused(log_name, f"{member.filename}, locked", expected)
    return name


def _unpack(log_name: str, archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> bytes:
    """Return a member's bytes; what it says of its own size is not trusted."""
    limit = min(LARGEST_FILE_BYTES, member.file_size)
    with archive.open(member) as stream:
        content = stream.read(limit + 1)
    if len(content) > limit:
        found = f"{member.filename}: more than {limit} bytes"
        raise _refused(log_name, found, "files no larger than the archive says")
    return content
