package memory

// Placing reports whether the next question belongs to the placing round.
func (d *Deck) Placing() bool { return d.placing != nil }

// State returns what the deck knows of an item of its pool.
func (d *Deck) State(it Item) State { return d.entries[d.index[it]].state }
