"""Answers about blends: what is asked, what is in stock, the recipe, its outlook and its sheet."""
