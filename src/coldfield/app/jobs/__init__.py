"""Long work in worker processes, with progress and cancel."""
