package quote

import "strings"

// Cell is a text for a cell of a CSV table: a quote stands before one that a spreadsheet
// would take for a formula, and before one that would read like that when it comes back
// (CWE-1236: = + - @, tab, carriage return).
func Cell(text string) string {
	if formula(strings.TrimLeft(text, "'")) {
		return "'" + text
	}
	return text
}

// FromCell is the text that Cell was given.
func FromCell(cell string) string {
	if rest, ok := strings.CutPrefix(cell, "'"); ok && formula(strings.TrimLeft(rest, "'")) {
		return rest
	}
	return cell
}

func formula(text string) bool {
	return text != "" && strings.ContainsRune("=+-@\t\r\n", rune(text[0]))
}
