"""Take it along: paper for the creek, files for others, copies for safety."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pennyweight.answers.grade import grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.nextdigs import NextAnswer, plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import TraceAnswer, trace_streaks
from pennyweight.answers.worth import WorthAnswer, weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.handing.planpoints import write_planpoints
from pennyweight.handing.pocketform import write_pocketform
from pennyweight.handing.share import SharedSummary, share_record
from pennyweight.paper.cautions import TRUE_COORDINATES
from pennyweight.paper.fieldkit import write_fieldkit
from pennyweight.paper.report import write_report
from pennyweight.pictures.svg import Look
from pennyweight.progress import within
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door
from pennyweight.web.shelf import file_stem
from pennyweight.web.views_next import read_days

#: Sizes of field sheets -> words.
PAPERS: Mapping[str, str] = {
    "letter": "Letter",
    "a4": "A4",
    "notebook": "a notebook",
}

#: Ending of a file -> what it is, and its media type.
KINDS: Mapping[str, tuple[str, str]] = {
    ".zip": ("Field log: the whole record as tables", "application/zip"),
    ".gpkg": ("Map layers for a GIS (GeoPackage)", "application/geopackage+sqlite3"),
    ".geojson": ("Map layers as GeoJSON", "application/geo+json"),
    ".kml": ("Map layers as KML", "application/vnd.google-earth.kml+xml"),
    ".gpx": ("Waypoints for a receiver (GPX)", "application/gpx+xml"),
    ".tif": ("The best field as a raster (GeoTIFF)", "image/tiff"),
}


def show_take(ask: Ask) -> Response:
    """Show what can be taken along, and the copies that are set aside."""
    return ask.show(
        "take.html",
        question="take",
        papers=PAPERS,
        paper="letter" if ask.measures.length == "ft" else "a4",
        on_earth=ask.desk.log.ground.crs is not None,
        kinds={ending: label for ending, (label, _) in KINDS.items()},
        backups=ask.shelf.backups(ask.desk.path),
    )


@dataclass(frozen=True)
class Packed:
    """A file that is ready to leave, and what is in it."""

    content: bytes
    summary: SharedSummary


def pack(ask: Ask) -> tuple[str, bool, Packed]:
    """Make the file that the address asks for; nothing leaves by that."""
    ending, public = ask.query("kind"), ask.query("place") != "true"
    if ending not in KINDS:
        msg = f"Files end in {', '.join(KINDS)}, not in {ending!r}."
        raise PageError(msg, 404)

    def make(reading: Reading) -> Packed:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / _file_name(ask, ending, public=public)
            summary = share_record(reading, path, public=public)
            return Packed(path.read_bytes(), summary)

    return ending, public, ask.desk.ask(("pack", ending, public), make)


def _file_name(ask: Ask, ending: str, *, public: bool) -> str:
    """Return a name that gives nothing away where the content does not."""
    return f"blurred{ending}" if public else f"{_stem(ask)}{ending}"


def show_packed(ask: Ask) -> Response:
    """Show exactly what would leave, before it does."""
    ending, public, packed = pack(ask)
    return ask.show(
        "take_look.html",
        question="take",
        label=KINDS[ending][0],
        ending=ending,
        public=public,
        name=_file_name(ask, ending, public=public),
        size_kb=len(packed.content) / 1000.0,
        summary=packed.summary,
        cautioned=TRUE_COORDINATES,
    )


def give_packed(ask: Ask) -> Response:
    """Hand out the file that was looked at."""
    ending, public, packed = pack(ask)
    name = _file_name(ask, ending, public=public)
    return _download(packed.content, name, KINDS[ending][1])


def give_form(ask: Ask) -> Response:
    """Hand out the form for the phone: the plan, and empty pages to write on."""
    measures = ask.measures

    def make(reading: Reading) -> bytes:
        try:
            nextdigs = plan_digs(reading)
        except TooLittleError:
            nextdigs = None
        with tempfile.TemporaryDirectory() as folder:
            path = write_pocketform(
                Path(folder) / "form.html",
                show_ground(reading),
                reading.log,
                nextdigs=nextdigs,
                measures=measures,
            )
            return path.read_bytes()

    content = ask.desk.ask(("pocket form", measures), make)
    return _download(content, f"{_stem(ask)}-pocket.html", "text/html")


def give_fieldkit(ask: Ask) -> Response:
    """Hand out all paper of a field day: plan, sheets, labels, card, in one file."""
    paper, look = ask.query("paper"), Look(measures=ask.measures)
    if paper not in ("", *PAPERS):
        msg = f"There is no paper {paper!r}; there are {', '.join(PAPERS)}."
        raise PageError(msg, 404)
    content = ask.desk.ask(
        ("field kit", paper, look),
        lambda reading: pack_fieldkit(reading, look, paper),
    )
    return _download(content, f"{_stem(ask)}-field-paper.zip", "application/zip")


def pack_fieldkit(reading: Reading, look: Look, paper: str) -> bytes:
    """Return the paper of a field day as an archive of PDFs."""
    packed = io.BytesIO()
    with tempfile.TemporaryDirectory() as folder:
        files = write_fieldkit(reading, Path(folder), look, paper=paper)
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            for file in files:
                archive.write(file, file.name)
    return packed.getvalue()


def give_planpoints(ask: Ask) -> Response:
    """Hand out the digs proposed as waypoints for a receiver."""
    days, measures = read_days(ask), ask.measures

    def make(reading: Reading) -> bytes:
        crs = reading.log.ground.crs
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "plan.gpx"
            planned = plan_digs(reading, days)
            return write_planpoints(
                path, planned, crs=crs, measures=measures
            ).read_bytes()

    content = ask.desk.ask(("plan points", days, measures), make)
    return _download(content, f"{_stem(ask)}-next-digs.gpx", "application/gpx+xml")


def give_report(ask: Ask) -> Response:
    """Hand out the report as a PDF."""
    look = Look(measures=ask.measures)
    content = ask.desk.ask(("report", look), lambda reading: make_report(reading, look))
    return _download(content, f"{_stem(ask)}-report.pdf", "application/pdf")


def make_report(reading: Reading, look: Look) -> bytes:
    """Return the report with every answer that the record allows."""
    progress = reading.progress
    ground, grade = show_ground(reading), grade_ground(reading)
    trace: TraceAnswer | None = None
    nextdigs: NextAnswer | None = None
    worth: WorthAnswer | None = None
    try:
        reading.progress = within(progress, 0.0, 0.9)
        trace = trace_streaks(reading)
        nextdigs = plan_digs(reading)
        worth = weigh_worth(reading)
    except TooLittleError:
        # What is missing is left out; the report says so itself.
        progress(0.9, "leaving out what cannot be told yet")
    finally:
        reading.progress = progress
    progress(0.95, "setting the pages")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "report.pdf"
        write_report(
            path,
            ground=ground,
            grade=grade,
            trace=trace,
            worth=worth,
            nextdigs=nextdigs,
            look=look,
        )
        return path.read_bytes()


def _stem(ask: Ask) -> str:
    return file_stem(ask.desk.book.name)


def _download(content: bytes, name: str, media_type: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=media_type, headers=headers)


# ---- copies -----------------------------------------------------------------------


def back_up(ask: Ask) -> Response:
    """Set a copy of the book aside, now."""
    ask.shelf.back_up(ask.desk)
    return RedirectResponse(f"{ask.url('take')}#backup", 303)


def give_copy(ask: Ask) -> Response:
    """Hand out the book itself, to be kept on another disk."""
    copy = ask.shelf.back_up(ask.desk)
    path = ask.desk.path.parent / "backups" / copy.file
    return _download(path.read_bytes(), copy.file, "application/octet-stream")


def restore(ask: Ask) -> Response:
    """Put a copy back on the shelf, beside the present book."""
    path = ask.shelf.restore(ask.desk.path, ask.sent("copy"))
    return RedirectResponse(f"/book/{path.stem}/seen", 303)


ROUTES = [
    Route("/take", door(show_take)),
    Route("/take/report.pdf", door(give_report)),
    Route("/take/field-paper.zip", door(give_fieldkit)),
    Route("/take/next-digs.gpx", door(give_planpoints)),
    Route("/take/look", door(show_packed)),
    Route("/take/file", door(give_packed)),
    Route("/take/pocket.html", door(give_form)),
    Route("/take/backup", door(back_up), methods=["POST"]),
    Route("/take/copy", door(give_copy), methods=["POST"]),
    Route("/take/restore", door(restore), methods=["POST"]),
]
