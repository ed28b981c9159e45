"""what the reason for a photo without a scale names; one kept before names nothing, and is told when found again"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("photo", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column("plane_refusal_values", sa.TEXT(), server_default=sa.text("'[]'"), nullable=False)
        )
    op.execute("UPDATE photo SET plane_refusal = '' WHERE plane_refusal <> 'scale.no_card'")
