//go:build cgo && linux && !android

package sound

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"github.com/gen2brain/malgo"
	"golang.org/x/sys/unix"

	"footfall/trainer/clock"
	"footfall/trainer/gate"
)

// serverTime is how long a sound server may take to answer.
const serverTime = time.Second

// serves says whether it is worth asking a backend for a device. The libraries of
// sound servers leave descriptors open where no server is, write to the terminal,
// and hang where one does not answer; asking the server itself does none of that.
func serves(b malgo.Backend) error {
	switch b {
	case malgo.BackendPulseaudio:
		for _, server := range pulseServers() {
			c, err := net.DialTimeout(server.network, server.address, serverTime)
			if err == nil {
				defer c.Close()
				return answers(c)
			}
			if errors.Is(err, unix.EAGAIN) || os.IsTimeout(err) {
				return errHangs // so many wait for it already
			}
		}
		return malgo.ErrNoBackend
	case malgo.BackendAlsa:
		// Its library offers makeshift devices where there is no card.
		if cards, _ := filepath.Glob("/dev/snd/pcm*"); cards == nil {
			return malgo.ErrNoBackend
		}
	case malgo.BackendJack:
		for _, path := range jackSockets() {
			if c, err := net.DialTimeout("unix", path, serverTime); err == nil {
				return c.Close()
			}
		}
		return malgo.ErrNoBackend
	}
	return nil
}

type address struct{ network, address string }

// pulseServers lists where PulseAudio's clients look for their server: in
// PULSE_SERVER, else as client.conf says, else in the runtime folders (its manual
// pages pulseaudio(1) and pulse-client.conf(5)).
func pulseServers() (all []address) {
	home, _ := os.UserHomeDir()
	config := filepath.Join(home, ".config", "pulse")
	named := os.Getenv("PULSE_SERVER")
	for _, file := range []string{os.Getenv("PULSE_CLIENTCONFIG"), filepath.Join(config, "client.conf"), "/etc/pulse/client.conf"} {
		text, _ := gate.Read(file, 1<<20)
		if set := defaultServer.FindSubmatch(text); named == "" && set != nil {
			named = string(set[1])
		}
	}
	for _, server := range strings.Fields(named) {
		if _, after, ok := strings.Cut(server, "}"); ok {
			server = after // "{machine}address" is for one machine
		}
		kind, rest, ok := strings.Cut(server, ":")
		switch {
		case strings.HasPrefix(server, "/"):
			all = append(all, address{"unix", server})
		case ok && kind == "unix":
			all = append(all, address{"unix", rest})
		default:
			for _, kind := range []string{"tcp:", "tcp4:", "tcp6:"} {
				server = strings.TrimPrefix(server, kind)
			}
			if _, _, err := net.SplitHostPort(server); err != nil {
				server = net.JoinHostPort(strings.Trim(server, "[]"), "4713")
			}
			all = append(all, address{"tcp", server})
		}
	}
	if named != "" {
		return all
	}
	folders := []string{os.Getenv("PULSE_RUNTIME_PATH"), filepath.Join(os.Getenv("XDG_RUNTIME_DIR"), "pulse"), "/run/pulse"}
	own, _ := filepath.Glob(filepath.Join(config, "*-runtime"))
	for _, folder := range append(folders, own...) {
		all = append(all, address{"unix", filepath.Join(folder, "native")})
	}
	return all
}

var defaultServer = regexp.MustCompile(`(?m)^\s*default-server\s*=\s*(\S.*?)\s*$`)

// answers asks a PulseAudio server to let a client in, as its native protocol has
// it, and says whether anything comes back. From memory: a frame of a length, the
// channel −1, an offset and flags, and in it AUTH (8), a tag, the protocol's
// version and a cookie of 256 bytes.
func answers(c net.Conn) error {
	const auth, version, cookie = 8, 32, 256
	var frame, body bytes.Buffer
	for _, value := range []any{byte('L'), uint32(auth), byte('L'), uint32(0), byte('L'), uint32(version), byte('x'), uint32(cookie), [cookie]byte{}} {
		_ = binary.Write(&body, binary.BigEndian, value) // a buffer takes all
	}
	for _, value := range []uint32{uint32(body.Len()), 1<<32 - 1, 0, 0, 0} {
		_ = binary.Write(&frame, binary.BigEndian, value)
	}
	_ = c.SetDeadline(clock.Now().Add(serverTime))
	_, err := c.Write(append(frame.Bytes(), body.Bytes()...))
	if err == nil {
		_, err = c.Read(make([]byte, 1))
	}
	if os.IsTimeout(err) {
		return errHangs
	}
	return nil // where it hung up, the library finds out why
}

// jackSockets lists where a JACK server listens: jackd of either version (the names
// in its library), or PipeWire in its place.
func jackSockets() (all []string) {
	all = []string{filepath.Join(cmp.Or(os.Getenv("PIPEWIRE_RUNTIME_DIR"), os.Getenv("XDG_RUNTIME_DIR")), "pipewire-0")}
	for _, pattern := range []string{"/dev/shm/jack_*_*", fmt.Sprintf("/dev/shm/jack-%d/*/jack_0", os.Getuid()), fmt.Sprintf("/tmp/jack-%d/*/jack_0", os.Getuid())} {
		found, _ := filepath.Glob(pattern) // the patterns are well formed
		all = append(all, found...)
	}
	return all
}
