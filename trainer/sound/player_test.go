package sound

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
	"footfall/trainer/guard"
)

// fakeDevice asks for 10 ms of samples every 10 ms of the test's clock, two
// periods ahead of what is heard.
type fakeDevice struct {
	hz     int
	render func([]float32)
	gone   func()
	mu     sync.Mutex
	quit   chan struct{} // nil while it is still
	hang   chan struct{} // pausing and closing wait for it where it is there
	loud   atomic.Bool
	closed atomic.Bool
	asked  atomic.Int64
}

func (f *fakeDevice) start() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	quit := make(chan struct{})
	f.quit = quit
	go func() {
		buf := make([]float32, f.hz/100)
		f.ask(buf)
		f.ask(buf)
		ticker := time.NewTicker(10 * time.Millisecond)
		defer ticker.Stop()
		for {
			select {
			case <-quit:
				return
			case <-ticker.C:
				f.ask(buf)
			}
		}
	}()
	return nil
}

func (f *fakeDevice) ask(buf []float32) {
	f.render(buf)
	f.asked.Add(1)
	for _, x := range buf {
		if x > 0.05 {
			f.loud.Store(true)
		}
	}
}

func (f *fakeDevice) halt() {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.quit != nil {
		close(f.quit)
		f.quit = nil
	}
}

func (f *fakeDevice) pause() error {
	f.halt()
	if f.hang != nil {
		<-f.hang
	}
	return nil
}

func (f *fakeDevice) close() {
	_ = f.pause()
	f.closed.Store(true)
}

func (f *fakeDevice) buffered() int { return 2 * f.hz / 100 }

// unplug takes the device away, with or without telling.
func (f *fakeDevice) unplug(tell bool) {
	f.halt()
	if tell {
		f.gone()
	}
}

// shop opens fake devices.
type shop struct {
	mu      sync.Mutex
	refuse  func() error
	devices []*fakeDevice
}

func (s *shop) rule(refuse func() error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.refuse = refuse
}

func (s *shop) device(n int) *fakeDevice {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.devices[n]
}

func (s *shop) open(_ context.Context, rate int, render func([]float32), gone func()) (output, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.refuse != nil {
		if err := s.refuse(); err != nil {
			return nil, err
		}
	}
	d := &fakeDevice{hz: rate, render: render, gone: gone}
	s.devices = append(s.devices, d)
	return d, nil
}

// started opens a player on a shop and starts it: 4/4 at 120, one bar counted.
func started(t *testing.T, s *shop, o Options) *Player {
	p, err := openWith(clicks(200, fourFour, 120), o, s.open)
	require.NoError(t, err)
	require.NoError(t, p.Play())
	return p
}

// settle waits until a device plays, or until it is said why none does.
func settle(t testing.TB, p *Player) {
	t.Helper()
	require.Eventually(t, func() bool { return p.asked.Load() != 0 || p.Status() != "" }, 60*time.Second, time.Millisecond)
}

// follow watches the clock for so long and checks that it runs as wall time
// does, within a few ms, never back.
func follow(t *testing.T, p *Player, d time.Duration) {
	t.Helper()
	start, first := time.Now(), p.Now()
	last := first
	for time.Since(start) < d {
		time.Sleep(time.Second / 60)
		now := p.Now()
		require.GreaterOrEqual(t, now.At, last.At)
		require.InDelta(t, time.Since(start).Seconds(), (now.At - first.At).Duration().Seconds(), 0.004)
		if now.State == last.State && now.State == Playing {
			require.GreaterOrEqual(t, now.Point.Bar*8+now.Beat, last.Point.Bar*8+last.Beat)
		}
		last = now
	}
	assert.Equal(t, Playing, last.State)
}

