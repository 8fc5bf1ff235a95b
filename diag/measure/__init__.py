"""Readings of instruments: text into quantities, quantities into what they tell of a finding's states."""
