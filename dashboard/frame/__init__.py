"""What every room uses: theme, session, drawing, saving, typesetting, plain words and tables."""
