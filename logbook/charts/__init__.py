"""What several figures share: the theme, and drawings of designs and prices; nothing is counted."""
