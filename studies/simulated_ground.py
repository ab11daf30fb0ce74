"""Made grounds with streaks of known place, richer than what the method supposes.

Tracks wander, step sideways, merge, part, begin and end; widths, skewness and
richness change downstream; gold is patchy on the scale of a dig; false bedrocks
come and go; colors have a heavy-tailed mass; trenches shift with the receiver. All of
it is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from pennyweight.answers.mapping import GroundMap
from pennyweight.records import Dig, Feature, Ground, Layer, Log, Sample, Tally

FloatArray = npt.NDArray[np.float64]

#: In the open Pacific, so that nobody takes it for a real creek.
CRS, EAST_M, NORTH_M = "EPSG:32606", 512_000.0, 5_300_000.0
#: Mass of a flake a tenth as thick as wide, 17 mg/mm3: mg for 1 mm [mg].
FLAKE_MG = 17.0 * np.pi / 40.0
#: Size classes written down [mm], and the share of each that panning finds [-].
SIZES = (("<0.1", 0.0, 0.1, 0.50), ("0.1-0.25", 0.1, 0.25, 0.80))
SIZES += (("0.25-0.5", 0.25, 0.5, 0.93), ("0.5-1", 0.5, 1.0, 0.97))
SIZES += ((">1", 1.0, np.inf, 0.98),)
#: Depth into bedrock that holds gold [m], and height over which it falls to 1/e [m].
INTO_BEDROCK_M, HUG_M = 0.08, 0.17
#: Share of a contact's gold that lies in it, and not above [-].
SHARE_BELOW = 0.25
PAN_M3, SWELL = 0.0065, 0.25
#: Streaks that do not merge keep this far apart [m].
LEAST_APART_M = 4.5
#: Cutoff that streaks are traced at [mg/m3]: the one of a book without costs.
CUTOFF_MG_M3, MIN_PAY_M = 100.0, 0.30


@dataclass(frozen=True)
class Kind:
    """What sort of ground is made; names say how it differs from the standard."""

    name: str = "standard"
    n_lines: int = 11
    line_gap_m: float = 15.0
    dig_gap_m: float = 2.0
    floor_m: float = 30.0
    pans: float = 4.0
    streaks: tuple[int, int] = (2, 3)
    crest_mg_m2: float = 230.0
    color_mg: float = 0.12
    color_cv: float = 3.0
    receiver_m: float = 0.8
    background_mg_m2: float = 4.0
    background_sd: float = 0.5
    empty: float = 0.0
    clay: bool = False
    depth_limit_m: float = np.inf
    tributary: bool = False
    worked: bool = False
    boulders: float = 0.0


STANDARD = Kind()
KINDS = {
    kind.name: kind
    for kind in (
        STANDARD,
        Kind(name="barren", streaks=(0, 0)),
        Kind(
            name="rich background",
            streaks=(0, 0),
            background_mg_m2=17.0,
            background_sd=0.3,
        ),
        Kind(name="false bedrock", clay=True),
        Kind(name="few pans", pans=1.0, dig_gap_m=2.5),
        Kind(name="sparse lines", n_lines=6, line_gap_m=38.0),
        Kind(name="coarse gold", color_mg=1.6, color_cv=4.0, pans=2.0),
        Kind(name="shallow digs", depth_limit_m=0.9),
        Kind(name="poor receiver", receiver_m=2.5, dig_gap_m=2.5),
        Kind(name="poor ground", crest_mg_m2=75.0, empty=0.25, pans=3.0),
        # A streak from the side, old pits that took the gold, digs ended by boulders.
        Kind(name="rough ground", tributary=True, worked=True, boulders=0.12),
    )
}


@dataclass
class Track:
    """One true streak: where its middle, width and gold lie, meter by meter."""

    horizon: str
    s_m: FloatArray
    n_m: FloatArray
    half_width_m: FloatArray
    crest_mg_m2: FloatArray
    skew: float
    parents: tuple[int, ...] = ()


@dataclass
class Truth:
    """What lies in the ground.

    `field` holds accumulation on a fine grid by horizon; `thickness_m` is the pay
    thickness of a contact in the sense of the answers.
    """

    kind: Kind
    tracks: list[Track]
    s_m: FloatArray
    n_m: FloatArray
    field: dict[str, FloatArray]
    merges: list[tuple[float, float, str]] = field(default_factory=list)
    shift_n_m: list[float] = field(default_factory=list)
    thickness_m: float = 0.0

    def threshold_mg_m2(self) -> float:
        """Return the accumulation that a streak must exceed [mg/m2]."""
        return CUTOFF_MG_M3 * max(self.thickness_m, MIN_PAY_M)


def pay_thickness_m() -> float:
    """Return (sum g t)^2 / sum g^2 t of the vertical profile of a contact [m]."""
    above = (1.0 - SHARE_BELOW) ** 2 / (2.0 * HUG_M)
    return 1.0 / (above + SHARE_BELOW**2 / INTO_BEDROCK_M)


def _wander(rng: np.random.Generator, s_m: FloatArray, corr_m: float) -> FloatArray:
    """Return a smooth random curve with sd 1 over s."""
    step = s_m[1] - s_m[0]
    pad = int(4 * corr_m / step)
    z = rng.standard_normal(len(s_m) + 2 * pad)
    reach = np.arange(-pad, pad + 1) * step
    kernel = np.exp(-0.5 * (reach / (corr_m / 2.0)) ** 2)
    return np.convolve(z, kernel / np.sqrt((kernel**2).sum()), "valid")[: len(s_m)]


def _new_track(
    rng: np.random.Generator, kind: Kind, s_m: FloatArray, start_n_m: float
) -> Track:
    half = kind.floor_m / 2.0 - 2.0
    n_m = start_n_m + 1.8 * (_wander(rng, s_m, 40.0) - 0.0)
    n_m += 0.7 * _wander(rng, s_m, 12.0)
    # Now and then a step sideways.
    for _ in range(rng.poisson(len(s_m) / 120.0)):
        at = rng.uniform(s_m[0], s_m[-1])
        n_m += rng.normal(0.0, 2.0) / (1.0 + np.exp(-(s_m - at) / 2.0))
    crest = kind.crest_mg_m2 * np.exp(
        rng.normal(0.0, 0.35) + 0.45 * _wander(rng, s_m, 45.0)
    )
    return Track(
        horizon="bedrock",
        s_m=s_m,
        n_m=np.clip(n_m, -half, half),
        half_width_m=np.exp(
            np.log(1.15) + rng.normal(0, 0.15) + 0.2 * _wander(rng, s_m, 30.0)
        ),
        crest_mg_m2=crest,
        skew=rng.uniform(0.75, 1.35),
    )


def _join(rng: np.random.Generator, tracks: list[Track], truth: Truth) -> None:
    """Bend the second track into the first, and let their gold go on together."""
    first, second = tracks[0], tracks[1]
    s_m = first.s_m
    at = rng.uniform(s_m[0] + 0.35 * np.ptp(s_m), s_m[0] + 0.8 * np.ptp(s_m))
    # No faster sideways than two meters in three downstream.
    reach = max(35.0, 2.3 * float(np.abs(second.n_m - first.n_m).max()))
    ease = np.clip((s_m - at + reach) / reach, 0.0, 1.0)
    ease = ease**2 * (3.0 - 2.0 * ease)
    second.n_m = second.n_m * (1.0 - ease) + first.n_m * ease
    # They are one where no valley is left between them, somewhat above.
    touch = 2.0 * (first.half_width_m + second.half_width_m) / 2.0
    apart = np.abs(second.n_m - first.n_m)
    at = float(s_m[np.flatnonzero(apart < touch)[0]])
    below = s_m >= at
    both = np.exp(np.log(first.crest_mg_m2 + 0.8 * second.crest_mg_m2))
    fade = np.clip((s_m - at + 6.0) / 6.0, 0.0, 1.0)
    first.crest_mg_m2 = first.crest_mg_m2 * (1 - fade) + both * fade
    second.crest_mg_m2 = np.where(below, 0.0, second.crest_mg_m2)
    truth.merges.append((float(at), float(np.interp(at, s_m, first.n_m)), "bedrock"))


def _lay_tracks(
    rng: np.random.Generator, kind: Kind, count: int, truth: Truth
) -> list[Track]:
    """Return tracks that keep apart, but for two that may merge."""
    half = kind.floor_m / 2.0
    while True:
        places = np.linspace(-half + 5.0, half - 5.0, count)
        places = places + rng.normal(0.0, 1.0, count)
        tracks = [_new_track(rng, kind, truth.s_m, float(n)) for n in places]
        # Neighbors merge: a third one between two would have to be crossed.
        if count > 2 and rng.random() < 0.5:
            tracks = tracks[1:] + tracks[:1]
        if count > 1 and not _keep_apart(tracks):
            continue
        truth.merges.clear()
        if count > 1 and rng.random() < 0.85:
            _join(rng, tracks, truth)
        if count < 3 or all(
            np.abs(tracks[2].n_m - one.n_m).min() > LEAST_APART_M for one in tracks[:2]
        ):
            return tracks


def _keep_apart(tracks: list[Track]) -> bool:
    n_m = np.sort([track.n_m for track in tracks], axis=0)
    return bool(np.diff(n_m, axis=0).min() > LEAST_APART_M)


def make_truth(kind: Kind, rng: np.random.Generator) -> Truth:
    """Return what lies in one ground of a kind."""
    length = kind.line_gap_m * (kind.n_lines - 1)
    s_m = np.arange(-10.0, length + 10.5, 1.0)
    half = kind.floor_m / 2.0
    n_m = np.arange(-half - 2.0, half + 2.01, 0.25)
    truth = Truth(
        kind=kind, tracks=[], s_m=s_m, n_m=n_m, field={}, thickness_m=pay_thickness_m()
    )
    count = int(rng.integers(kind.streaks[0], kind.streaks[1] + 1))
    tracks = _lay_tracks(rng, kind, count, truth) if count else []
    for track in tracks[2:] or (tracks[:1] if not truth.merges else []):
        if rng.random() < 0.5:
            at = rng.uniform(s_m[0] + 0.3 * np.ptp(s_m), s_m[-1] - 0.2 * np.ptp(s_m))
            side = s_m < at if rng.random() < 0.5 else s_m > at
            track.crest_mg_m2 = np.where(side, 0.0, track.crest_mg_m2)
    if kind.tributary:
        tracks.append(_come_in(rng, kind, s_m))
    if kind.clay and tracks:
        tracks[-1].horizon = "false-1"
    truth.tracks = tracks
    names = {"bedrock"} | {track.horizon for track in tracks}
    # In a fixed order: a set has another one in every run.
    for name in sorted(names):
        truth.field[name] = _lay_gold(rng, kind, truth, name)
    if kind.worked:
        _work_patches(rng, truth)
    return truth


def _come_in(rng: np.random.Generator, kind: Kind, s_m: FloatArray) -> Track:
    """Return a streak of a side creek: in from the edge, slanting, then down valley."""
    side = 1.0 if rng.random() < 0.5 else -1.0
    track = _new_track(rng, kind, s_m, side * rng.uniform(0.0, 6.0))
    at = rng.uniform(s_m[0] + 0.2 * np.ptp(s_m), s_m[0] + 0.6 * np.ptp(s_m))
    edge = side * (kind.floor_m / 2.0 + 1.0)
    slope = rng.uniform(0.25, 0.6)
    reach = np.abs(edge - track.n_m) / slope
    share = np.clip((s_m - at) / reach, 0.0, 1.0)
    track.n_m = edge + share * (track.n_m - edge)
    track.crest_mg_m2 = np.where(s_m < at, 0.0, track.crest_mg_m2)
    return track


def _work_patches(rng: np.random.Generator, truth: Truth) -> None:
    """Take the gold out of two old pits, each on a streak where there is one."""
    for _ in range(2):
        row = int(rng.integers(len(truth.s_m)))
        middle = float(rng.uniform(truth.n_m[0], truth.n_m[-1]))
        if truth.tracks:
            middle = float(truth.tracks[int(rng.integers(len(truth.tracks)))].n_m[row])
        half_s, half_n = rng.uniform(2.0, 5.0), rng.uniform(1.5, 3.0)
        away = ((truth.s_m[:, None] - truth.s_m[row]) / half_s) ** 2
        away = away + ((truth.n_m[None, :] - middle) / half_n) ** 2
        for name, field_mg_m2 in truth.field.items():
            truth.field[name] = np.where(away < 1.0, 0.15 * field_mg_m2, field_mg_m2)


def _smooth_noise(
    rng: np.random.Generator, shape: tuple[int, int], cells: tuple[float, float]
) -> FloatArray:
    """Return noise with sd 1, smooth over this many cells each way."""
    noise = rng.standard_normal(shape)
    for axis, reach in enumerate(cells):
        half = int(3 * reach) + 1
        kernel = np.exp(-0.5 * (np.arange(-half, half + 1) / reach) ** 2)
        wide = np.pad(
            noise, [(half, half) if at == axis else (0, 0) for at in range(2)], "wrap"
        )
        noise = np.apply_along_axis(
            lambda line, by=kernel: np.convolve(line, by, "valid"), axis, wide
        )
    return noise / noise.std()


def _lay_gold(
    rng: np.random.Generator, kind: Kind, truth: Truth, horizon: str
) -> FloatArray:
    """Return the accumulation of a horizon on the fine grid [mg/m2]."""
    shape = (len(truth.s_m), len(truth.n_m))
    background = kind.background_mg_m2 * np.exp(
        kind.background_sd * _smooth_noise(rng, shape, (12.0, 8.0))
    )
    gold = background if horizon == "bedrock" else 0.5 * background
    for track in truth.tracks:
        if track.horizon != horizon:
            continue
        away = truth.n_m[None, :] - track.n_m[:, None]
        wide = track.half_width_m[:, None] * np.where(
            away > 0.0, track.skew, 1.0 / track.skew
        )
        gold = gold + track.crest_mg_m2[:, None] * np.exp(-0.5 * (away / wide) ** 2)
    # Patches the size of a dig, which no smooth method knows.
    patches = np.exp(0.25 * _smooth_noise(rng, shape, (1.5, 3.0)) - 0.03)
    return gold * patches


@dataclass
class Notebook:
    """What a prospector has written down of a ground so far.

    `depth_m` is the true bedrock and `volume_factor` the true size of the pan, which
    the prospector does not know.
    """

    depth_m: FloatArray
    volume_factor: float
    digs: list[Dig] = field(default_factory=list)
    layers: list[Layer] = field(default_factory=list)
    samples: list[Sample] = field(default_factory=list)
    tallies: list[Tally] = field(default_factory=list)


def open_notebook(truth: Truth, rng: np.random.Generator) -> Notebook:
    """Return an empty notebook for a ground."""
    depth_m = _bedrock_surface(rng, truth)
    return Notebook(depth_m, float(np.exp(rng.normal(0.0, 0.06))))


def open_dig(
    truth: Truth,
    rng: np.random.Generator,
    book: Notebook,
    *,
    name: str,
    line: str,
    place: tuple[float, float],
    shift: tuple[float, float],
) -> None:
    """Open one dig at a true place and write it down where the receiver says it is."""
    book.digs.append(
        Dig(
            dig=name,
            line=line,
            easting_m=EAST_M + place[0] + shift[0],
            northing_m=NORTH_M + place[1] + shift[1] + rng.normal(0.0, 0.1),
        )
    )
    _open_dig(rng, truth, book, place)


def dig_ground(truth: Truth, rng: np.random.Generator) -> Log:
    """Return what a prospector would write down of a ground."""
    book = open_notebook(truth, rng)
    dig_lines(truth, rng, book)
    return write_log(truth.kind, book)


def dig_lines(truth: Truth, rng: np.random.Generator, book: Notebook) -> None:
    """Open the lines of digs that a kind of ground is sampled by."""
    kind = truth.kind
    half = kind.floor_m / 2.0
    for line in range(kind.n_lines):
        s_line = kind.line_gap_m * line
        shift_n = rng.normal(0.0, kind.receiver_m)
        shift_s = rng.normal(0.0, kind.receiver_m)
        truth.shift_n_m.append(float(shift_n))
        start = -half + rng.uniform(0.0, kind.dig_gap_m)
        for number, n_m in enumerate(np.arange(start, half, kind.dig_gap_m)):
            s_m = s_line + rng.normal(0.0, 0.3)
            open_dig(
                truth,
                rng,
                book,
                name=f"{line + 1}-{number + 1}",
                line=f"L{line + 1}",
                place=(s_m, float(n_m)),
                shift=(float(shift_s), float(shift_n)),
            )


def write_log(kind: Kind, book: Notebook) -> Log:
    """Return a notebook as a record, with the centerline that was drawn."""
    line_m = [
        [EAST_M - 40.0, NORTH_M],
        [EAST_M + kind.line_gap_m * kind.n_lines + 40, NORTH_M],
    ]
    degrees = np.column_stack(GroundMap(CRS).to_degrees(*np.array(line_m).T)).tolist()
    return Log(
        ground=Ground(
            name="invented",
            crs=CRS,
            swell=SWELL,
            pan_volume_m3=PAN_M3,
            receiver_error_m=kind.receiver_m,
            min_pay_m=MIN_PAY_M,
        ),
        digs=tuple(book.digs),
        layers=tuple(book.layers),
        samples=tuple(book.samples),
        tallies=tuple(book.tallies),
        features=(
            Feature(
                number=1,
                role="centerline",
                geometry={"type": "LineString", "coordinates": degrees},
            ),
        ),
    )


def _bedrock_surface(rng: np.random.Generator, truth: Truth) -> FloatArray:
    shape = (len(truth.s_m), len(truth.n_m))
    return 1.0 + 0.18 * _smooth_noise(rng, shape, (25.0, 24.0))


def _at(truth: Truth, table: FloatArray, place: tuple[float, float]) -> float:
    """Return a fine table's value at a place."""
    row = int(np.clip(round(place[0] - truth.s_m[0]), 0, len(truth.s_m) - 1))
    step = truth.n_m[1] - truth.n_m[0]
    column = int(
        np.clip(round((place[1] - truth.n_m[0]) / step), 0, len(truth.n_m) - 1)
    )
    return float(table[row, column])


