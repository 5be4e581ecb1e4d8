"""What the rooms share.

The look and its charts, the store and who is looking, choices kept in the address, tables saved,
the typesetting of papers, and the words and blocks that more than one room shows.
"""
