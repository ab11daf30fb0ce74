"""Where does it run? Streaks on the map, along the valley, wall after wall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.grade import GradeAnswer, grade_ground
from pennyweight.answers.ground import GroundAnswer, show_ground
from pennyweight.answers.nextdigs import plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import total_sentences, trace_verdict
from pennyweight.answers.trace import Streak, TraceAnswer, trace_streaks
from pennyweight.answers.worth import weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.pictures.charts import draw_gold_chart
from pennyweight.pictures.fence import draw_fence
from pennyweight.pictures.longsection import draw_long_section
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look
from pennyweight.pictures.valleystrip import draw_valley_strip
from pennyweight.units import parse_quantity
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.page import Ask, door
from pennyweight.web.views_draw import flow_of

#: The pictures: part of the address -> words.
KINDS: Mapping[str, str] = {
    "map": "Map",
    "valley": "Straightened valley",
    "fence": "Wall after wall",
    "section": "Long section",
    "gold": "How much gold",
}

#: What can be left out of the map: name -> words.
LAYERS: Mapping[str, str] = {
    "terrain": "terrain",
    "grades": "grades",
    "streaks": "streaks",
    "cut": "the cut",
    "next": "next digs",
}
USUAL = ("terrain", "grades", "streaks")


@dataclass(frozen=True)
class Run:
    """Streaks with one picture of them."""

    trace: TraceAnswer
    ground: GroundAnswer
    grade: GradeAnswer
    picture: Markup


@dataclass(frozen=True)
class FarEnd:
    """How far beyond the lines a streak is followed, and how well."""

    toward: str
    off_m: float
    wide_m: float
    probability: float


@dataclass(frozen=True)
class Wish:
    """What is to be drawn."""

    kind: str
    shown: tuple[str, ...]
    cutoff_mg_m3: float | None
    look: Look


def read_wish(ask: Ask) -> Wish:
    """Return what the address asks for."""
    kind = ask.query("picture", "map")
    if kind not in KINDS:
        msg = f"There is no picture {kind!r}; there are {', '.join(KINDS)}."
        raise PageError(msg, 404)
    chosen = ask.request.query_params.getlist("show")
    shown = tuple(name for name in LAYERS if name in chosen) if chosen else USUAL
    return Wish(kind, shown, read_cutoff(ask), look_of(ask))


def read_cutoff(ask: Ask) -> float | None:
    """Return the cutoff that was typed, in mg/m3; None for the book's own."""
    text = ask.query("cutoff").strip()
    if not text:
        return None
    try:
        value = parse_number(text)
    except FieldError:
        try:
            return parse_quantity(text, "grade")
        except ValueError as error:
            raise PageError(str(error), 422) from error
    if value <= 0.0:
        msg = f"A cutoff of {text} is not above 0. Leave it empty for the book's own."
        raise PageError(msg, 422)
    return parse_quantity(f"{value} {ask.measures.grade}", "grade")


def follow(reading: Reading, wish: Wish) -> Run:
    """Return the streaks with the picture that is wished for."""
    ground, grade = show_ground(reading), grade_ground(reading)
    trace = trace_streaks(reading, wish.cutoff_mg_m3)
    look = wish.look
    draw = {
        "map": lambda: _draw_map(reading, wish, ground, grade=grade, trace=trace),
        "valley": lambda: draw_valley_strip(ground, trace, look=look, grade=grade),
        "fence": lambda: draw_fence(ground, grade, look=look, trace=trace),
        "section": lambda: draw_long_section(ground, look=look, trace=trace),
        "gold": lambda: draw_gold_chart(trace, look),
    }
    return Run(trace, ground, grade, on_page(draw[wish.kind](), wish.look))


def _draw_map(
    reading: Reading,
    wish: Wish,
    ground: GroundAnswer,
    *,
    grade: GradeAnswer,
    trace: TraceAnswer,
) -> str:
    """Return the plan map with what was chosen by name."""
    bare = ground if "terrain" in wish.shown else replace(ground, elevation=None)
    worth = nextdigs = None
    if "cut" in wish.shown:
        try:
            worth = weigh_worth(reading)
        except TooLittleError:
            worth = None
    if "next" in wish.shown:
        nextdigs = plan_digs(reading)
    return draw_plan(
        bare,
        wish.look,
        grade=grade if "grades" in wish.shown else None,
        trace=trace if "streaks" in wish.shown else None,
        worth=worth,
        nextdigs=nextdigs,
    )


def far_ends(trace: TraceAnswer) -> list[tuple[Streak, FarEnd]]:
    """Return each streak with the place farthest beyond the lines that it may reach."""
    ends = []
    for streak in trace.streaks:
        for toward, at in (("upstream", 0), ("downstream", -1)):
            places = [one for one in streak.beyond if one.toward == toward]
            if not places or not streak.path:
                continue
            last = places[-1]
            wide_m = last.center_n_m.p90 - last.center_n_m.p10
            off_m = abs(last.s_m - streak.path[at].s_m)
            ends.append((streak, FarEnd(toward, off_m, wide_m, last.probability)))
    return ends


def show_run(ask: Ask) -> Response:
    """Show where the pay runs."""
    wish = read_wish(ask)
    run = ask.desk.ask(("run", wish), lambda reading: follow(reading, wish))
    return ask.show_answer(
        "run.html",
        run.trace,
        question="run",
        run=run,
        flow=flow_of(ask.desk.reading()),
        wish=wish,
        kinds=KINDS,
        layers=LAYERS,
        verdict=trace_verdict(run.trace, ask.measures),
        total=total_sentences(run.trace, ask.measures),
        cutoff=ask.query("cutoff"),
        going_on=far_ends(run.trace),
        assumed=show_assumptions(run.trace.assumptions),
    )


def show_streak(ask: Ask) -> Response:
    """Tell about the streak, the dig or the proposed dig that was picked."""
    if ask.query("dig"):
        return ask.to("pans", f"note?dig={ask.query('dig')}")
    cutoff = read_cutoff(ask)
    trace = ask.desk.ask(
        ("trace", cutoff), lambda reading: trace_streaks(reading, cutoff)
    )
    name = ask.query("streak")
    streak = next((one for one in trace.streaks if one.id == name), None)
    if streak is None:
        msg = f"There is no streak {name!r} at this cutoff."
        raise PageError(msg, 404)
    merges = [one for one in trace.merges if name in (*one.from_, one.into)]
    ends = [end for one, end in far_ends(trace) if one.id == name]
    return ask.show("note_streak.html", streak=streak, merges=merges, far_ends=ends)


ROUTES = [
    Route("/run", door(show_run)),
    Route("/run.json", door(show_run)),
    Route("/run/note", door(show_streak)),
]
