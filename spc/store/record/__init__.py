"""What proves the rest: the audit chain, seals, ledgers, receipts, and a copy of it all."""
