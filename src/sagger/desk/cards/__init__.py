"""The shop's own cards, and the trials that fill them."""
