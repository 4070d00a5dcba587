package listen

import (
	"cmp"
	"maps"
	"os"
	"slices"
	"strings"
)

// Known is an input that is there now, or of which something is remembered.
type Known struct {
	Port
	// There says whether it is plugged in; of a path, whether it leads to a device
	// or a pipe.
	There bool
	// Last says whether it is the one used last.
	Last bool
	// Calibration is what was learned of it, the zero value for nothing.
	Calibration Calibration
}

// Present lists the inputs that are there now: MIDI ports, then the system's own
// microphone and each by its name.
func Present() ([]Port, error) {
	ports, err := Ports()
	for i, name := range MicrophonePorts() {
		if i == 0 {
			ports = append(ports, Port{Name: MicrophonePort})
		}
		ports = append(ports, Port{Name: name})
	}
	return ports, err
}

// Known lists the MIDI inputs that present gives, in its order, then the inputs
// that are remembered, by name, and last the microphones of which nothing is.
func (s Store) Known(present func() ([]Port, error)) ([]Known, error) {
	there, err := present()
	if err != nil {
		return nil, err
	}
	all, err := s.load()
	if err != nil {
		return nil, err
	}
	var known, microphones []Known
	remembered := maps.Clone(all.Ports)
	if all.Last != "" {
		remembered[all.Last] = all.Ports[all.Last]
	}
	for _, port := range there {
		c, ok := remembered[port.Name]
		if _, microphone := IsMicrophone(port.Name); ok || !microphone {
			known = append(known, Known{port, true, port.Name == all.Last, c})
			delete(remembered, port.Name)
		} else {
			microphones = append(microphones, Known{Port: port, There: true})
		}
	}
	for _, name := range slices.SortedFunc(maps.Keys(remembered), cmp.Compare[string]) {
		k := Known{Port{Name: name}, false, name == all.Last, remembered[name]}
		if strings.ContainsRune(name, os.PathSeparator) {
			info, err := os.Stat(name)
			k.Path, k.There = name, err == nil && info.Mode()&(os.ModeNamedPipe|os.ModeCharDevice) != 0
		}
		known = append(known, k)
	}
	return append(known, microphones...), nil
}
