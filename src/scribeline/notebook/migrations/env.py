"""What Alembic runs: the steps, on the connection and inside the transaction that `schema.py` hands over."""

from alembic import context

from scribeline.notebook.schema import VERSION_TABLE
from scribeline.notebook.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