def _share(contact_m: float, top_m: float, bottom_m: float) -> float:
    """Return the share of a contact's gold that lies between two depths [-]."""
    low, high = contact_m - min(bottom_m, contact_m), contact_m - min(top_m, contact_m)
    above = (1.0 - SHARE_BELOW) * (np.exp(-low / HUG_M) - np.exp(-high / HUG_M))
    into = np.clip(bottom_m - contact_m, 0.0, INTO_BEDROCK_M) - np.clip(
        top_m - contact_m, 0.0, INTO_BEDROCK_M
    )
    return float(above + SHARE_BELOW * into / INTO_BEDROCK_M)


def _open_dig(
    rng: np.random.Generator,
    truth: Truth,
    book: Notebook,
    place: tuple[float, float],
) -> None:
    """Dig one hole: layers, samples, tallies, and what stopped it."""
    kind = truth.kind
    name = book.digs[-1].dig
    bedrock = max(_at(truth, book.depth_m, place), 0.45)
    contacts = {"bedrock": bedrock}
    if kind.clay and place[1] * np.sign(truth.tracks[-1].n_m.mean()) > -4.0:
        contacts = {"false-1": 0.5 * bedrock, "bedrock": bedrock + 0.35}
        bedrock = contacts["bedrock"]
    bottom = min(bedrock + INTO_BEDROCK_M, kind.depth_limit_m)
    boulder = kind.boulders > 0.0 and rng.random() < kind.boulders
    if boulder:
        bottom = min(bottom, rng.uniform(0.4, 0.9) * bedrock)
    cuts = [0.0]
    if "false-1" in contacts:
        clay = contacts["false-1"]
        cuts += [max(clay - 0.3, 0.05), clay, clay + 0.12]
    cuts += [max(bedrock - 0.4, cuts[-1] + 0.1), bedrock, bedrock + INTO_BEDROCK_M]
    cuts = [cut for cut in cuts if cut < bottom] + [bottom]
    reached = bottom > bedrock
    for number, (top, low) in enumerate(pairwise(cuts)):
        is_clay = "false-1" in contacts and abs(top - contacts["false-1"]) < 1e-9
        material = "clay" if is_clay else "bedrock" if top >= bedrock else "gravel"
        book.layers.append(Layer(dig=name, top_m=top, bottom_m=low, material=material))
        grade = sum(
            _at(truth, truth.field[horizon], place) * _share(depth, top, low)
            for horizon, depth in contacts.items()
            if horizon in truth.field
        ) / (low - top)
        pans = kind.pans if low > bottom - 0.6 or is_clay else max(1.0, kind.pans / 2.0)
        _wash(rng, truth, book, f"{name}/{number + 1}", (top, low, pans, grade))
    book.digs[-1] = replace(
        book.digs[-1],
        bottom_m=bottom,
        stopped_by="bedrock" if reached else "boulder" if boulder else "limit",
    )


