//go:build !cgo

package sound

import (
	"context"
	"errors"
)

// OpenMicrophone finds no device: the sound library needs cgo.
func OpenMicrophone(context.Context, string, int, func([]float32), func()) (Microphone, error) {
	return nil, errors.New("this build was made without cgo and cannot capture sound: build it again where there is a C compiler")
}

// Microphones finds no device.
func Microphones(context.Context) ([]string, error) {
	return nil, errors.New("this build was made without cgo and cannot capture sound: build it again where there is a C compiler")
}
