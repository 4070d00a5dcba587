package drills

// ReadNote is for tests of what players type.
var ReadNote = readNote
