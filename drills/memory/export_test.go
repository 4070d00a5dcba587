package memory

// State returns what the deck knows of an item of its pool.
func (d *Deck) State(it Item) State { return d.entries[d.index[it]].state }

// Start is the level at which new items are let in.
func (d *Deck) Start() int { return d.start }

// Rung is where an item stands on its ladder.
func Rung(it Item) int { return rung(it) }

// LaidDue are the due items that are asked today.
func (d *Deck) LaidDue() []Item {
	var items []Item
	for _, i := range d.due {
		items = append(items, d.pool[i])
	}
	return items
}

// Foretold returns the chance of a right answer that the item alone foretells, and that
// of the whole estimate.
func Foretold(e *Estimate, it Item, d Day) (alone, all float64) {
	i := e.at(it)
	return e.foretell(i, d).by[byItem], e.recallOf(i, d)
}
