"""Methods: how far off does a method read, and how repeatable is it?  For the laboratory.

Control samples, another method, routine readings and other laboratories tell it; corrections and
changed figures are adopted here.
"""
