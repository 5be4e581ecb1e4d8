"""Run rules, how long they take to signal, and what that costs in false alarms."""
