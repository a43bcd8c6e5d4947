"""Files checked and the rule base proved, over callouts at random and on every boundary."""
