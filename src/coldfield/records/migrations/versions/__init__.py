"""One module per migration; each is self-contained and never imports the schema."""
