"""Why there is no recipe, what would make one possible, and what each limit costs."""
