"""What lies between and inside shapes: sections, loose powder, empty room [mm]."""
