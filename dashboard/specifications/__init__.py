"""Specifications: what is asked of a material?  For quality assurance."""
