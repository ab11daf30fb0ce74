"""Draw on the map: the way of the water, lines and areas, a dig, a distance."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.grade import GradeAnswer, grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.reading import Reading
from pennyweight.book.changes import Change, putting
from pennyweight.errors import TooLittleError
from pennyweight.exchange.coordinates import pick_utm
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look
from pennyweight.records import Feature
from pennyweight.valley.coordinates import Centerline
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.forms import FieldError
from pennyweight.web.page import Ask, door
from pennyweight.web.sketches import (
    SKETCH_OF,
    SKETCHES,
    FloatArray,
    direction_words,
    flow_feature,
    geometry_of,
    length_m,
    number_for,
    points_text,
    read_points,
    turned_around,
)
from pennyweight.web.writing import change_ground, write

#: Ground shown around the digs, so that a line can be drawn beyond them [m].
AROUND_M = 25.0

#: What can be done with points besides drawing: name -> words.
OTHER_USES = {"dig": "A dig here", "measure": "Only measure a distance"}


@dataclass(frozen=True)
class Flow:
    """Which way the water is taken to run.

    Attributes
    ----------
    guessed : bool
        Whether the tool guessed it.
    toward : str
        "southeast".
    lines : tuple of str
        The lines of digs in that order.
    can_keep : bool
        Whether the ground has a map grid, by which a line can be kept.
    """

    guessed: bool
    toward: str
    lines: tuple[str, ...]
    can_keep: bool


@dataclass(frozen=True)
class Drawn:
    """A feature of the record in the list of what is drawn."""

    feature: Feature
    label: str
    points: str | None
    length_m: float | None


def flow_of(reading: Reading) -> Flow | None:
    """Return which way the water is taken to run; None before the first place."""
    frame = frame_ground(reading)
    line = frame.centerline
    if line is None:
        return None
    return Flow(
        guessed=line.proposed,
        toward=direction_words(line),
        lines=tuple(one.line for one in frame.lines),
        can_keep=frame.map.crs is not None,
    )


def draw_ground(reading: Reading, look: Look) -> Markup:
    """Return the map to draw on."""
    ground, grade = show_ground(reading), graded_so_far(reading)
    return on_page(draw_plan(ground, look, grade=grade, around_m=AROUND_M), look)


def graded_so_far(reading: Reading) -> GradeAnswer | None:
    """Return the grades; None before the first sample."""
    try:
        return grade_ground(reading)
    except TooLittleError:
        return None


def list_drawn(features: tuple[Feature, ...], crs: str | None) -> list[Drawn]:
    """Return what is drawn, with its points as they are typed."""
    found = []
    for one in features:
        sketch = SKETCH_OF.get(one.role)
        points = points_text(one.geometry, crs)
        length = None
        if points is not None and crs is not None and one.geometry["type"] != "Point":
            closed = one.geometry["type"] == "Polygon"
            length = length_m(read_points(points, crs), crs, closed=closed)
        found.append(Drawn(one, sketch.label if sketch else one.role, points, length))
    return found


def show_draw(ask: Ask) -> Response:
    """Show the map to draw on, and what is drawn already."""
    number = ask.query("change")
    drawn = list_drawn(ask.desk.log.features, ask.desk.log.ground.crs)
    changed = next((one for one in drawn if str(one.feature.number) == number), None)
    if number and (changed is None or changed.points is None):
        msg = f"There is no drawing {number!r} whose points could be changed."
        raise PageError(msg, 404)
    typed = {"role": ask.query("role", "centerline"), "name": "", "points": ""}
    if changed is not None:
        one = changed.feature
        typed = {
            "role": one.role,
            "name": one.name or "",
            "points": changed.points or "",
        }
    return _show(ask, typed, number=number)


def _show(
    ask: Ask,
    typed: dict[str, str],
    *,
    number: str = "",
    error: str = "",
    measured: str = "",
) -> Response:
    look = look_of(ask)
    desk = ask.desk
    crs = desk.log.ground.crs
    return ask.show(
        "draw.html",
        status=422 if error else 200,
        question="seen",
        picture=desk.ask(("draw", look), lambda reading: draw_ground(reading, look)),
        flow=flow_of(desk.reading()),
        sketches=SKETCHES,
        other_uses=OTHER_USES,
        hint=SKETCH_OF[typed["role"]].hint if typed["role"] in SKETCH_OF else "",
        drawn=list_drawn(desk.log.features, crs),
        typed=typed,
        number=number,
        error=error,
        measured=measured,
        crs=crs,
    )


def keep_drawing(ask: Ask) -> Response:
    """Keep what was drawn; measure it, or begin a dig there, where that was meant."""
    typed = {name: ask.sent(name) for name in ("role", "name", "points")}
    number = ask.sent("number")
    try:
        return _use(ask, typed, number)
    except FieldError as error:
        return _show(ask, typed, number=number, error=str(error))


def _use(ask: Ask, typed: dict[str, str], number: str) -> Response:
    crs = ask.desk.log.ground.crs
    degrees = read_points(typed["points"], crs)
    role = typed["role"]
    if role == "measure":
        return _show(ask, typed, measured=_measure(ask, degrees, crs))
    if role == "dig":
        return _begin_dig(ask, degrees, crs)
    if role not in SKETCH_OF:
        msg = f"{role!r} cannot be drawn; there are {', '.join(SKETCH_OF)}."
        raise PageError(msg, 422)
    geometry = geometry_of(SKETCH_OF[role], degrees)
    _choose_grid(ask, degrees, crs)
    log = ask.desk.log
    feature = Feature(
        number=int(number) if number.isdigit() else number_for(log, role),
        role=role,
        name=typed["name"] or None,
        geometry=geometry,
    )
    label = SKETCH_OF[role].label.lower()
    _keep(ask, feature, f"Drew the {label}")
    return ask.to("seen", "draw")


def _keep(ask: Ask, feature: Feature, why: str) -> None:
    change = putting("features", feature)
    written = write(ask.desk, [change], who=ask.who, why=why)
    if written.complaints:
        raise FieldError(written.complaints[""])


def _choose_grid(ask: Ask, degrees: FloatArray, crs: str | None) -> None:
    """Give a ground without any place its map grid, as a first dig would."""
    digs = ask.desk.log.digs
    if crs is not None or any(dig.easting_m is not None for dig in digs):
        return
    try:
        chosen = pick_utm(float(degrees[0, 0]), float(degrees[0, 1]))
    except ValueError as error:
        raise FieldError(str(error)) from error
    why = f"Chose the map grid {chosen}"
    change_ground(ask.desk, who=ask.who, why=why, crs=chosen)


def _measure(ask: Ask, degrees: FloatArray, crs: str | None) -> str:
    if len(degrees) < 2:
        msg = f"{len(degrees)} points have no distance; give two or more."
        raise FieldError(msg)
    grid = crs or pick_utm(float(degrees[0, 0]), float(degrees[0, 1]))
    return ask.figures.one(length_m(degrees, grid), "length", 4)


def _begin_dig(ask: Ask, degrees: FloatArray, crs: str | None) -> Response:
    if len(degrees) != 1:
        msg = f"{len(degrees)} points are given; a dig has one place."
        raise FieldError(msg)
    place = {"longitude": degrees[0, 0], "latitude": degrees[0, 1]}
    asked = {name: f"{value:.7f}" for name, value in place.items()}
    if crs is not None:
        east, north = GroundMap(crs).from_degrees(degrees[0, 0], degrees[0, 1])
        asked = {"easting_m": f"{float(east):.2f}", "northing_m": f"{float(north):.2f}"}
    return RedirectResponse(f"{ask.url('seen', 'digs', 'row')}?{urlencode(asked)}", 303)


def keep_flow(ask: Ask) -> Response:
    """Keep which way the water runs, as a centerline of the record."""
    line, crs = _guessed_line(ask), ask.desk.log.ground.crs
    way = ask.sent("way")
    if way not in ("this", "other"):
        msg = f"The water runs this way or the other way, not {way!r}."
        raise PageError(msg, 422)
    if crs is None:
        msg = (
            "The ground has no map grid, so that no line can be kept. Give the grid "
            "for the ground as a whole first."
        )
        raise PageError(msg, 422)
    log = ask.desk.log
    turned = way == "other"
    feature = flow_feature(line, number_for(log, "centerline"), crs, turned=turned)
    _keep(ask, feature, "Said which way the water runs")
    return ask.to(ask.sent("back") if ask.sent("back") in BACK else "seen")


#: Pages on which the question is asked.
BACK = ("seen", "run", "seen/draw")


def _guessed_line(ask: Ask) -> Centerline:
    line = frame_ground(ask.desk.reading()).centerline
    if line is None or not line.proposed:
        msg = "The centerline is drawn already. Turn it around under Draw on the map."
        raise PageError(msg, 409)
    return line


def turn_drawing(ask: Ask) -> Response:
    """Turn a line around: its other end is now the upper one."""
    feature = _feature(ask)
    geometry = feature.geometry
    if geometry["type"] not in ("LineString", "MultiLineString"):
        msg = f"Drawing {feature.number} is no line; only lines have a direction."
        raise PageError(msg, 422)
    turned = Feature(
        number=feature.number,
        role=feature.role,
        name=feature.name,
        geometry=turned_around(geometry),
        typed=feature.typed,
        extra=feature.extra,
    )
    _keep(ask, turned, f"Turned the {feature.role} around")
    return ask.to("seen", "draw")


def remove_drawing(ask: Ask) -> Response:
    """Take a drawing out of the record; what was written can be taken back."""
    feature = _feature(ask)
    change = Change(table="features", key=(feature.number,), now=None)
    write(ask.desk, [change], who=ask.who, why=f"Removed the {feature.role}")
    return ask.to("seen", "draw")


def _feature(ask: Ask) -> Feature:
    number = ask.sent("number")
    found = (one for one in ask.desk.log.features if str(one.number) == number)
    feature = next(found, None)
    if feature is None:
        msg = f"There is no drawing {number!r}."
        raise PageError(msg, 404)
    return feature


ROUTES = [
    Route("/seen/draw", door(show_draw)),
    Route("/seen/draw", door(keep_drawing), methods=["POST"]),
    Route("/seen/draw/turn", door(turn_drawing), methods=["POST"]),
    Route("/seen/draw/remove", door(remove_drawing), methods=["POST"]),
    Route("/seen/flow", door(keep_flow), methods=["POST"]),
]
