"""Fifteen against fifteen with a margin of 20 points.

Fries et al. (1993), J Infect Dis 167:593-601 (vaccine challenge, 8 against 3 of 15 successes,
here as failures), as in the documentation of the R package EC.
"""

from cases import load
from margins import check_no_worse


def test_score_interval_against_the_margin_is_the_score_test():
    check_no_worse(load("ni_fries"))
