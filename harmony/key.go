package harmony

// Key is a tonic and its mode, major or minor.
type Key struct {
	Tonic Note
	Minor bool
}
