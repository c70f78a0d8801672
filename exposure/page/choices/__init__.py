"""What the reader chose, as one frozen state, and what follows from it: inputs, the answer, its seal."""
