"""Use cases: what a command or a page asks for, put together from the packages below."""
