"""List drills and courses newest first, no longer by name."""

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.drop_index("ix_drill_name_id", "drill")
    op.drop_index("ix_course_name_id", "course")
    op.create_index("ix_course_created_utc_id", "course", ["created_utc", "id"])
