//go:build cgo && (!linux || android)

package sound

func quietLibraries() {}
