"""Format 2: the history says whose page a change shows on, so that it is found fast."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

#: Tables whose records belong to the dig that they name.
OF_A_DIG = {"digs", "layers", "samples", "rocks", "attachments"}
#: Tables whose records belong to the sample that they name.
OF_A_SAMPLE = {"tallies", "grains"}


def upgrade() -> None:
    """Add the dig to the history, and fill it in from what each line says."""
    op.add_column("history", sa.Column("dig", sa.Text()))
    op.create_index("ix_history_dig", "history", ["dig"])
    bind = op.get_bind()
    rows = bind.execute(
        sa.text(
            "SELECT batch, place, record_table, coalesce(now, was) FROM history"
            " JOIN batches ON batches.uuid = history.batch ORDER BY number, place"
        )
    ).all()
    lines = [(*place, json.loads(line)) for *place, line in rows]
    dig_of_sample = {
        line["sample"]: line["dig"] for _, _, table, line in lines if table == "samples"
    }
    filled = []
    for batch, place, table, line in lines:
        dig = line.get("dig") if table in OF_A_DIG else None
        if table in OF_A_SAMPLE:
            dig = dig_of_sample.get(line["sample"])
        if dig is not None:
            filled.append({"of_batch": batch, "at_place": place, "dig": dig})
    if filled:
        bind.execute(
            sa.text(
                "UPDATE history SET dig = :dig"
                " WHERE batch = :of_batch AND place = :at_place"
            ),
            filled,
        )
