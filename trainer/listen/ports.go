package listen

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gitlab.com/gomidi/midi/v2/drivers"

	"footfall/trainer/gate"
	"footfall/trainer/guard"
)

// Port is a MIDI input that is there now.
type Port struct {
	// Name is what Open takes; two devices of one name are told apart by a
	// number in the order the system lists them.
	Name string
	// Path is the raw device file, "" where a driver has the port.
	Path string
}

// Ports lists the MIDI inputs that are there now, none being no error: those of
// gomidi's driver where one was compiled in, on Linux else the raw device files.
func Ports() ([]Port, error) {
	driver := drivers.Get()
	if driver == nil {
		return rawPorts("/dev/snd", "/proc/asound"), nil
	}
	ins, err := guard.InTime(driver.String(), driver.Ins, func([]drivers.In) {})
	if err != nil {
		return nil, fmt.Errorf("listing MIDI inputs with %s: %w", driver, err)
	}
	ports := make([]Port, len(ins))
	for i, name := range driverNames(ins) {
		ports[i].Name = name
	}
	return ports, nil
}

// Open starts listening to a port by its name as Ports gives it, to a microphone
// by its name as MicrophonePorts gives it or MicrophonePort, or to any raw device file or named pipe by a path (anything with a path separator in it).
// It returns an error only for a name that can never be a port; a port that is
// not there is waited for, as Input says.
func Open(name string, o Options) (Input, error) {
	if strings.TrimSpace(name) == "" {
		return nil, errors.New("the name of the input is empty: pick one of those that are listed, or give the path of a named pipe")
	}
	if device, ok := IsMicrophone(name); ok {
		return OpenMicrophone(device, o), nil
	}
	if strings.ContainsRune(name, os.PathSeparator) {
		if info, err := os.Stat(name); err == nil && (info.Mode().IsRegular() || info.IsDir()) {
			return nil, fmt.Errorf("%s is a file or folder, not an input: give a MIDI device or a named pipe", name)
		}
		return openDevice(name, func() (string, error) { return name, nil }, o), nil
	}
	if driver := drivers.Get(); driver != nil {
		return openDriver(name, driver, o), nil
	}
	return openDevice(name, func() (string, error) {
		return findRaw("/dev/snd", "/proc/asound", name)
	}, o), nil
}

// findRaw returns the device file of a port by its name.
func findRaw(dev, proc, name string) (string, error) {
	for _, p := range rawPorts(dev, proc) {
		if p.Name == name {
			return p.Path, nil
		}
	}
	return "", errors.New("not plugged in")
}

// rawPorts lists the raw MIDI files in dev (midiC1D0 is device 0 of card 1) by
// the names that ALSA's tree in proc gives them (card1/midi0, first line).
func rawPorts(dev, proc string) []Port {
	paths, err := filepath.Glob(filepath.Join(dev, "midiC*D*"))
	if err != nil {
		return nil // the pattern is well formed
	}
	slices.Sort(paths)
	var names []string
	for _, path := range paths {
		name := filepath.Base(path)
		var card, device int
		if _, err := fmt.Sscanf(name, "midiC%dD%d", &card, &device); err == nil {
			info := filepath.Join(proc, fmt.Sprintf("card%d", card), fmt.Sprintf("midi%d", device))
			if text, err := gate.Read(info, maxStored); err == nil {
				first, _, _ := strings.Cut(string(text), "\n")
				if first = strings.TrimSpace(first); first != "" {
					name = portName(first)
				}
			}
		}
		names = append(names, name)
	}
	var ports []Port
	for i, name := range distinct(names) {
		ports = append(ports, Port{Name: name, Path: paths[i]})
	}
	return ports
}

// portName makes a device's own name one that Open does not take for a path.
func portName(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(name, string(os.PathSeparator), " "))
}

// distinct numbers names that occur again: "Pickup", "Pickup (2)".
func distinct(names []string) []string {
	seen := map[string]int{}
	out := make([]string, len(names))
	for i, name := range names {
		seen[name]++
		out[i] = name
		if seen[name] > 1 {
			out[i] = fmt.Sprintf("%s (%d)", name, seen[name])
		}
	}
	return out
}
