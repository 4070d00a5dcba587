package hearing

import "sync"

// tables are what analysers of guitars tuned alike share; they are never written
// to once made.
type tables struct {
	templates [len(stages)]*templates
	harmonics [lastHarmonic + 1]*harmonics
}

// newTables makes those for a guitar tuned some semitones off.
func newTables(tuning float64) *tables {
	t := &tables{}
	for i, size := range stages {
		t.templates[i] = newTemplates(size, tuning)
	}
	for i := range t.harmonics {
		t.harmonics[i] = newHarmonics(stages[i]-lead-guard, tuning)
	}
	return t
}

// tablesOf returns those for a guitar tuned some semitones off, made once.
func tablesOf(tuning float64) *tables {
	made, _ := allTables.LoadOrStore(tuning, sync.OnceValue(func() *tables { return newTables(tuning) }))
	return made.(func() *tables)()
}

var allTables sync.Map // of func() *tables by tuning
