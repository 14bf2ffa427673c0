"""The bench: pages in a browser over the desk. Nothing is computed here."""
