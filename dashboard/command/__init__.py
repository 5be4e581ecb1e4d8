"""The `lotheat` command: one module a verb."""
