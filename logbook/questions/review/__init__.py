"""How a week went: how much went wrong, luck or not, what it cost, what to look at."""
