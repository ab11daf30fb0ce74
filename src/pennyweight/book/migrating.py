"""Bring a book to the present format; a copy of the old one is set aside first."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import command
from alembic.config import Config

from pennyweight.book.schema import APPLICATION_ID, FORMAT


def bring_up_to_date(connection: sa.Connection, to: str = "head") -> None:
    """Run the migrations that a book still lacks, inside the open transaction.

    Parameters
    ----------
    connection : Connection
        In a transaction that writes.
    to : str
        Name of the last migration to run; the newest if nothing is said.
    """
    config = Config()
    config.set_main_option("script_location", "pennyweight.book:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, to)
    number = FORMAT if to == "head" else int(to)
    connection.exec_driver_sql(f"PRAGMA user_version = {number}")
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
