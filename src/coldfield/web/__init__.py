"""The service and its pages in the browser."""
