"""Readings taken in, judged, learnt from, approved and traced."""
