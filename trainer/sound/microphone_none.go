//go:build !cgo

package sound

import "context"

// OpenMicrophone finds no device: the sound library needs cgo.
func OpenMicrophone(context.Context, string, int, func([]float32), func()) (Microphone, error) {
	return nil, errBuild
}

// Microphones finds no device.
func Microphones(context.Context) ([]string, error) {
	return nil, errBuild
}
