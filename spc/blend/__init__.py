"""Recipes from the lots in stock: hit a heat level, know the odds, at the least cost."""
