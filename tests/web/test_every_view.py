"""Every view answers: on a small ground with its numbers, on an empty one in words."""

import re

import pytest

from tests.web.conftest import Visitor, words_of

BOOK = "/book/small"
VIEWS = (
    "seen",
    "pans",
    "pans/line/T2",
    "pans/dig/T2-2",
    "run",
    "run?picture=valley",
    "run?picture=fence",
    "run?picture=section",
    "run?picture=gold",
    "from",
    "from?picture=map",
    "floods",
    "worth",
    "next",
    "take",
)


@pytest.mark.parametrize("view", VIEWS)
def test_a_view_opens_with_one_heading_and_its_picture(
    settled: Visitor, view: str
) -> None:
    answer = settled.wait_for(f"{BOOK}/{view}")
    assert answer.status_code == 200
    assert len(re.findall(r"<h1", answer.text)) == 1
    assert view == "take" or 'role="img"' in answer.text


@pytest.mark.parametrize("view", VIEWS)
def test_no_id_stands_twice_in_a_view(settled: Visitor, view: str) -> None:
    page = settled.wait_for(f"{BOOK}/{view}").text
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert sorted(ids) == sorted(set(ids))


@pytest.mark.parametrize("view", VIEWS)
def test_the_question_that_is_open_is_marked(settled: Visitor, view: str) -> None:
    page = settled.wait_for(f"{BOOK}/{view}").text
    (current,) = re.findall(r'href="([^"]+)" aria-current="page"', page)
    assert current == f"{BOOK}/{re.split(r'[/?]', view)[0]}"


@pytest.mark.parametrize("question", ["seen", "pans", "run", "from", "worth", "next"])
def test_a_program_gets_the_answer_as_json(settled: Visitor, question: str) -> None:
    settled.wait_for(f"{BOOK}/{question}")
    told = settled.wait_for(f"{BOOK}/{question}.json").json()
    assert told["book"]["name"] == "Small Creek"
    assert "assumptions" in told


def test_the_questions_stand_in_every_page(settled: Visitor) -> None:
    page = settled.read(f"{BOOK}/take").text
    assert "What have I seen?" in page
    assert "Where does it come from?" in page


def test_the_verdict_says_that_its_interval_is_80_percent(settled: Visitor) -> None:
    page = words_of(settled.wait_for(f"{BOOK}/pans").text)
    assert re.search(r"mg/m³ \(80 %: [\d.,]+\S[\d.,]+\)", page)


def test_feet_are_read_all_through(settled: Visitor) -> None:
    settled.client.cookies.set("units", "feet")
    try:
        page = words_of(settled.wait_for(f"{BOOK}/pans").text)
    finally:
        settled.client.cookies.clear()
    assert "mg/yd³" in page
    assert "mg/m³" not in page


def test_pictures_wear_the_inks_of_the_page(settled: Visitor) -> None:
    page = settled.wait_for(f"{BOOK}/seen").text
    assert 'fill="var(--paper)"' in page
    assert "#fbf7ee" not in page


def test_a_phone_gets_a_narrow_picture(settled: Visitor) -> None:
    settled.client.cookies.set("width", "narrow")
    try:
        page = settled.wait_for(f"{BOOK}/seen").text
    finally:
        settled.client.cookies.clear()
    assert 'viewBox="0 0 366 ' in page


def test_what_is_picked_in_a_picture_is_told(settled: Visitor) -> None:
    note = settled.wait_for(f"{BOOK}/pans/note?dig=T2-2").text
    assert "Dig T2-2" in note
    assert "80" in words_of(note)
    assert "There is no such dig" in settled.wait_for(f"{BOOK}/pans/note?dig=zz").text


def test_a_streak_that_is_picked_is_told(settled: Visitor) -> None:
    trace = settled.wait_for(f"{BOOK}/run.json").json()
    name = trace["streaks"][0]["id"]
    note = settled.wait_for(f"{BOOK}/run/note?streak={name}").text
    assert f"Streak {name}" in note
    assert settled.wait_for(f"{BOOK}/run/note?streak=QQ").status_code == 404


def test_another_cutoff_is_traced_in_the_units_typed(settled: Visitor) -> None:
    told = settled.wait_for(f"{BOOK}/run.json?cutoff=0,25 g/m3").json()
    assert told["cutoff_mg_m3"] == pytest.approx(250.0)
    assert settled.read(f"{BOOK}/run?cutoff=-3").status_code == 422
    assert settled.read(f"{BOOK}/run?cutoff=much").status_code == 422


def test_what_is_not_chosen_is_not_drawn(settled: Visitor) -> None:
    with_streaks = settled.wait_for(f"{BOOK}/run?show=streaks").text
    without = settled.wait_for(f"{BOOK}/run?show=grades").text
    assert "data-streak=" in with_streaks
    assert "data-streak=" not in without


@pytest.mark.parametrize(
    "path", ["run?picture=globe", "pans/line/ZZ", "pans/dig/ZZ", "next?days=0"]
)
def test_what_is_not_there_is_told(settled: Visitor, path: str) -> None:
    assert settled.wait_for(f"{BOOK}/{path}").status_code in (404, 422)


@pytest.fixture
def empty(visitor: Visitor) -> Visitor:
    visitor.send("/new", name="Empty")
    visitor.ask("/book/empty/seen/digs/add", dig="A")
    return visitor


@pytest.mark.parametrize("view", ["pans", "run", "worth", "next", "pans/dig/A"])
def test_a_book_that_can_tell_nothing_says_so(empty: Visitor, view: str) -> None:
    answer = empty.wait_for(f"/book/empty/{view}")
    assert answer.status_code == 200
    assert "cannot be told yet" in answer.text
    assert "What have I seen?" in answer.text


def test_a_program_is_told_the_same_as_a_status(empty: Visitor) -> None:
    answer = empty.wait_for("/book/empty/pans.json")
    assert answer.status_code == 422
    assert "sample" in answer.json()["lines"][0]


def test_digs_are_shown_before_anything_is_washed(empty: Visitor) -> None:
    answer = empty.wait_for("/book/empty/seen")
    assert answer.status_code == 200
    assert 'role="img"' in answer.text
    assert "1 dig" in words_of(answer.text)
