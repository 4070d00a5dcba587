//go:build cgo

package sound

import (
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
	closing chan struct{}
}

const (
	periodMS = 10
	periods  = 3
)

func openDevice(rate int, render func([]float32), gone func()) (output, error) {
	return openBackend(backends, rate, render, gone)
}

func openBackend(backends []malgo.Backend, rate int, render func([]float32), gone func()) (output, error) {
	silenceALSA()
	context, err := malgo.InitContext(backends, malgo.ContextConfig{}, nil)
	if err != nil {
		return nil, err
	}
	m := &malgoDevice{context: context, closing: make(chan struct{})}
	config := malgo.DefaultDeviceConfig(malgo.Playback)
	config.SampleRate = uint32(rate)
	config.Playback.Format = malgo.FormatF32
	config.Playback.Channels = 1
	config.PeriodSizeInMilliseconds = periodMS
	config.Periods = periods
	config.Pulse.StreamNamePlayback = "Footfall"
	m.device, err = malgo.InitDevice(context.Context, config, malgo.DeviceCallbacks{
		Data: func(out, _ []byte, frames uint32) {
			if len(out) > 0 {
				render(unsafe.Slice((*float32)(unsafe.Pointer(&out[0])), frames))
			}
		},
		Stop: func() {
			select {
			case <-m.closing:
			default:
				gone()
			}
		},
	})
	if err != nil {
		m.freeContext()
		return nil, err
	}
	return m, nil
}

func (m *malgoDevice) start() error { return m.device.Start() }

func (m *malgoDevice) rate() int { return int(m.device.SampleRate()) }

func (m *malgoDevice) buffered() int { return m.rate() * periodMS * (periods - 1) / 1000 }

func (m *malgoDevice) close() {
	close(m.closing)
	m.device.Uninit()
	m.freeContext()
}

func (m *malgoDevice) freeContext() {
	_ = m.context.Uninit()
	m.context.Free()
}
