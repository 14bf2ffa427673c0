"""Grains: how they pack, flow, age, and what they bear. All SI."""
