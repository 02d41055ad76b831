"""How much goes on paper at once, by what was measured on two cores: a page that takes longer looks broken.

A line of the handout takes 0.2 ms to read, which printing does three times (is it short enough, the digest, the file),
and 0.1 to 0.2 ms to write: 10,000 lines are some 7 seconds. A line of sanitation, which may stand for a whole crew's
pieces, takes 2.6 ms to read: so there is a limit in seconds too. A CSV file streams, and may have any size.
"""

MOST_ON_PAPER = 10_000
MOST_SECONDS = 6.0
