"""Heads: the data, their planes and regions, and loading any mesh."""