def _wash(
    rng: np.random.Generator,
    truth: Truth,
    book: Notebook,
    sample: str,
    cut: tuple[float, float, float, float],
) -> None:
    """Wash one sample and count its colors by size."""
    kind = truth.kind
    top, bottom, pans, grade = cut
    bank = pans * PAN_M3 / (1.0 + SWELL) * book.volume_factor
    log_sd = np.sqrt(np.log1p(kind.color_cv**2))
    expected = grade * bank / kind.color_mg * rng.gamma(4.0, 0.25)
    # Patchy ground: some cuts hold nothing, the others all the more.
    expected *= float(rng.random() >= kind.empty) / (1.0 - kind.empty)
    masses = kind.color_mg * np.exp(
        rng.normal(-0.5 * log_sd**2, log_sd, rng.poisson(expected))
    )
    size = (masses / FLAKE_MG) ** (1.0 / 3.0)
    total = 0.0
    for label, low, high, found in SIZES:
        mine = masses[(size >= low) & (size < high)]
        seen = mine[rng.random(len(mine)) < found]
        total += float(seen.sum())
        book.tallies.append(Tally(sample=sample, size_class=label, colors=len(seen)))
    book.samples.append(
        Sample(
            sample=sample,
            dig=book.digs[-1].dig,
            top_m=top,
            bottom_m=bottom,
            pans=pans,
            weighed_mg=round(total, 1),
            balance_mg=0.1,
        )
    )


def make_ground(kind: Kind, seed: int) -> tuple[Log, Truth]:
    """Return a made ground's record and its truth; the same for the same seed."""
    rng = np.random.default_rng([seed, *kind.name.encode()])
    truth = make_truth(kind, rng)
    return dig_ground(truth, rng), truth
