"""The service on a network: nothing is read there without the passphrase."""
