"""Goods as sentences, rows and figures."""
