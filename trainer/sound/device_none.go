//go:build !cgo

package sound

import "context"

// openDevice finds no device: the sound library needs cgo.
func openDevice(context.Context, int, func([]float32), func()) (output, error) {
	return nil, errBuild
}
