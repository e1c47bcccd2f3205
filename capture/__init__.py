"""Taking in: watching a folder, settling, identity, keeping originals, decoding audio and photos."""
