"""Goods to pictures, tables and pages; one set for paper and screen."""
