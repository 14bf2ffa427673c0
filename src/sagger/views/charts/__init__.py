"""Goods as charts."""
