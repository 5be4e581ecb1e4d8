"""Pictures: a result in, a chart out."""
