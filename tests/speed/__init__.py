"""How fast, as ratios against rivals written as well as we know how: python -m tests.speed"""
