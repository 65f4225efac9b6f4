"""Parts of the paper template: paper sizes, tiles and how they join, bars, card folds, notes."""
