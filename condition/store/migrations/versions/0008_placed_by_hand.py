"""where a photo lies on its face's base photo by hand"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "placed_by_hand",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("job_id", sa.TEXT(), nullable=False),
        sa.Column("photo_id", sa.TEXT(), nullable=False),
        sa.Column("base_photo_id", sa.TEXT(), nullable=False),
        sa.Column("pairs", sa.TEXT(), server_default=sa.text("'[]'"), nullable=False),
        sa.Column("confirmed", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("left_off", sa.INTEGER(), server_default=sa.text("0"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_placed_by_hand_version")),
        sa.ForeignKeyConstraint(
            ["base_photo_id"],
            ["photo.id"],
            name=op.f("fk_placed_by_hand_base_photo_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_placed_by_hand_job_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"], ["photo.id"], name=op.f("fk_placed_by_hand_photo_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_placed_by_hand")),
        sa.UniqueConstraint("photo_id", name=op.f("uq_placed_by_hand_photo_id")),
        sqlite_strict=True,
    )
    with op.batch_alter_table("placed_by_hand", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_placed_by_hand_base_photo_id"), ["base_photo_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_placed_by_hand_job_id"), ["job_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_placed_by_hand_photo_id"), ["photo_id"], unique=False)

