"""The verbs, in the order of work: speech, notes, displays, pairing, judging, review, delivery."""
