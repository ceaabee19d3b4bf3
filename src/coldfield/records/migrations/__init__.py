"""The numbered migrations, run by alembic."""
