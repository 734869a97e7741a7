"""The command line: one file a command, no numbers computed here."""
