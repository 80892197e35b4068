"""Results for people. Nothing here computes an answer: it shows what `results` holds."""
