//go:build cgo

package sound

import (
	"context"
	"fmt"
	"unsafe"

	"github.com/gen2brain/malgo"

	"footfall/trainer/guard"
)

// captureMS is how much sound a microphone hands on at a time: little, since a
// player waits for it.
const captureMS = 10

// OpenMicrophone starts capturing one channel at so many samples a second from
// the device of that name as Microphones gives it, or from the system's choice
// for "". take gets each piece on the device's own thread and must neither block
// nor keep it; gone is called once if the device goes away. A device that has not
// answered when the context ends is closed when it does.
func OpenMicrophone(ctx context.Context, name string, rate int, take func([]float32), gone func()) (Microphone, error) {
	return guard.Await(ctx, func() (m Microphone, err error) {
		err = onBackends(ctx, func(b malgo.Backend) (err error) {
			m, err = openCapture(b, name, rate, take, gone)
			return err
		})
		return m, err
	}, Microphone.Close)
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
		m.end()
		return nil, err
	}
	return m, nil
}

type malgoMicrophone struct{ malgoDevice }

// Close is Microphone's.
func (m *malgoMicrophone) Close() { m.close() }

// Microphones lists the devices that capture now, the system's choice first, as
// far as they answer until the context ends.
func Microphones(ctx context.Context) ([]string, error) {
	return guard.Await(ctx, func() (names []string, err error) {
		err = onBackends(ctx, func(b malgo.Backend) (err error) {
			names, err = captures(b)
			return err
		})
		return names, err
	}, func([]string) {})
}

func captures(b malgo.Backend) (names []string, err error) {
	context, err := malgo.InitContext([]malgo.Backend{b}, malgo.ContextConfig{}, nil)
	if err != nil {
		return nil, err
	}
	infos, err := context.Devices(malgo.Capture)
	_ = context.Uninit()
	context.Free()
	for i := range infos {
		if infos[i].IsDefault != 0 {
			names = append([]string{infos[i].Name()}, names...)
		} else {
			names = append(names, infos[i].Name())
		}
	}
	return names, err
}