func TestPlayerOnADevice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &shop{}
		p := started(t, s, Options{})
		defer p.Close()
		time.Sleep(time.Second)
		assert.Equal(t, Counting, p.Now().State)
		assert.Equal(t, 0, p.Now().Point.Bar)
		time.Sleep(1500 * time.Millisecond)
		follow(t, p, 20*time.Second)
		assert.Empty(t, p.Status())
		assert.True(t, s.device(0).loud.Load())
		// A sample asked for now is heard when the buffer before it has been: the click
		// of a beat must be rendered before the clock says the beat is heard.
		require.Eventually(t, func() bool { return p.turn.CompareAndSwap(false, true) }, time.Second, time.Millisecond)
		defer p.turn.Store(false)
		now := p.Now()
		assert.InDelta(t, 0.022, (harmony.InstantOfSample(p.frames, p.rate) - now.At).Duration().Seconds(), 0.012)
		// A moment of the past, as a note listened to has.
		then := p.When(time.Now().Add(-500 * time.Millisecond))
		assert.InDelta(t, 0.5, (now.At - then.At).Duration().Seconds(), 1e-6)
	})
}

func TestPlayerWithoutADevice(t *testing.T) {
	for name, o := range map[string]Options{"none": {}, "muted": {Mute: true}} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := &shop{refuse: func() error { return errors.New("no device here") }}
				p := started(t, s, o)
				defer p.Close()
				time.Sleep(2200 * time.Millisecond)
				follow(t, p, 20*time.Second)
				assert.Contains(t, p.Status(), "the click is seen, not heard")
				assert.NotContains(t, p.Status(), "\n")
				now := p.Now()
				assert.Equal(t, 11, now.Point.Bar)
			})
		})
	}
}

// Unplugged, silently or not, in the middle of playing; then plugged in again.
func TestPlayerLosesItsDevice(t *testing.T) {
	for name, tell := range map[string]bool{"told": true, "untold": false} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := &shop{}
				p := started(t, s, Options{})
				defer p.Close()
				time.Sleep(3 * time.Second)
				s.rule(func() error { return errors.New("unplugged") })
				s.device(0).unplug(tell)
				follow(t, p, 9*time.Second)
				assert.Equal(t, "The sound device has gone: the click is seen, not heard.", p.Status())
				require.NoError(t, p.SetTempo(240))
				time.Sleep(3 * time.Second)
				assert.Equal(t, 240.0, p.Now().Bar.Tempo, "the transport still obeys")
				s.rule(nil)
				time.Sleep(6 * time.Second)
				assert.Empty(t, p.Status())
				follow(t, p, 5*time.Second)
				assert.True(t, s.device(1).loud.Load(), "the sound is back")
			})
		})
	}
}

// A hundred screens that ask and change at once never keep the device waiting.
func TestPlayerUnderManyHands(t *testing.T) {
	s := &shop{}
	p := started(t, s, Options{})
	var hands sync.WaitGroup
	stop := make(chan struct{})
	for i := range 8 {
		hands.Add(1)
		go func() {
			defer hands.Done()
			for n := 0; ; n++ {
				select {
				case <-stop:
					return
				default:
					p.Now()
					p.Since(0)
					_ = p.SetTempo(float64(100 + (n+i)%100))
					_ = p.SetCourse(Course{First: 1 + n%4, Last: 8})
					time.Sleep(time.Millisecond)
				}
			}
		}()
	}
	settle(t, p)
	require.Eventually(t, func() bool { return s.device(0).asked.Load() > 30 }, 60*time.Second, time.Millisecond)
	close(stop)
	hands.Wait()
	p.Close()
}

// The whole callback of a device, the clock's part with it.
func TestCallbackAllocatesNothing(t *testing.T) {
	p := started(t, &shop{}, Options{Mute: true})
	defer p.Close()
	buf := make([]float32, 480)
	assert.Zero(t, testing.AllocsPerRun(1000, func() { p.render(buf) }))
	p.Close()
}

