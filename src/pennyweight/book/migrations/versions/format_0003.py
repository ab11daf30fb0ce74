"""Format 3: the ground keeps the program that its people set out with."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Give the ground a program; none was written down before."""
    program = sa.Column("program", sa.Text(), nullable=False, server_default="{}")
    op.add_column("ground", program)
