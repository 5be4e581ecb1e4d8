"""What can be told of methods and suppliers: readings of studies, results beside certificates."""
