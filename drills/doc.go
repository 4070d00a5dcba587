// Package drills asks and grades: the kinds of questions, what counts as an
// answer, how a sitting goes, and what is to be remembered.
//
// It is pure. Time and chance are handed in; it must never know a screen, a
// database, a sound or a device. Faces show what Ask says and hand back a Reply.
//
// To add a question kind, write one file with a type that implements Question
// and a Kind row for it in Kinds (kinds.go). Everything else (screen, plain
// mode, commands, memory) works from those two.
package drills
