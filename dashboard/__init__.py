"""What people see: the dashboard, its figures and words, and the `lotheat` command."""
