"""What the tests held against numbers from outside, as a page anyone can check: with its gaps, said as plainly."""
