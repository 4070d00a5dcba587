//go:build !unix

package screen

import tea "github.com/charmbracelet/bubbletea"

// stopOnSignals does nothing where no shell stops programs.
func stopOnSignals(*tea.Program, *painter, bool) func() { return func() {} }

// stopSelf does nothing there either.
func stopSelf() {}
