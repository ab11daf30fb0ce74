"""Run the migrations on the connection that is handed over, in its transaction."""

from alembic import context

from pennyweight.book.schema import metadata

context.configure(
    connection=context.config.attributes["connection"], target_metadata=metadata
)
with context.begin_transaction():
    context.run_migrations()
