"""The run room: fixed task lists, rounds, threads, and what is written down about a run."""
