"""The signals of the last days."""

import pandas as pd

from dashboard.frame.session import declared_methods, store, survey


def recent_signals(days: int) -> pd.DataFrame:
    """Signals at lots received in the last days, newest first, of own methods only."""
    signals = survey().signals()
    since = pd.Timestamp(store().today()) - pd.Timedelta(days=days)
    own = ~signals["method"].isin(declared_methods())
    return signals[(signals["received_at"] >= since) & own]
