"""Alembic's door: runs the migrations in the transaction of the connection it is given."""

from alembic import context

from condition.store.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    compare_type=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
