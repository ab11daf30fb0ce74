"""Format 1: the record, its batches and its history.

The columns are written out here once more and on purpose: this file says what
format 1 was, whatever the records become. A column is text unless it says
`:number`, `:whole` or `:flag`; `!` marks one that always holds a value.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

COLUMNS = {
    "ground": """
        name! log_id crs pan_volume_m3:number swell:number gold_price_per_g:number
        price_date currency fineness:number receiver_error_m:number
        min_pay_m:number hand_depth_limit_m:number costs! plant!
    """,
    "digs": """
        dig! line kind easting_m:number northing_m:number peg toward
        along_m:number across_m:number bearing_deg:number elevation_m:number date
        by bottom_m:number stopped_by bedrock fabric surface landmark water_level
        note
    """,
    "layers": """
        dig! top_m:number! bottom_m:number! material packing matrix wet worked
        largest_clast_m:number clast_shape oversize_percent:number stain base note
    """,
    "samples": """
        sample! dig! top_m:number bottom_m:number taken! method volume_m3:number
        state pans:number pan_volume_m3:number screen_mm:number oversize_m3:number
        boulders_left_out_m3:number washed_part:number weighed_mg:number
        balance_mg:number black_sand_mg:number fineness:number duplicate_of
        blank:flag! date by note
    """,
    "tallies": "sample! size_class! colors:whole! mg:number",
    "weighings": """
        weighing! samples! weighed_mg:number! colors:whole fineness:number note
    """,
    "grains": """
        sample! number:whole! long_mm:number middle_mm:number short_mm:number
        mg:number roundness rim attached note
    """,
    "rocks": """
        number:whole! dig easting_m:number northing_m:number kind name stain
        veinlets long_m:number middle_m:number short_m:number imbricated:flag
        set_down_by dip_deg:number strike_deg:number note
    """,
    "days": """
        date! by hours:number dug_hours:number weather water_level cost:number note
    """,
    "cleanups": """
        cleanup! area bank_volume_m3:number weighed_mg:number fineness:number date
        hours:number note
    """,
    "pantests": "number:whole! by size_class! put_in:whole! found:whole!",
    "buckets": "number:whole! bank_m3:number loose_m3:number pans:number",
    "features": "number:whole! role! name geometry!",
    "waypoints": """
        name! longitude:number! latitude:number! elevation_m:number time note
    """,
    "attachments": "file! kind! media_type! sha256! dig",
}
KEYS = {
    "digs": ("dig",),
    "layers": ("dig", "top_m"),
    "samples": ("sample",),
    "tallies": ("sample", "size_class"),
    "weighings": ("weighing",),
    "grains": ("sample", "number"),
    "rocks": ("number",),
    "cleanups": ("cleanup",),
    "pantests": ("number",),
    "buckets": ("number",),
    "features": ("number",),
    "waypoints": ("name",),
    "attachments": ("file",),
}
NAMED = {
    ("layers", "dig"): "digs.dig",
    ("samples", "dig"): "digs.dig",
    ("rocks", "dig"): "digs.dig",
    ("attachments", "dig"): "digs.dig",
    ("tallies", "sample"): "samples.sample",
    ("grains", "sample"): "samples.sample",
}
TYPES = {
    "text": sa.Text,
    "number": sa.Double,
    "whole": sa.BigInteger,
    "flag": sa.Boolean,
}


def column(table: str, words: str) -> sa.Column[object]:
    """Return the column that a word of `COLUMNS` stands for."""
    name, _, kind = words.rstrip("!").partition(":")
    named = NAMED.get((table, name))
    reference = (
        [sa.ForeignKey(named, deferrable=True, initially="DEFERRED")] if named else []
    )
    return sa.Column(
        name, TYPES[kind or "text"](), *reference, nullable=not words.endswith("!")
    )


def text(name: str, *rest: sa.schema.SchemaItem, needed: bool) -> sa.Column[str]:
    """Return a text column."""
    return sa.Column(name, sa.Text(), *rest, nullable=not needed)


def whole(name: str) -> sa.Column[int]:
    """Return a column of whole numbers that always holds one."""
    return sa.Column(name, sa.BigInteger(), nullable=False)


def make_record_table(table: str) -> None:
    """Make the table of one kind of record."""
    constraints: list[sa.schema.SchemaItem] = []
    if table in KEYS:
        constraints.append(sa.UniqueConstraint(*KEYS[table]))
    if table == "attachments":
        constraints.append(sa.ForeignKeyConstraint(["sha256"], ["contents.sha256"]))
    op.create_table(
        table,
        sa.Column("uuid", sa.Text(), primary_key=True),
        whole("version"),
        whole("sequence"),
        text("origin", needed=False),
        text("typed", needed=True),
        text("extra", needed=True),
        *(column(table, words) for words in COLUMNS[table].split()),
        *constraints,
    )


def make_book_tables() -> None:
    """Make the tables of the book itself: its name, its batches, its history."""
    op.create_table(
        "book",
        sa.Column("id", sa.Text(), primary_key=True),
        text("name", needed=True),
        text("made_at", needed=True),
        text("made_by", needed=True),
    )
    op.create_table(
        "contents",
        sa.Column("sha256", sa.Text(), primary_key=True),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )
    op.create_table(
        "batches",
        sa.Column("uuid", sa.Text(), primary_key=True),
        sa.Column("number", sa.BigInteger(), nullable=False, unique=True),
        text("at", needed=True),
        text("who", needed=True),
        text("why", needed=True),
        text("undoes", sa.ForeignKey("batches.uuid"), needed=False),
    )
    op.create_table(
        "history",
        sa.Column("batch", sa.Text(), sa.ForeignKey("batches.uuid"), primary_key=True),
        sa.Column("place", sa.BigInteger(), primary_key=True),
        text("record_table", needed=True),
        text("record", needed=True),
        whole("version"),
        whole("sequence"),
        text("origin", needed=False),
        text("was", needed=False),
        text("now", needed=False),
    )


def upgrade() -> None:
    """Lay out an empty book."""
    make_book_tables()
    for table in COLUMNS:
        make_record_table(table)
    day_of_whom: list[str | sa.TextClause] = ["date", sa.text("coalesce(by, '')")]
    op.create_index("uq_days", "days", day_of_whom, unique=True)
    for table in ("samples", "rocks", "attachments"):
        op.create_index(f"ix_{table}_dig", table, ["dig"])
    op.create_index("ix_history_record", "history", ["record"])
