"""The command line: one file a command, no numbers computed here.

A command imports `bootstrap` when it runs, not when it is named: the libraries behind it take a second to load, and
`--help` should not.
"""
