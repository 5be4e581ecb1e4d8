"""Around a recipe: other odds and levels, what to buy or test next, and blends to come."""
