"""Labels keep clear of each other and of marks; what finds no room is dropped."""

import pytest

from pennyweight.pictures.labels import (
    Box,
    Label,
    LabelKeeper,
    box_around,
    draw_labels,
    spread_apart,
)
from pennyweight.pictures.svg import Look
from pennyweight.pictures.textwidth import shorten, text_width, wrap

FRAME = Box(0.0, 0.0, 200.0, 100.0)


def label(words: str, importance: float = 1.0) -> Label:
    return Label(words=words, x_px=100.0, y_px=50.0, importance=importance)


def test_the_best_place_is_right_of_the_mark() -> None:
    box = LabelKeeper(FRAME).place(label("4A"))
    assert box is not None
    assert box.left == 106.0
    assert (box.top + box.bottom) / 2.0 == pytest.approx(50.0)


def test_a_label_keeps_off_a_mark() -> None:
    keeper = LabelKeeper(FRAME)
    keeper.block(box_around(110.0, 50.0, 8.0))
    box = keeper.place(label("4A"))
    assert box is not None
    assert not box.meets(keeper.taken[0])


def test_the_more_important_label_is_set_first() -> None:
    keeper = LabelKeeper(Box(90.0, 40.0, 130.0, 60.0))
    drawn = draw_labels([label("poor"), label("rich", 2.0)], keeper, Look())
    assert len(drawn) == 1
    assert ">rich<" in drawn[0]


def test_a_label_under_the_floor_is_not_tried() -> None:
    assert draw_labels([label("4A")], LabelKeeper(FRAME), Look(), floor=2.0) == []


def test_a_label_never_leaves_the_frame() -> None:
    keeper = LabelKeeper(FRAME)
    box = keeper.place(Label(words="at the edge", x_px=199.0, y_px=99.0))
    assert box is not None
    assert FRAME.holds(box)


def test_crowded_places_spread_around_their_middle() -> None:
    """Three at 10 px want 20 px: 10 - 20, 10, 10 + 20."""
    assert spread_apart([10.0, 10.0, 10.0], 20.0) == [-10.0, 10.0, 30.0]


def test_clusters_that_grow_into_each_other_join() -> None:
    """Means of 0, 1 - 10, 12 - 20, 13 - 30 = -8.5; then every 10."""
    places = spread_apart([0.0, 1.0, 12.0, 13.0], 10.0)
    assert places == pytest.approx([-8.5, 1.5, 11.5, 21.5])


def test_roomy_places_stay_where_they_are() -> None:
    assert spread_apart([0.0, 50.0, 90.0], 10.0) == [0.0, 50.0, 90.0]


def test_bold_text_is_wider() -> None:
    assert text_width("line 4", 12.0, bold=True) > text_width("line 4", 12.0)


def test_unknown_letters_are_taken_as_wide() -> None:
    assert text_width("\u6df1", 10.0) == 6.4


def test_words_that_fit_are_not_cut() -> None:
    assert shorten("short", 10.0, 100.0) == "short"


def test_a_word_longer_than_the_room_keeps_its_line() -> None:
    assert wrap("incomprehensible gravel", 10.0, 20.0) == ["incomprehensible", "gravel"]
