"""Outside referees of the light calculation: `python -m tests.referees` from the project's folder runs them all."""
