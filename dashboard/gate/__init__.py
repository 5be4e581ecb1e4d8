"""The gate: who may come in, under which name and from where, and what programs may do."""
