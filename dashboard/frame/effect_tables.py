"""What another version would change, as tables."""

import pandas as pd

from dashboard.frame.lot_addresses import lot_address
from spc.answers.specifications import ProposalEffect
from spc.store.approving.effects import Effect


def suppliers_table(effect: Effect) -> pd.DataFrame:
    """Lots accepted, held and rejected, now and then, by supplier and of all."""
    compared = ProposalEffect(suppliers=effect.suppliers, before=effect.before, after=effect.after)
    return compared.by_supplier()


def moved_table(effect: Effect) -> pd.DataFrame:
    """The lots that would be judged otherwise."""
    return pd.DataFrame(
        [
            {
                "lot": lot_address(one.lot),
                "supplier": one.supplier,
                "state": one.state,
                "falls under it": one.counts,
                "now": one.now,
                "then": one.then,
                "why": one.why,
            }
            for one in effect.moved
        ]
    )
