"""The invariants of a knowledge base, one small function each: Knowledge -> list of problems."""
