"""What `verify` asks of people and signatures beside the rows that the audit chain tells."""

from typing import Final

from spc.store.file.cursors import Cursor
from spc.store.people import requests, secret

SECRETS: Final = """
    select account.person, account.secret_sha256, account_secret.encoded
    from account
    left join account_secret using (account)
    where account.way = 'secret'
    order by account.step
"""

HELD: Final = """
    select
        (select count(*) from account_secret),
        (select count(*) from account where way = 'secret')
"""


def faults(cursor: Cursor) -> tuple[int, list[str]]:
    """How many secrets and signed texts were checked, and what is wrong with them."""
    chosen = cursor.execute(SECRETS).fetchall()
    found = [
        f"the secret of person {person} is not the one that they chose."
        for person, sha256, encoded in chosen
        if secret.digest(encoded or "") != sha256
    ]
    held, opened = cursor.execute(HELD).fetchone() or (0, 0)
    if held != opened:
        found.append(f"{held} secrets are kept for {opened} accounts.")
    asked, unfaithful = requests.unfaithful(cursor)
    found += [
        f"what was signed of {subject} ({meaning}) is not what stands there."
        for subject, meaning in unfaithful
    ]
    return len(chosen) + asked, found
