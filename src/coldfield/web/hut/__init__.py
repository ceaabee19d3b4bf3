"""The service on a network, where nothing can be read without the passphrase."""
