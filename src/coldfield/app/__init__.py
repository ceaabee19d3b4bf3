"""Use cases behind the commands and pages, built from the packages below."""
