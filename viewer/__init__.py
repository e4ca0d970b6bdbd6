"""The desktop window and the command line."""
