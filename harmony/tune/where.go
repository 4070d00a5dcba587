package tune

// Where tells at which line and column, from 1, a text has a beat of a section's bar, both
// counted from 1, in the first of some rows that the section has; ok is false where it has none
// of them, or no such bar.
func Where(text, section string, bar, beat int, rows ...Row) (line, column int, ok bool) {
	r := newReader()
	r.read(text)
	i, named := r.named[section]
	if !named {
		return 0, 0, false
	}
	for _, row := range rows {
		raw := r.sections[i].rows[row]
		if raw == nil || bar < 1 || bar > len(raw.cells) {
			continue
		}
		at := trimmed(raw.cells[bar-1])
		if tokens := at.fields(); len(tokens) > 1 && beat >= 1 && beat <= len(tokens) { // one alone copies a bar
			at = tokens[beat-1]
		}
		return at.line, at.col, true
	}
	return 0, 0, false
}
