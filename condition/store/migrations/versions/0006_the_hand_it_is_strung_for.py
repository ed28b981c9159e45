"""the hand an instrument is strung for; those that stand stay right-handed, as they were taken to be"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("instrument", schema=None) as batch_op:
        batch_op.add_column(sa.Column("handedness", sa.TEXT(), server_default=sa.text("'right'"), nullable=False))
