package sound

// Microphone is a device that captures.
type Microphone interface {
	// Close stops the capture and lets the device go; call it once.
	Close()
}
