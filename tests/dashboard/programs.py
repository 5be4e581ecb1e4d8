"""What a program reads of a reply."""

import json


def read_back(told):
    """What a program reads back; refuses what JSON cannot say, such as NaN."""
    return json.loads(json.dumps(told, allow_nan=False, default=str))
