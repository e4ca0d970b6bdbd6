"""A seeded robot that uses every control of the real window: python -m tests.robot [--seed N] [--minutes M]."""
