"""One module per migration; each stands on its own and never imports the schema."""
