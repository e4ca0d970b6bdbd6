"""Light as spectra: the data, and the code that reads and makes it."""
