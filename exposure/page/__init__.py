"""The screens: three questions, each answered by calls that the terminal makes too. Nothing is computed here."""
