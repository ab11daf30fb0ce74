"""What holds of every picture in every look, and that none changes unseen.

A changed picture is saved as `*-changed.svg` beside the old one; look at both, then
put it in its place.
"""

import itertools
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from pennyweight.pictures.labels import Box
from tests.pictures.made_pictures import LOOKS, PICTURES
from tests.pictures.svgtexts import SVG, parse, text_lines

KEPT = Path(__file__).parent / "kept"
EACH = pytest.mark.parametrize("name", PICTURES)
IN_EACH_LOOK = pytest.mark.parametrize("look", LOOKS)

#: Embedded images hang on the compressor; their place and size stay in.
_IMAGE = re.compile(r'href="data:image/png;base64,[^"]*"')
_NUMBER = re.compile(r"-?\d+\.\d+")

_drawn: dict[tuple[str, str], str] = {}


def draw(name: str, look: str) -> str:
    """Return a picture, drawn once."""
    if (name, look) not in _drawn:
        _drawn[name, look] = PICTURES[name](LOOKS[look])
    return _drawn[name, look]


def settled(picture: str) -> str:
    """Return a picture with one element a line, rounded to a tenth of a pixel."""
    bare = _IMAGE.sub('href="image"', picture)
    rounded = _NUMBER.sub(lambda found: f"{float(found[0]):.1f}", bare)
    return rounded.replace("><", ">\n<") + "\n"


def same_picture(one: str, other: str) -> bool:
    """Tell whether two pictures differ by no more than a fifth of a pixel."""
    if _NUMBER.sub("#", one) != _NUMBER.sub("#", other):
        return False
    numbers = zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True)
    return all(abs(float(a) - float(b)) < 0.2 for a, b in numbers)


@EACH
@IN_EACH_LOOK
def test_no_words_cover_others(name: str, look: str) -> None:
    lines = text_lines(draw(name, look))
    covered = [
        (one.words, other.words)
        for one, other in itertools.combinations(lines, 2)
        if one.box.grown(-0.8).meets(other.box.grown(-0.8))
    ]
    assert covered == []


@EACH
@IN_EACH_LOOK
def test_all_words_stand_inside(name: str, look: str) -> None:
    picture = draw(name, look)
    root = parse(picture)
    frame = Box(0.0, 0.0, float(root.attrib["width"]), float(root.attrib["height"]))
    outside = [one.words for one in text_lines(picture) if not frame.holds(one.box)]
    assert outside == []


@EACH
@IN_EACH_LOOK
def test_no_type_is_too_small_to_read(name: str, look: str) -> None:
    sizes = [
        float(one.attrib["font-size"])
        for one in parse(draw(name, look)).iter(f"{SVG}text")
        if "font-size" in one.attrib
    ]
    assert min(sizes, default=12.0) >= 10.0


@EACH
def test_a_picture_says_what_it_shows_to_who_cannot_see_it(name: str) -> None:
    root = parse(draw(name, "wide"))
    desc = root.find(f"{SVG}desc")
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-label"]
    assert desc is not None
    assert (desc.text or "").endswith(".")


@EACH
def test_nothing_is_fetched_and_nothing_runs(name: str) -> None:
    picture = draw(name, "wide")
    assert "<script" not in picture
    assert "<style" not in picture
    links = re.findall(r'(?:href|src|url)\s*[=(]\s*"?([^")]*)', picture)
    assert all(link.startswith(("#", "data:image/png")) for link in links)


@EACH
def test_what_is_pointed_at_says_what_it_is(name: str) -> None:
    pointed = ("data-dig", "data-streak", "data-merge", "data-proposed", "data-sample")
    silent = [
        sorted(node.attrib)
        for node in parse(draw(name, "wide")).iter()
        if node.tag in {f"{SVG}circle", f"{SVG}rect", f"{SVG}path"}
        and any(key in node.attrib for key in pointed)
        and node.find(f"{SVG}title") is None
    ]
    assert silent == []


def _kept_cases() -> Iterator[tuple[str, str]]:
    for name in PICTURES:
        yield name, "wide"
        yield name, "phone"


@pytest.mark.parametrize(("name", "look"), list(_kept_cases()))
def test_a_picture_does_not_change_unseen(name: str, look: str) -> None:
    kept = KEPT / f"{name}-{look}.svg"
    changed = KEPT / f"{name}-{look}-changed.svg"
    found = settled(draw(name, look))
    before = kept.read_text(encoding="utf-8") if kept.exists() else ""
    same = same_picture(found, before)
    if same:
        changed.unlink(missing_ok=True)
    else:
        KEPT.mkdir(exist_ok=True)
        changed.write_text(found, encoding="utf-8")
    assert same, f"look at {changed.name} beside {kept.name}"
