"""The calculation: from a sitting to seen colours, notes, targets, recipes and files."""
