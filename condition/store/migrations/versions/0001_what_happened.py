"""What happened: operations, their changes, and the finding numbers given out. Rows are added, nothing else."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

KEYS = {"operation": ("id",), "log": ("sequence",), "number": ("job_id", "number")}


def upgrade() -> None:
    op.create_table(
        "operation",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("at", sa.TEXT(), nullable=False),
        sa.Column("person", sa.TEXT(), nullable=False),
        sa.Column("answer", sa.TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_operation"),
        sqlite_strict=True,
    )
    op.create_table(
        "log",
        sa.Column("sequence", sa.INTEGER(), nullable=False),
        sa.Column("operation", sa.TEXT(), nullable=False),
        sa.Column("at", sa.TEXT(), nullable=False),
        sa.Column("person", sa.TEXT(), nullable=False),
        sa.Column("kind", sa.TEXT(), nullable=False),
        sa.Column("record_id", sa.TEXT(), nullable=False),
        sa.Column("before", sa.TEXT(), nullable=True),
        sa.Column("after", sa.TEXT(), nullable=True),
        sa.PrimaryKeyConstraint("sequence", name="pk_log"),
        sqlite_strict=True,
    )
    op.create_index("ix_log_operation", "log", ["operation"])
    op.create_index("ix_log_record_id_sequence", "log", ["record_id", "sequence"])
    op.create_table(
        "number",
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("number", sa.INTEGER(), nullable=False),
        sa.Column("finding_id", sa.TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("job_id", "number", name="pk_number"),
        sqlite_strict=True,
    )
    for table, keys in KEYS.items():
        for event in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )
        same = " AND ".join(f"{key} = NEW.{key}" for key in keys)
        op.execute(
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
            f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )
