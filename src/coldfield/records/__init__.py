"""Safe storage for seasons of drills: the tables, the store, its migrations, export and import."""
