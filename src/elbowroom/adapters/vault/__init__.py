"""The vault: keys that a passphrase opens, and files that are sealed on disk."""
