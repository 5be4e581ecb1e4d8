"""Charts of a lot's dossier; pure."""
