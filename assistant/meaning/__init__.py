"""What an utterance means: one frozen class for each kind of meaning, and the way from words to them."""
