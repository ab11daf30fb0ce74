"""The error tree, and how a refusal is said."""

import pytest

from pennyweight import errors


@pytest.mark.parametrize(
    ("kind", "code"),
    [
        (errors.PennyweightError, 1),
        (errors.CallError, 2),
        (errors.TooLittleError, 3),
        (errors.ClosedBookError, 5),
        (errors.DamagedBookError, 6),
    ],
)
def test_each_error_has_its_own_exit_code(
    kind: type[errors.PennyweightError], code: int
) -> None:
    assert kind("words").exit_code == code
    assert issubclass(kind, errors.PennyweightError)


def test_refusal_names_file_row_column_and_what_was_found() -> None:
    refusal = errors.Refusal("samples.csv", 7, "top_ft", "-2", "a depth of 0 or more")
    assert refusal.line() == (
        "samples.csv row 7 column top_ft: found '-2'; expected a depth of 0 or more"
    )


def test_refusal_without_a_row_names_the_file_alone() -> None:
    refusal = errors.Refusal("digs.csv", None, None, "0xff", "UTF-8 text")
    assert refusal.line() == "digs.csv: found '0xff'; expected UTF-8 text"


def test_refused_error_says_every_refusal_on_its_own_line() -> None:
    wrong = [errors.Refusal("a.csv", row, "dig", "", "a dig") for row in (2, 5)]
    error = errors.RefusedError(wrong)
    assert error.exit_code == 4
    assert str(error).splitlines() == [one.line() for one in wrong]


@pytest.mark.parametrize("problem", ["it lies far away", "it lies far away."])
def test_a_finding_is_said_in_two_sentences(problem: str) -> None:
    finding = errors.Finding("dig T4", problem, "Check its place.", "doubt")
    assert finding.line() == "dig T4: it lies far away. Check its place."
