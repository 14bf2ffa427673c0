"""Drops: whether they leave the nozzle, how they fill the bed, how long a pass takes. All SI."""
