"""Studies of how well a method measures: operators, laboratories, and what each adds."""
