"""Files as nobody should bring them, and the promise that every reader keeps: accepted, or refused in one sentence.

python -m tests.hostile --cases 100000        the long form, from the project's folder
"""
