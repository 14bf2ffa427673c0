"""How binder burns out, and what a thermobalance says of it. All SI."""
