"""The service on a network: nothing can be read there without the passphrase."""
