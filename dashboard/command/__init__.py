"""The `lotheat` command: one module a verb.  Parse, call, print."""
