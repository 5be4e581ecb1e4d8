"""Databases of other programs: asked for rows within limits, and left as they were."""
