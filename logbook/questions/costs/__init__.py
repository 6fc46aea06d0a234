"""What each kind of defect has cost, in the order in which to look at them."""
