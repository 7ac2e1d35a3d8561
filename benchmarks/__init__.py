"""The numbers to reach, measured each beside its peer in the same run: `make benchmark`."""
