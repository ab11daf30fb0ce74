"""What was seen and written down at a ground, as frozen records.

No computed numbers: those are answers. Every quantity is in its inside unit (m, m3,
mg); `typed` keeps what the user wrote ("top_ft": "3.5") so that it can be handed
back as it was; `extra` keeps columns that the program does not know. None means
that nothing was written down: unknown, never zero. Names, keys and columns are
those of the field log; a record's key fields are listed in `KEYS`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

Words = Mapping[str, str]
"""Column heading to text, as typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What every record carries besides its own fields.

    Attributes
    ----------
    typed : mapping
        The text that the user typed, by its heading with unit; only where it says
        more than the field (another unit, a unit-less alternative such as longitude).
    extra : mapping
        Columns that the program does not know, as typed.
    """

    typed: Words = field(default_factory=dict)
    extra: Words = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground(Record):
    """The ground as a whole, and what the user says about all of it.

    Attributes
    ----------
    name : str
        Free text.
    log_id : str or None
        Identity of the log that this record came from.
    crs : str or None
        Coordinate system of easting and northing, "EPSG:32610".
    pan_volume_m3 : float or None
        What the user's pan holds, loose [m3].
    swell : float or None
        Growth of the ground when dug, 0.25 for 25 % [-].
    gold_price_per_g : float or None
        Of fine gold [currency/g].
    price_date, currency : str or None
        Of the price; ISO 8601, ISO 4217.
    fineness : float or None
        Parts of gold in 1000 of raw gold [-].
    receiver_error_m : float or None
        Standard deviation of a position [m].
    min_pay_m : float or None
        Least thickness that is mined as pay [m].
    hand_depth_limit_m : float or None
        How deep the user digs by hand [m]. Never called safe.
    costs, plant, program : mapping
        Tables of the same names, as typed. The program is what the user set out to do,
        and the rules by which to go on or to leave.
    """

    name: str = ""
    log_id: str | None = None
    crs: str | None = None
    pan_volume_m3: float | None = None
    swell: float | None = None
    gold_price_per_g: float | None = None
    price_date: str | None = None
    currency: str | None = None
    fineness: float | None = None
    receiver_error_m: float | None = None
    min_pay_m: float | None = None
    hand_depth_limit_m: float | None = None
    costs: Mapping[str, Any] = field(default_factory=dict)
    plant: Mapping[str, Any] = field(default_factory=dict)
    program: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dig(Record):
    """A place where the ground was opened: one vertical cut with its samples.

    Attributes
    ----------
    dig : str
        Its name.
    line : str or None
        The trench that it belongs to.
    kind : str or None
        trench, pit, crevice, moss, root, bar, bank, bench or hole.
    easting_m, northing_m : float or None
        In the ground's coordinate system [m]; filled in from longitude and latitude
        or from along and across where those were typed.
    peg, toward : str or None
        Digs that along and across are measured from and toward.
    along_m, across_m : float or None
        Tape measures from the peg; across is positive to the right [m].
    bearing_deg : float or None
        True bearing of along, where there is no toward [deg].
    elevation_m : float or None
        Of the surface [m].
    bottom_m : float or None
        Depth reached [m].
    stopped_by : str or None
        bedrock, clay, water, boulder, limit or the user's word.
    bedrock, fabric, surface : str or None
        Rock name; across, along or massive; rough, fractured or smooth.
    """

    dig: str
    line: str | None = None
    kind: str | None = None
    easting_m: float | None = None
    northing_m: float | None = None
    peg: str | None = None
    toward: str | None = None
    along_m: float | None = None
    across_m: float | None = None
    bearing_deg: float | None = None
    elevation_m: float | None = None
    date: str | None = None
    by: str | None = None
    bottom_m: float | None = None
    stopped_by: str | None = None
    bedrock: str | None = None
    fabric: str | None = None
    surface: str | None = None
    landmark: str | None = None
    water_level: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer(Record):
    """One layer of a dig.

    Attributes
    ----------
    dig : str
        The dig's name.
    top_m, bottom_m : float
        Depths below the surface [m].
    material, packing, matrix, wet, worked : str or None
        Words of the field log.
    largest_clast_m : float or None
        Length of the largest stone [m].
    oversize_percent : float or None
        Share of stones too big for the pan [%].
    stain, base : str or None
        Color of the stain; what lies under the layer.
    """

    dig: str
    top_m: float
    bottom_m: float
    material: str | None = None
    packing: str | None = None
    matrix: str | None = None
    wet: str | None = None
    worked: str | None = None
    largest_clast_m: float | None = None
    clast_shape: str | None = None
    oversize_percent: float | None = None
    stain: str | None = None
    base: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample(Record):
    """Material taken from a dig and washed, or waiting to be washed.

    Attributes
    ----------
    sample, dig : str
        Names.
    top_m, bottom_m : float or None
        Depths between which it was taken [m].
    taken : str
        channel, bulk, recut, grab, crevice, moss, root or loam.
    method : str or None
        pan, rocker, sluice or the user's word.
    volume_m3 : float or None
        What was washed, in the state that `state` says [m3].
    state : str or None
        bank or loose.
    pans : float or None
        Number of pans, loose [-].
    pan_volume_m3 : float or None
        What one of them holds, loose; else the ground's [m3].
    screen_mm : float or None
        Opening of the screen [mm].
    oversize_m3 : float or None
        Loose volume that the screen held back; counts in the volume [m3].
    boulders_left_out_m3 : float or None
        Solid volume, no swell [m3].
    washed_part : float or None
        Share of the volume that was washed, where the volume is the whole cut [-].
    weighed_mg : float or None
        All raw gold of the sample; 0 means below the balance's step [mg].
    balance_mg : float or None
        Reading step of the balance [mg].
    black_sand_mg : float or None
        Black sand, if it was weighed [mg].
    fineness : float or None
        Parts in 1000 of this sample's gold [-].
    duplicate_of : str or None
        The sample that this one repeats.
    blank : bool
        Barren material washed on purpose.
    """

    sample: str
    dig: str
    top_m: float | None = None
    bottom_m: float | None = None
    taken: str = "channel"
    method: str | None = None
    volume_m3: float | None = None
    state: str | None = None
    pans: float | None = None
    pan_volume_m3: float | None = None
    screen_mm: float | None = None
    oversize_m3: float | None = None
    boulders_left_out_m3: float | None = None
    washed_part: float | None = None
    weighed_mg: float | None = None
    balance_mg: float | None = None
    black_sand_mg: float | None = None
    fineness: float | None = None
    duplicate_of: str | None = None
    blank: bool = False
    date: str | None = None
    by: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally(Record):
    """Colors counted in one size class of a sample.

    Attributes
    ----------
    sample : str
        Its name.
    size_class : str
        The class in its one written form: `0.25-0.5`, `<0.25`, `>2` (mm),
        `20/40 mesh`, `No.1`, `No.2`, `No.3` or `all`.
    colors : int
        Number counted [-].
    mg : float or None
        Weight of that class, if it was weighed [mg].
    """

    sample: str
    size_class: str
    colors: int
    mg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing(Record):
    """Gold of several samples weighed together.

    Attributes
    ----------
    weighing : str
        Its name.
    samples : tuple of str
        Whose gold it is.
    weighed_mg : float
        All gold of those samples [mg].
    colors : int or None
        Number of colors weighed [-].
    fineness : float or None
        Parts in 1000 [-].
    """

    weighing: str
    samples: tuple[str, ...]
    weighed_mg: float
    colors: int | None = None
    fineness: float | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Grain(Record):
    """One gold grain measured; axes and weight in mm and mg."""

    sample: str
    number: int
    long_mm: float | None = None
    middle_mm: float | None = None
    short_mm: float | None = None
    mg: float | None = None
    roundness: str | None = None
    rim: str | None = None
    attached: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rock(Record):
    """Rock, float or boulder seen; at a dig or at coordinates; axes in m."""

    number: int
    dig: str | None = None
    easting_m: float | None = None
    northing_m: float | None = None
    kind: str | None = None
    name: str | None = None
    stain: str | None = None
    veinlets: str | None = None
    long_m: float | None = None
    middle_m: float | None = None
    short_m: float | None = None
    imbricated: bool | None = None
    set_down_by: str | None = None
    dip_deg: float | None = None
    strike_deg: float | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Day(Record):
    """A day at the ground; hours are clock hours, cost in the ground's currency."""

    date: str
    by: str | None = None
    hours: float | None = None
    dug_hours: float | None = None
    weather: str | None = None
    water_level: str | None = None
    cost: float | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleanup(Record):
    """Gold won from a cut; volume is bank."""

    cleanup: str
    area: str | None = None
    bank_volume_m3: float | None = None
    weighed_mg: float | None = None
    fineness: float | None = None
    date: str | None = None
    hours: float | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PanTest(Record):
    """Known grains put into tailings and looked for again, one size class."""

    number: int
    by: str | None = None
    size_class: str
    put_in: int
    found: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BucketTest(Record):
    """A neat hole measured, and what came out of it; any two of the three.

    Attributes
    ----------
    bank_m3, loose_m3 : float or None
        Volume of the hole, and of what was dug from it [m3].
    pans : float or None
        Pans that it filled [-].
    """

    number: int
    bank_m3: float | None = None
    loose_m3: float | None = None
    pans: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature(Record):
    """A line or an area drawn on the ground.

    Attributes
    ----------
    number : int
        Order in the file.
    role : str
        centerline (drawn downstream), boundary, tributary, water, worked or note.
    name : str or None
        The user's name for it.
    geometry : mapping
        GeoJSON geometry in longitude and latitude, WGS 84, as handed in.
    """

    number: int
    role: str
    name: str | None = None
    geometry: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Waypoint(Record):
    """A point from a receiver, WGS 84 degrees; elevation in m."""

    name: str
    longitude: float
    latitude: float
    elevation_m: float | None = None
    time: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment(Record):
    """A file kept whole in the book: elevation model, map sheet, photograph, track.

    Attributes
    ----------
    file : str
        Its name inside the log, no folder.
    kind : str
        elevation, sheet, photo or track.
    media_type : str
        "image/tiff", "image/jpeg", "application/gpx+xml".
    sha256 : str
        Of the content.
    content : bytes
        The file.
    dig : str or None
        The dig that it belongs to, if the user confirmed one.
    """

    file: str
    kind: str
    media_type: str
    sha256: str
    content: bytes = field(repr=False)
    dig: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """The whole record of a ground."""

    ground: Ground = field(default_factory=Ground)
    digs: tuple[Dig, ...] = ()
    layers: tuple[Layer, ...] = ()
    samples: tuple[Sample, ...] = ()
    tallies: tuple[Tally, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    grains: tuple[Grain, ...] = ()
    rocks: tuple[Rock, ...] = ()
    days: tuple[Day, ...] = ()
    cleanups: tuple[Cleanup, ...] = ()
    pantests: tuple[PanTest, ...] = ()
    buckets: tuple[BucketTest, ...] = ()
    features: tuple[Feature, ...] = ()
    waypoints: tuple[Waypoint, ...] = ()
    attachments: tuple[Attachment, ...] = ()


#: Fields of `Log` -> (record class, key fields). The ground has one row, no key.
KEYS: dict[str, tuple[type[Record], tuple[str, ...]]] = {
    "ground": (Ground, ()),
    "digs": (Dig, ("dig",)),
    "layers": (Layer, ("dig", "top_m")),
    "samples": (Sample, ("sample",)),
    "tallies": (Tally, ("sample", "size_class")),
    "weighings": (Weighing, ("weighing",)),
    "grains": (Grain, ("sample", "number")),
    "rocks": (Rock, ("number",)),
    "days": (Day, ("date", "by")),
    "cleanups": (Cleanup, ("cleanup",)),
    "pantests": (PanTest, ("number",)),
    "buckets": (BucketTest, ("number",)),
    "features": (Feature, ("number",)),
    "waypoints": (Waypoint, ("name",)),
    "attachments": (Attachment, ("file",)),
}