// A machine that is suspended, or a program that is stopped, for hours: the music
// does not make up for them, its clock goes on from where it was, and the player
// is told.
func TestPlayerAfterSleep(t *testing.T) {
	for name, o := range map[string]Options{"device": {}, "wall clock": {Mute: true}} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				p := started(t, &shop{}, o)
				defer p.Close()
				time.Sleep(10 * time.Second)
				require.Eventually(t, func() bool { return p.turn.CompareAndSwap(false, true) }, time.Second, time.Millisecond)
				before, frames := p.Now(), p.frames
				time.Sleep(3 * time.Hour) // nothing is generated
				assert.Less(t, (p.Now().At - before.At).Duration().Seconds(), 7.0, "before the sleep is noticed")
				p.turn.Store(false)
				time.Sleep(200 * time.Millisecond)
				assert.EqualValues(t, 1, p.Sleeps())
				first := p.Now()
				assert.InDelta(t, 0.2, (first.At - before.At).Duration().Seconds(), 0.15)
				assert.Equal(t, Playing, first.State)
				assert.LessOrEqual(t, first.Point.Bar, before.Point.Bar+1)
				// The device was given up meanwhile, and another answers within seconds.
				time.Sleep(20 * time.Second)
				assert.InDelta(t, 20, (p.Now().At - first.At).Duration().Seconds(), 0.1)
				assert.Less(t, p.log.made.Load()-frames, int64(22*p.rate))
				assert.EqualValues(t, 1, p.Sleeps())
			})
		})
	}
}

// At rest there is nothing that a sleep could break.
func TestPlayerAtRestAfterSleep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p, err := openWith(clicks(20, fourFour, 120), Options{Mute: true}, nil)
		require.NoError(t, err)
		defer p.Close()
		time.Sleep(time.Second)
		require.Eventually(t, func() bool { return p.turn.CompareAndSwap(false, true) }, time.Second, time.Millisecond)
		time.Sleep(3 * time.Hour)
		p.turn.Store(false)
		time.Sleep(time.Second)
		assert.Zero(t, p.Sleeps())
		require.NoError(t, p.Play())
		time.Sleep(time.Second)
		assert.Equal(t, Counting, p.Now().State)
	})
}

// When nothing plays for some seconds the device rests and no sample is made, for
// however long; the next wish is obeyed as the first was, from its first click.
func TestPlayerRests(t *testing.T) {
	for name, o := range map[string]Options{"device": {}, "wall clock": {Mute: true}} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := &shop{}
				p, err := openWith(clicks(4, fourFour, 240), o, s.open)
				require.NoError(t, err)
				defer p.Close()
				rests := func() {
					t.Helper()
					time.Sleep(restAfter + time.Second)
					made := p.log.made.Load()
					time.Sleep(3 * time.Hour)
					assert.Equal(t, made, p.log.made.Load())
				}
				rests()
				plays := func(passes int) {
					t.Helper()
					before := p.Now()
					require.NoError(t, p.SetCourse(Course{CountIn: 1, Passes: passes}))
					require.NoError(t, p.Play())
					if !o.Mute {
						s.device(0).loud.Store(false)
					}
					var beats []int
					for p.Now().State < Counting {
						time.Sleep(5 * time.Millisecond)
					}
					first := p.Now()
					assert.Less(t, (first.Start - before.At).Duration(), time.Second, "musical time stood still meanwhile")
					for now := first; now.State >= Counting; now = p.Now() {
						if n := 100*now.Point.Bar + now.Beat; len(beats) == 0 || beats[len(beats)-1] != n {
							beats = append(beats, n)
						}
						time.Sleep(5 * time.Millisecond)
					}
					assert.Equal(t, []int{1, 2, 3, 4, 101, 102, 103, 104, 201, 202, 203, 204}, beats[:12])
					assert.Equal(t, Finished, p.Now().State)
					if !o.Mute {
						assert.True(t, s.device(0).loud.Load())
					}
				}
				plays(1)
				rests()
				plays(2)
				require.NoError(t, p.Play())
				time.Sleep(3 * time.Second)
				require.NoError(t, p.Pause())
				time.Sleep(200 * time.Millisecond)
				at := p.Now()
				assert.Equal(t, Paused, at.State)
				rests()
				assert.Equal(t, at.Point.Bar, p.Now().Point.Bar, "where it was paused")
				require.NoError(t, p.SetTempo(100))
				rests()
				assert.Zero(t, p.Sleeps())
				assert.Empty(t, p.queueLeft())
				if !o.Mute {
					assert.Empty(t, p.Status())
					assert.Len(t, s.devices, 1)
				}
			})
		})
	}
}

