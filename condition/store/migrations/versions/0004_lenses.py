"""Lenses learned from the size cards."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "lens",
        sa.Column("id", sa.TEXT(), nullable=False),
        sa.Column("camera", sa.TEXT(), nullable=False),
        sa.Column("lens", sa.TEXT(), nullable=False),
        sa.Column("k1", sa.REAL(), nullable=False),
        sa.Column("k1_sd", sa.REAL(), nullable=False),
        sa.Column("photo_count", sa.INTEGER(), nullable=False),
        sa.Column("learned_at", sa.TEXT(), server_default=sa.text("('')"), nullable=False),
        sa.Column("version", sa.INTEGER(), nullable=False),
        sa.Column("placed", sa.INTEGER(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_lens_version")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lens")),
        sa.UniqueConstraint("camera", "lens", name=op.f("uq_lens_camera_lens")),
        sqlite_strict=True,
    )
