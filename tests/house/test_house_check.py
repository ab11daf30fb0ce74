"""Each house rule against the shortest file that breaks it."""

import textwrap
from pathlib import Path

import pytest

from house_check import SourceFile, breaches


def rules_broken(text: str, inside: str = "sampling/grade.py") -> list[str]:
    source = SourceFile(textwrap.dedent(text), Path(inside))
    return [breach.rule for breach in breaches(source)]


GOOD = '''
    """Grades."""


    def bank_grade(gold_mg: float, *, swell: float) -> float:
        """Return the grade.

        Parameters
        ----------
        gold_mg : float
            Gold found [mg].
        swell : float
            Growth when dug [-].

        Returns
        -------
        float
            Grade [mg/m3 bank].
        """
        if swell < 0:
            msg = f"swell is {swell}; it must be 0 or more."
            raise ValueError(msg)
        return gold_mg * (1 + swell)
'''


FOUR_DEEP = """\
def _pan(a):
    for b in a:
        for c in b:
            while c:
                if c > 1:
                    return
"""


def test_a_good_file_breaks_nothing() -> None:
    assert rules_broken(GOOD) == []


@pytest.mark.parametrize(
    ("rule", "text"),
    [
        ("empty-word", "class StreakManager:\n    '''Streaks.'''\n"),
        ("docstring", "def swell():\n    return 0.25\n"),
        ("keyword-only", "def pan(s, n, gold, swell):\n    '''Pan.'''\n"),
        ("arguments", "def _pan(a, b, c, *, d, e, f, g, h): ...\n"),
        ("error-value", "def _pan():\n    raise ValueError('bad swell')\n"),
        ("function-length", "def _pan():\n" + "    a = 1\n" * 60),
        ("file-length", "a = 1\n" * 401),
        ("nesting", FOUR_DEEP),
    ],
)
def test_rule_catches_its_breach(rule: str, text: str) -> None:
    assert rules_broken(text, "pictures/plan.py") == [rule]


def test_unit_missing_from_an_arithmetic_docstring_is_caught() -> None:
    assert rules_broken(GOOD.replace("[mg].", ".")) == ["unit"]


def test_section_missing_from_an_arithmetic_docstring_is_caught() -> None:
    assert rules_broken(GOOD.replace("Returns\n        -------", "")) == ["docstring"]


def test_units_are_asked_for_in_arithmetic_rooms_only() -> None:
    assert rules_broken(GOOD.replace("[mg].", "."), "paper/report.py") == []


@pytest.mark.parametrize("call", ["print(1)", "open('x')", "np.random.default_rng()"])
def test_arithmetic_rooms_do_nothing_to_the_world(call: str) -> None:
    assert rules_broken(f"{call}\n", "worth/cut.py") == ["side-effect"]
    assert rules_broken(f"{call}\n", "web/app.py") == []


def test_an_elif_is_no_deeper_than_its_if() -> None:
    chain = "def _size(a):\n    if a == 0:\n        return 0\n"
    chain += "".join(f"    elif a == {n}:\n        return {n}\n" for n in range(1, 9))
    assert rules_broken(chain) == []


def test_docstrings_comments_and_blank_lines_are_not_counted() -> None:
    prose = '    """Pan.\n' + "\n    more\n" * 70 + '    """\n' + "    # why\n\n" * 70
    assert rules_broken("def _pan():\n" + prose + "    return 1\n") == []


def test_a_function_inside_a_function_needs_no_docstring() -> None:
    text = "def _outer():\n    def inner():\n        return 1\n    return inner\n"
    assert rules_broken(text) == []


def test_a_file_named_for_nothing_is_caught() -> None:
    assert rules_broken("a = 1\n", "sampling/pan_utils.py") == ["empty-word"]


def test_the_init_of_a_room_holds_one_docstring_only() -> None:
    assert rules_broken('"""A room."""\n', "sampling/__init__.py") == []
    assert rules_broken("from x import y\n", "sampling/__init__.py") == ["room"]
