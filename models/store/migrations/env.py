"""Runs migrations on the connection that ``models.store.connection.upgrade`` hands over."""

from alembic import context

from models.store.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
context.run_migrations()
