"""The shop's own facts, and stored tasks."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "shop",
        sa.Column("id", sa.TEXT(), server_default=sa.text("'00000000-0000-4000-8000-000000000000'"), nullable=False),
        sa.Column("name", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("address", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("contact", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("examiner", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("paper", sa.TEXT(), server_default=sa.text("'a4'"), nullable=False),
        sa.Column("check_line_mm", sa.REAL(), nullable=True),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_shop_version")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop")),
        sqlite_strict=True,
    )
    op.create_table(
        "task",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("state", sa.TEXT(), server_default=sa.text("'running'"), nullable=False),
        sa.Column("items", sa.TEXT(), server_default=sa.text("'[]'"), nullable=False),
        sa.Column("view_id", sa.TEXT(), nullable=True),
        sa.Column("occasion", sa.TEXT(), server_default=sa.text("'intake'"), nullable=False),
        sa.Column("begun_at", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_task_version")),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_task_job_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["view_id"], ["view.id"], name=op.f("fk_task_view_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_task")),
        sqlite_strict=True,
    )
    with op.batch_alter_table("task", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_task_job_id"), ["job_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_task_view_id"), ["view_id"], unique=False)

    with op.batch_alter_table("photo", schema=None) as batch_op:
        batch_op.add_column(sa.Column("camera_distance_mm", sa.REAL(), nullable=True))
