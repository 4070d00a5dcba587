//go:build cgo

package sound

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"unsafe"

	"github.com/gen2brain/malgo"

	"footfall/trainer/guard"
)

// backends are the ways to a sound device that are tried, in miniaudio's order.
// Its null device is left out: it would pass for sound.
var backends = []malgo.Backend{
	malgo.BackendWasapi, malgo.BackendDsound, malgo.BackendWinmm, malgo.BackendCoreaudio, malgo.BackendSndio,
	malgo.BackendAudio4, malgo.BackendOss, malgo.BackendPulseaudio, malgo.BackendAlsa, malgo.BackendJack,
	malgo.BackendAaudio, malgo.BackendOpensl,
}

// library is held by whoever makes, lists or ends devices: where one call hangs,
// the others wait in Go instead of hanging too.
var library = make(chan struct{}, 1)

// onBackends tries a call on one backend after the other until one has no error,
// and returns the first error that says more than that there is no such backend,
// in plain words.
func onBackends(ctx context.Context, try func(malgo.Backend) error) (err error) {
	select {
	case library <- struct{}{}:
		defer func() { <-library }()
	case <-ctx.Done():
		return ctx.Err()
	}
	quietLibraries()
	err = malgo.ErrNoBackend
	for _, b := range backends {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		fault := serves(b)
		if errors.Is(fault, errHangs) {
			return fault // so would the ways that lead to the same server
		}
		if fault == nil {
			fault = try(b)
		}
		if fault == nil {
			return nil
		}
		if errors.Is(err, malgo.ErrNoBackend) {
			err = fault
		}
	}
	return plain(err)
}

// plain is an error of the sound library in words for a player; others stay as they are.
func plain(err error) error {
	var result malgo.Result
	switch {
	case errors.Is(err, malgo.ErrNoBackend), errors.Is(err, malgo.ErrNoDevice):
		return errNoDevice
	case errors.Is(err, malgo.ErrAccessDenied):
		return errors.New("the system lets this program use no sound device")
	case errors.Is(err, malgo.ErrBusy), errors.Is(err, malgo.ErrAlreadyInUse):
		return errors.New("another program holds the sound device")
	case errors.As(err, &result):
		return errors.New("the sound device does not open")
	}
	return err
}

type malgoDevice struct {
	context *malgo.AllocatedContext
	device  *malgo.Device
	still   atomic.Bool // stopped by us
	// calls is held by the one call of the device at a time.
	calls  sync.Mutex
	closed bool
}

// The buffer is long, since nothing played on an instrument goes through it and
// the clock knows its length; a short one gives out whenever the machine is busy.
const bufferMS = 150

func openDevice(ctx context.Context, rate int, render func([]float32), gone func()) (device output, err error) {
	err = onBackends(ctx, func(b malgo.Backend) (err error) {
		device, err = openBackend(b, rate, render, gone)
		return err
	})
	return device, err
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
	m.calls.Lock()
	defer m.calls.Unlock()
	if m.closed {
		return errors.New("the device is closed")
	}
	m.still.Store(false)
	return m.device.Start()
}

func (m *malgoDevice) pause() error {
	m.calls.Lock()
	defer m.calls.Unlock()
	if m.closed {
		return nil
	}
	m.still.Store(true)
	return m.device.Stop()
}

func (m *malgoDevice) buffered() int { return int(m.device.SampleRate()) * bufferMS / 1000 }

// close lets the device go. miniaudio may hang in that where a server died: such a
// device is left to itself, and others may be opened.
func (m *malgoDevice) close() {
	m.still.Store(true)
	m.calls.Lock()
	defer m.calls.Unlock()
	library <- struct{}{}
	defer func() { <-library }()
	m.closed = true
	ctx, cancel := context.WithTimeout(context.Background(), closeTime)
	defer cancel()
	_ = guard.Within(ctx, func() error { m.end(); return nil })
}

// end is close, for who holds the library and knows that the device answers.
func (m *malgoDevice) end() {
	m.device.Uninit()
	m.freeContext()
}

func (m *malgoDevice) freeContext() {
	_ = m.context.Uninit()
	m.context.Free()
}
