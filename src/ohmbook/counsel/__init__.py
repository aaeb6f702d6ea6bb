"""What to do about a state of knowledge: which readings to take next."""
