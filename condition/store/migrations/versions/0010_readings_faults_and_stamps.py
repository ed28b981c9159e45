"""Readings, strings, function tests, faults and stamps."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "function_test",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("occasion", sa.TEXT(), server_default=sa.text("'intake'"), nullable=False),
        sa.Column("group", sa.TEXT(), server_default=sa.text("'control'"), nullable=False),
        sa.Column("item", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("result", sa.TEXT(), server_default=sa.text("'not tried'"), nullable=False),
        sa.Column("note", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("rank", sa.INTEGER(), server_default=sa.text("0"), nullable=False),
        sa.Column("tried_at", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_function_test_version")),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_function_test_job_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_function_test")),
        sqlite_strict=True,
    )
    with op.batch_alter_table("function_test", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_function_test_job_id"), ["job_id"], unique=False)

    op.create_table(
        "reading",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("what", sa.TEXT(), nullable=False),
        sa.Column("occasion", sa.TEXT(), server_default=sa.text("'intake'"), nullable=False),
        sa.Column("place", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("string", sa.INTEGER(), nullable=True),
        sa.Column("fret", sa.INTEGER(), nullable=True),
        sa.Column("typed", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("measurement", sa.TEXT(), nullable=True),
        sa.Column("corrected", sa.TEXT(), nullable=True),
        sa.Column("tool", sa.TEXT(), server_default=sa.text("'gauge'"), nullable=False),
        sa.Column("within_typed", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("how", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("coil", sa.TEXT(), nullable=True),
        sa.Column("note", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("read_by", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("read_at", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_reading_version")),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_reading_job_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
        sqlite_strict=True,
    )
    with op.batch_alter_table("reading", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_reading_job_id"), ["job_id"], unique=False)

    op.create_table(
        "string_set",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("occasion", sa.TEXT(), server_default=sa.text("'intake'"), nullable=False),
        sa.Column("slackness", sa.TEXT(), server_default=sa.text("'at pitch'"), nullable=False),
        sa.Column("strings", sa.TEXT(), server_default=sa.text("'[]'"), nullable=False),
        sa.Column("name", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("note", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_string_set_version")),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_string_set_job_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_string_set")),
        sa.UniqueConstraint("job_id", "occasion", name=op.f("uq_string_set_job_id_occasion")),
        sqlite_strict=True,
    )
    with op.batch_alter_table("string_set", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_string_set_job_id"), ["job_id"], unique=False)

    op.create_table(
        "fault",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("kind", sa.TEXT(), server_default=sa.text("'other'"), nullable=False),
        sa.Column("own_kind", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("finding_id", sa.TEXT(), nullable=True),
        sa.Column("where", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("heard_when", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("tries", sa.TEXT(), server_default=sa.text("'[]'"), nullable=False),
        sa.Column("likely_cause", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("retest", sa.TEXT(), server_default=sa.text("'not retested'"), nullable=False),
        sa.Column("retest_words", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("noted_at", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("retested_at", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_fault_version")),
        sa.ForeignKeyConstraint(
            ["finding_id"], ["finding.id"], name=op.f("fk_fault_finding_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_fault_job_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fault")),
        sqlite_strict=True,
    )
    with op.batch_alter_table("fault", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_fault_finding_id"), ["finding_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_fault_job_id"), ["job_id"], unique=False)

    op.create_table(
        "stamp",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("part", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("kind", sa.TEXT(), server_default=sa.text("'words'"), nullable=False),
        sa.Column("typed", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("photo_id", sa.TEXT(), nullable=True),
        sa.Column("finding_id", sa.TEXT(), nullable=True),
        sa.Column("left_unread", sa.INTEGER(), server_default=sa.text("0"), nullable=False),
        sa.Column("reason", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("note", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("read_by", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("read_at", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_stamp_version")),
        sa.ForeignKeyConstraint(
            ["finding_id"], ["finding.id"], name=op.f("fk_stamp_finding_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_stamp_job_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"], ["photo.id"], name=op.f("fk_stamp_photo_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stamp")),
        sqlite_strict=True,
    )
    with op.batch_alter_table("stamp", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stamp_finding_id"), ["finding_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_stamp_job_id"), ["job_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_stamp_photo_id"), ["photo_id"], unique=False)
