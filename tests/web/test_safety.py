"""Nobody but our own page on this machine is let in, and nothing runs in a page."""

import re

import pytest

from pennyweight.web.safety import own_name
from tests.web.conftest import HERE, Visitor

VIEWS = ("/", "/reckon", "/book/small/seen/samples", "/book/small/take")


@pytest.mark.parametrize(
    ("host", "ours"),
    [
        ("127.0.0.1:8000", True),
        ("localhost", True),
        ("[::1]:80", True),
        ("pennyweight.example", False),
        ("127.0.0.1.evil.example:8000", False),
        ("", False),
        ("[", False),
    ],
)
def test_only_names_of_this_machine_are_ours(host: str, ours: bool) -> None:
    assert own_name(host) is ours


def test_a_foreign_host_name_is_turned_away(small: Visitor) -> None:
    answer = small.read("/", Host="rebound.example:8700")
    assert answer.status_code == 403
    assert "rebound.example" in answer.text


def test_a_form_from_another_site_changes_nothing(small: Visitor) -> None:
    word = small.app.state.token
    answer = small.client.post(
        "/new",
        data={"name": "Stolen", "token": word},
        headers={"Origin": "http://evil.example"},
    )
    assert answer.status_code == 403
    assert "evil.example" in answer.text
    assert "Stolen" not in small.read("/").text


def test_another_port_of_this_machine_is_another_site(small: Visitor) -> None:
    answer = small.client.post("/new", data={}, headers={"Origin": "http://127.0.0.1"})
    assert answer.status_code == 403


def test_a_form_that_says_it_crosses_sites_is_turned_away(small: Visitor) -> None:
    headers = {"Sec-Fetch-Site": "cross-site"}
    answer = small.client.post("/new", data={"name": "x"}, headers=headers)
    assert answer.status_code == 403


def test_a_form_without_our_word_is_turned_away(small: Visitor) -> None:
    answer = small.client.post("/new", data={"name": "x"}, headers={"Origin": HERE})
    assert answer.status_code == 403
    assert "earlier start" in answer.text


@pytest.mark.parametrize("path", VIEWS)
def test_no_page_holds_script_or_style_of_its_own(small: Visitor, path: str) -> None:
    page = small.read(path).text
    assert not re.search(r"<script(?![^>]*\ssrc=)", page)
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=", page)
    assert not re.search(r"""(?:src|href|action)=["']?(?:https?:)?//""", page)


def test_the_policy_lets_nothing_in_from_outside(small: Visitor) -> None:
    policy = small.read("/").headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def test_answers_are_not_kept_by_the_browser(small: Visitor) -> None:
    assert small.read("/").headers["cache-control"] == "no-store"


def test_what_was_typed_is_inert_in_the_page(small: Visitor) -> None:
    hostile = "<script>alert(1)</script>"
    small.ask("/book/small/seen/digs/add", dig=hostile)
    page = small.read("/book/small/seen/digs").text
    assert hostile not in page
    assert "&lt;script&gt;" in page
