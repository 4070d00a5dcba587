//go:build cgo

package sound

import (
	"errors"
	"sync/atomic"
	"unsafe"

	"github.com/gen2brain/malgo"
)

// backends are the ways to a sound device that are tried, in miniaudio's order.
// Its null device is left out: it would pass for sound.
var backends = []malgo.Backend{
	malgo.BackendWasapi, malgo.BackendDsound, malgo.BackendWinmm, malgo.BackendCoreaudio, malgo.BackendSndio,
	malgo.BackendAudio4, malgo.BackendOss, malgo.BackendPulseaudio, malgo.BackendAlsa, malgo.BackendJack,
	malgo.BackendAaudio, malgo.BackendOpensl,
}

type malgoDevice struct {
	context *malgo.AllocatedContext
	device  *malgo.Device
	still   atomic.Bool // stopped by us
}

// The buffer is long, since nothing played on an instrument goes through it and
// the clock knows its length; a short one gives out whenever the machine is busy.
const bufferMS = 150

func openDevice(rate int, render func([]float32), gone func()) (device output, err error) {
	quietLibraries()
	for _, b := range backends {
		var fault error
		if device, fault = openBackend(b, rate, render, gone); fault == nil {
			return device, nil
		}
		if err == nil || errors.Is(err, malgo.ErrNoBackend) {
			err = fault
		}
	}
	return nil, err
}

func openBackend(b malgo.Backend, rate int, render func([]float32), gone func()) (output, error) {
	context, err := malgo.InitContext([]malgo.Backend{b}, malgo.ContextConfig{}, nil)
	if err != nil {
		return nil, err
	}
	m := &malgoDevice{context: context}
	config := malgo.DefaultDeviceConfig(malgo.Playback)
	config.SampleRate = uint32(rate)
	config.Playback.Format = malgo.FormatF32
	config.Playback.Channels = 1
	config.Periods = 2
	config.PeriodSizeInMilliseconds = bufferMS / 2
	if b == malgo.BackendPulseaudio {
		config.PeriodSizeInMilliseconds = bufferMS // miniaudio has the server keep a single period filled
	}
	config.NoFixedSizedCallback = 1
	config.Pulse.StreamNamePlayback = "Footfall"
	err = m.make(config, func(out, _ []byte, frames uint32) {
		if len(out) > 0 {
			render(unsafe.Slice((*float32)(unsafe.Pointer(&out[0])), frames))
		}
	}, gone)
	if err != nil {
		return nil, err
	}
	return m, nil
}

// make makes the device of its context. data is called with its buffers, gone
// when it stops by itself. On an error the context is let go.
func (m *malgoDevice) make(config malgo.DeviceConfig, data malgo.DataProc, gone func()) (err error) {
	stopped := func() {
		if !m.still.Load() {
			gone()
		}
	}
	m.device, err = malgo.InitDevice(m.context.Context, config, malgo.DeviceCallbacks{Data: data, Stop: stopped})
	if err != nil {
		m.freeContext()
	}
	return err
}

func (m *malgoDevice) start() error {
	m.still.Store(false)
	return m.device.Start()
}

func (m *malgoDevice) pause() error {
	m.still.Store(true)
	return m.device.Stop()
}

func (m *malgoDevice) rate() int { return int(m.device.SampleRate()) }

func (m *malgoDevice) buffered() int { return m.rate() * bufferMS / 1000 }

func (m *malgoDevice) close() {
	m.still.Store(true)
	m.device.Uninit()
	m.freeContext()
}

func (m *malgoDevice) freeContext() {
	_ = m.context.Uninit()
	m.context.Free()
}
