"""The page on which a signature is given: what is signed, by whom, and the secret for it.

It is the server's own page, shown inside a screen's dialog, so that no screen ever holds a secret.
"""
