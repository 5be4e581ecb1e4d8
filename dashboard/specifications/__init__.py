"""Specifications: what is asked of a material, and who approved it?  For quality assurance.

The next version is proposed here, with what it would have done to the last lots.
"""
