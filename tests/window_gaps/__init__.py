"""How long the window ever stands still, measured: see __main__."""
