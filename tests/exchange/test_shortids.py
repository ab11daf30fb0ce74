"""Bag ids: check characters against published ones, and slips of the pen."""

import pytest

from pennyweight.exchange.shortids import (
    ALPHABET,
    BATCH_LETTERS,
    check_character,
    find_batch,
    has_check,
    next_number,
    number_bags,
    number_digs,
    parse_bag_id,
)

# Published identifiers that carry a check character of ISO/IEC 7064, MOD 37,36: the
# worked example of the GRid Standard v2.1 (recording industry, 2006) and two more
# identifiers of that kind used as test values by independent open-source libraries.
PUBLISHED = ["A12425GABC1234002M", "B159D8FA01240000K", "188166C7342000003"]


@pytest.mark.parametrize("whole", PUBLISHED)
def test_published_identifiers_have_the_right_check_character(whole: str) -> None:
    assert check_character(whole[:-1]) == whole[-1]
    assert has_check(whole)


def test_check_character_of_a_bag_by_hand() -> None:
    """P starts at 36; S = P + value mod 36 (0 -> 36); P = 2 S mod 37.

    7: S 7, P 14. K (20): S 34, P 31. 0: S 31, P 25. 1: S 26, P 15. 4: S 19, P 1.
    Check: P + c = 1 mod 36, so c = 0.
    """
    assert check_character("7K014") == "0"


def test_every_single_misread_character_is_noticed() -> None:
    whole = next(number_bags("7K", 14)).replace("-", "")
    misread = [
        whole[:at] + other + whole[at + 1 :]
        for at in range(len(whole))
        for other in ALPHABET
        if other != whole[at]
    ]
    assert not any(has_check(text) for text in misread)


def test_nearly_every_swap_of_neighbors_is_noticed() -> None:
    """The hybrid systems miss only a few pairs of neighbors."""
    swapped = missed = 0
    for bag in number_bags("7K"):
        plain = bag.replace("-", "")
        for at in range(len(plain) - 1):
            other = plain[:at] + plain[at + 1] + plain[at] + plain[at + 2 :]
            swapped += other != plain
            missed += other != plain and has_check(other)
    assert swapped > 4000
    assert missed / swapped < 0.005


def test_bags_are_numbered_in_order_without_look_alike_letters() -> None:
    bags = list(number_bags("7K"))
    assert len(set(bags)) == len(bags) > 900
    assert bags == sorted(bags)
    assert not set("".join(bags)) & set("ILO")


def test_a_bag_id_is_read_however_it_is_written() -> None:
    bag = next(number_bags("7K", 14))
    sloppy = bag.replace("-", " ").lower().replace("0", "o").replace("1", "l")
    assert parse_bag_id(sloppy) == bag
    assert parse_bag_id(bag.replace("-", "")) == bag


def test_a_wrong_check_character_is_named_with_the_right_one() -> None:
    bag = next(number_bags("7K", 20))
    wrong = bag[:-1] + ("X" if bag[-1] != "X" else "Y")
    with pytest.raises(ValueError, match=f"{wrong}.*would be {bag[-1]}"):
        parse_bag_id(wrong)


@pytest.mark.parametrize(
    "text", ["", "T4", "7K-14-W", "7K-014", "7K-0144-WW", "\u0661"]
)
def test_other_text_is_no_bag_id(text: str) -> None:
    with pytest.raises(ValueError, match="is no bag id"):
        parse_bag_id(text)


def test_a_body_with_a_strange_character_is_refused_by_value() -> None:
    with pytest.raises(ValueError, match="'a-1'"):
        check_character("a-1")


def test_the_batch_is_the_book_s_own() -> None:
    assert find_batch("b1") == find_batch("b1") != find_batch("b2")
    assert len(find_batch("b1")) == 2
    assert set(find_batch("b1")) <= set(BATCH_LETTERS)


def test_numbering_goes_on_after_the_highest_bag() -> None:
    bags = list(number_bags("7K"))
    names = [bags[3], bags[7], "T4-1", *number_bags("8K", 500)]
    assert next_number("7K", names) == int(bags[7].split("-")[1]) + 1
    assert next_number("7K", []) == 1


@pytest.mark.parametrize(("batch", "first"), [("I7", 1), ("7", 1), ("7K", 0)])
def test_a_batch_or_number_that_cannot_be_is_refused(batch: str, first: int) -> None:
    with pytest.raises(ValueError, match=r"must"):
        next(number_bags(batch, first))


def test_one_plan_names_its_digs_always_the_same_and_another_plan_differently() -> None:
    places = [(500.0, 900.0), (503.2, 901.0)]
    names = number_digs("b1", places)
    assert names == number_digs("b1", places)
    assert not set(names) & set(number_digs("b1", places[::-1]))
    assert all(name.startswith("D") and parse_bag_id(name) == name for name in names)
