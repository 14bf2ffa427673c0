"""Goods as pixels and triangles."""
