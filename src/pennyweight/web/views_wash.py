"""What still waits to be washed, each sample with its own place for what was in it."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import Response
from starlette.routing import Route

from pennyweight.records import Log, Sample
from pennyweight.web.colors import SIZES, WEIGHTS, keep_counted
from pennyweight.web.page import Ask, door
from pennyweight.web.strip import unwashed


@dataclass(frozen=True)
class Waiting:
    """The samples of one dig that wait.

    Attributes
    ----------
    dig : str
        Its name.
    samples : tuple of Sample
        From the top down.
    """

    dig: str
    samples: tuple[Sample, ...]


def waiting_by_dig(log: Log) -> list[Waiting]:
    """Return what waits to be washed, dig by dig."""
    wet = unwashed(log)
    by_dig: dict[str, list[Sample]] = {}
    for sample in log.samples:
        if sample.sample in wet:
            by_dig.setdefault(sample.dig, []).append(sample)
    return [
        Waiting(dig, tuple(sorted(found, key=lambda one: one.top_m or 0.0)))
        for dig, found in by_dig.items()
    ]


def show_waiting(ask: Ask) -> Response:
    """Show what waits; the sample that the address names is open."""
    return _page(ask, ask.query("sample"), {})


def _page(ask: Ask, opened: str, errors: dict[str, str]) -> Response:
    return ask.show(
        "wash.html",
        status=422 if errors else 200,
        question="seen",
        waiting=waiting_by_dig(ask.desk.log),
        opened=opened,
        sizes=SIZES,
        weights=WEIGHTS,
        values=ask.form,
        errors=errors,
        back=ask.query("back") or ask.sent("back"),
    )


def keep_what_was_in_it(ask: Ask) -> Response:
    """Keep the colors of one sample, and go back to what is left."""
    sample = ask.sent("sample")
    errors = keep_counted(ask.desk, ask.form, sample, who=ask.who)
    if errors:
        return _page(ask, sample, errors)
    dig = next(one.dig for one in ask.desk.log.samples if one.sample == sample)
    if ask.sent("back") == "dig" or not unwashed(ask.desk.log):
        return ask.to("pans", "dig", dig)
    return ask.to("seen", "wash")


ROUTES = [
    Route("/seen/wash", door(show_waiting)),
    Route("/seen/wash", door(keep_what_was_in_it), methods=["POST"]),
]