func (p *Player) queueLeft() (left []command) {
	for {
		c, ok := p.queue.receive()
		if !ok {
			return left
		}
		left = append(left, c)
	}
}

// A device that hangs when it is to rest is gone: the transport obeys without it.
func TestPlayerOnADeviceThatHangsAtRest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, hang := &shop{}, make(chan struct{})
		p, err := openWith(clicks(4, fourFour, 240), Options{}, func(ctx context.Context, rate int, render func([]float32), gone func()) (output, error) {
			d, err := s.open(ctx, rate, render, gone)
			if err == nil {
				d.(*fakeDevice).hang = hang
			}
			return d, err
		})
		require.NoError(t, err)
		time.Sleep(restAfter)
		s.rule(func() error { return errors.New("unplugged") })
		time.Sleep(startTime + time.Second)
		assert.Equal(t, "The sound device has gone: the click is seen, not heard.", p.Status())
		require.NoError(t, p.Play())
		time.Sleep(time.Second)
		assert.Equal(t, Counting, p.Now().State)
		p.Close()
		close(hang)
	})
}

// A device that takes its time: opening waits for nothing, music that is wished for
// waits two seconds and then goes on by sight, and the device joins in when it is
// there. One that hangs when the player is closed is left to itself, and what is
// found afterwards is closed.
func TestPlayerOnADeviceThatTakesItsTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, answer := &shop{}, make(chan struct{})
		began := time.Now()
		slow := func(ctx context.Context, rate int, render func([]float32), gone func()) (output, error) {
			<-answer
			return s.open(ctx, rate, render, gone)
		}
		p, err := openWith(clicks(200, fourFour, 120), Options{}, slow)
		require.NoError(t, err)
		require.NoError(t, p.Play())
		assert.Zero(t, time.Since(began))
		time.Sleep(guard.AnswerTime - time.Millisecond)
		assert.Equal(t, Stopped, p.Now().State)
		time.Sleep(time.Second)
		assert.Equal(t, Counting, p.Now().State)
		assert.Equal(t, "The sound device does not answer yet: the click is seen, not heard.", p.Status())
		time.Sleep(2 * time.Second)
		answer <- struct{}{}
		time.Sleep(time.Second)
		follow(t, p, 5*time.Second)
		assert.Empty(t, p.Status())
		assert.True(t, s.device(0).loud.Load())

		hang := make(chan struct{})
		s.device(0).hang = hang
		began = time.Now()
		p.Close()
		assert.Equal(t, closeTime, time.Since(began))
		close(hang)

		p, err = openWith(clicks(200, fourFour, 120), Options{}, slow)
		require.NoError(t, err)
		began = time.Now()
		p.Close()
		assert.Zero(t, time.Since(began))
		close(answer)
		synctest.Wait()
		assert.True(t, s.device(1).closed.Load())
	})
}

// A device whose start fails or hangs plays nothing, and the music goes on without.
func TestPlayerOnADeviceThatDoesNotStart(t *testing.T) {
	for name, start := range map[string]func() error{
		"fails": func() error { return errors.New("busy") },
		"hangs": func() error { time.Sleep(time.Minute); return nil },
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := &shop{}
				p, err := openWith(clicks(200, fourFour, 120), Options{}, func(ctx context.Context, rate int, render func([]float32), gone func()) (output, error) {
					d, err := s.open(ctx, rate, render, gone)
					return stubborn{d, start}, err
				})
				require.NoError(t, err)
				require.NoError(t, p.Play())
				time.Sleep(4 * time.Second)
				assert.Equal(t, "The sound device has gone: the click is seen, not heard.", p.Status())
				follow(t, p, 20*time.Second)
				p.Close()
				time.Sleep(2 * time.Minute) // what hung came back
			})
		})
	}
}

// stubborn is a device that starts in a way of its own.
type stubborn struct {
	output
	begin func() error
}

func (s stubborn) start() error { return s.begin() }
