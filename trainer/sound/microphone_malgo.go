//go:build cgo

package sound

import (
	"errors"
	"fmt"
	"unsafe"

	"github.com/gen2brain/malgo"
)

// captureMS is how much sound a microphone hands on at a time: little, since a
// player waits for it.
const captureMS = 10

// OpenMicrophone starts capturing one channel at so many samples a second from
// the device of that name as Microphones gives it, or from the system's choice
// for "". take gets each piece on the device's own thread and must neither block
// nor keep it; gone is called once if the device goes away.
func OpenMicrophone(name string, rate int, take func([]float32), gone func()) (Microphone, error) {
	quietLibraries()
	var first error
	for _, b := range backends {
		m, err := openCapture(b, name, rate, take, gone)
		if err == nil {
			return m, nil
		}
		if first == nil || errors.Is(first, malgo.ErrNoBackend) {
			first = err
		}
	}
	return nil, first
}

func openCapture(b malgo.Backend, name string, rate int, take func([]float32), gone func()) (Microphone, error) {
	context, err := malgo.InitContext([]malgo.Backend{b}, malgo.ContextConfig{}, nil)
	if err != nil {
		return nil, err
	}
	m := &malgoMicrophone{malgoDevice{context: context}}
	config := malgo.DefaultDeviceConfig(malgo.Capture)
	config.SampleRate = uint32(rate)
	config.Capture.Format = malgo.FormatF32
	config.Capture.Channels = 1
	config.PeriodSizeInMilliseconds = captureMS
	config.NoFixedSizedCallback = 1
	config.Pulse.StreamNameCapture = "Footfall"
	if name != "" {
		infos, err := context.Devices(malgo.Capture)
		if err != nil {
			m.freeContext()
			return nil, err
		}
		found := false
		for i := range infos {
			if infos[i].Name() == name {
				config.Capture.DeviceID, found = infos[i].ID.Pointer(), true
			}
		}
		if !found {
			m.freeContext()
			return nil, fmt.Errorf("no microphone is called %q", name)
		}
	}
	err = m.make(config, func(_, in []byte, frames uint32) {
		if len(in) > 0 {
			take(unsafe.Slice((*float32)(unsafe.Pointer(&in[0])), frames))
		}
	}, gone)
	if err != nil {
		return nil, err
	}
	if err := m.start(); err != nil {
		m.Close()
		return nil, err
	}
	return m, nil
}

type malgoMicrophone struct{ malgoDevice }

// Close is Microphone's.
func (m *malgoMicrophone) Close() { m.close() }

// Microphones lists the devices that capture now, the system's choice first.
func Microphones() ([]string, error) {
	quietLibraries()
	var first error
	for _, b := range backends {
		context, err := malgo.InitContext([]malgo.Backend{b}, malgo.ContextConfig{}, nil)
		if err != nil {
			if first == nil || errors.Is(first, malgo.ErrNoBackend) {
				first = err
			}
			continue
		}
		infos, err := context.Devices(malgo.Capture)
		_ = context.Uninit()
		context.Free()
		if err != nil {
			return nil, err
		}
		names := make([]string, 0, len(infos))
		for i := range infos {
			if infos[i].IsDefault != 0 {
				names = append([]string{infos[i].Name()}, names...)
			} else {
				names = append(names, infos[i].Name())
			}
		}
		return names, nil
	}
	return nil, first
}
